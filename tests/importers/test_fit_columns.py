"""Records read as columns equal those that fitdecode reads one by one, or are left to it."""

import random
import struct

import numpy as np
import pytest

from ridelog.importers import fit as importer
from ridelog.importers.fit_columns import NotPlainError, check_sum, plain_records
from sample_rides.fit_writer import fit_crc
from tests.importers.tracks import fit, samples
from tests.places import SAMPLES, others_recording

FIELDS = {"battery current": "A", "pack voltage": "V"}
VALUES = {"battery current": -2.5, "pack voltage": 48.5}
RIDE = fit(samples(12, **VALUES), developer_fields=FIELDS, pauses_s=[(4, 6)])
RECORDED = [
    *("ride-A_1hz_power", "ride-B_pauses_dups", "ride-C_smart-recording", "ride-D_no-distance-field"),
    *("devfields_name-collision", "corrupt_activity-filecrc", "corrupt_activity-unexpected-eof"),
]
# number, size and base type of fields of a record: alone, twice, of odd sizes, with parts, of other types
_LAYOUT = [
    (253, 4, 0x86),
    *((0, 4, 0x85), (2, 2, 0x84), (6, 2, 0x84), (78, 4, 0x86), (73, 4, 0x86), (13, 1, 0x01), (7, 2, 0x84)),
    *((3, 1, 0x02), (3, 2, 0x02), (7, 4, 0x88), (81, 1, 0x02), (5, 8, 0x8F), (4, 1, 0x0A), (118, 1, 0x02)),
    *((8, 3, 0x0D), (18, 1, 0x02), (2, 4, 0x86), (6, 2, 0x83), (2, 1, 0x0D), (0, 3, 0x85), (9, 2, 0x8B), (42, 1, 0)),
    *((200, 4, 0x07), (114, 4, 0x88), (253, 4, 0x88), (7, 0, 0x84), (5, 8, 0x89), (5, 8, 0x8E), (5, 4, 0x8C)),
]


def message(head, layout, *, big, number=20, developer=()):
    """A definition message."""
    inside = b"".join(bytes(entry) for entry in layout)
    more = bytes([len(developer)]) + b"".join(bytes(entry) for entry in developer) if developer else b""
    start = struct.pack(f"{'>' if big else '<'}BBBHB", head, 0, big, number, len(layout))
    return start + inside + more


def finished(body, header_size=14):
    """A FIT file with right check sums."""
    header = struct.pack("<BBHI4s", header_size, 0x20, 2140, len(body), b".FIT")
    header += struct.pack("<H", fit_crc(header)) if header_size == 14 else b""
    return header + body + struct.pack("<H", fit_crc(header + body))


def invented(seed):
    """A file of random layouts, byte orders, developer fields and values, not known ones among them."""
    chance = random.Random(seed)
    body = message(0x42, [(3, 1, 0x02)], big=False, number=207) + b"\x02\x00"
    body += message(0x43, [(0, 1, 2), (1, 1, 2), (2, 1, 2), (3, 4, 7), (8, 2, 7)], big=False, number=206)
    types = {0: (0x83, 2), 1: (0x88, 4), 2: (0x02, 1), 3: (0x86, 4), 4: (0x07, 3)}
    for number, (base, _) in types.items():
        name = chance.choice([b"amp\0", b"volt", b"x%d\0\0" % number])
        body += bytes([3, 0, number, base]) + name + chance.choice([b"A\0", b"V\0", b"\0\0"])
    n_usual = 14 if chance.random() < 0.8 else len(_LAYOUT)
    sizes = {}
    for _ in range(chance.randint(1, 12)):
        local, big = chance.randint(0, 1), chance.random() < 0.4
        layout = [_LAYOUT[0], *chance.sample(_LAYOUT[1:n_usual], chance.randint(0, 6))]
        chance.shuffle(layout)
        used = chance.sample(sorted(types), chance.randint(0, 3))
        developer = [(n, types[n][1] * (2 if chance.random() < 0.05 else 1), 0) for n in used]
        body += message(0x40 | local | (0x20 if developer else 0), layout, big=big, developer=developer)
        sizes[local] = [size for _, size, _ in [*layout, *developer]]
        for _ in range(chance.randint(0, 6)):
            head = chance.choice(sorted(sizes))
            fills = [chance.choice([b"\xff", b"\0", b"\x7f", None, None, None]) for _ in sizes[head]]
            filled = [chance.randbytes(n) if f is None else f * n for n, f in zip(sizes[head], fills, strict=True)]
            body += bytes([head]) + b"".join(filled)
    return finished(body, chance.choice([12, 14]))


def mutated(content, seed):
    """Some bytes changed, and the check sum put right as often as not."""
    chance = random.Random(seed)
    changed = bytearray(content)
    for _ in range(chance.randint(1, 4)):
        changed[chance.randrange(14, len(changed) - 2)] = chance.choice([0, 1, 2, 4, 0x0D, 0x40, 0x86, 255, 20])
    if chance.random() < 0.8:
        changed[-2:] = struct.pack("<H", fit_crc(bytes(changed[:-2])))
    return bytes(changed)


def equals_the_full_reader(content):
    """Whether the columns were read, after holding every cell against the full reader's."""
    whole = importer._read(content)
    try:
        quick = importer._read(plain_records(content))
    except NotPlainError:
        return False
    if quick.damage:  # then the reader starts again without columns
        return False
    assert quick.times == whole.times
    assert (quick.timer, quick.sessions, quick.laps) == (whole.timer, whole.sessions, whole.laps)
    assert (quick.n_untimed, quick.n_bad_sums, whole.damage) == (whole.n_untimed, whole.n_bad_sums, None)
    for kept in (np.arange(len(whole.times)), np.arange(len(whole.times))[1::2]):
        (natives, extras), (natives_1, extras_1) = quick.columns(kept), whole.columns(kept)
        assert list(extras) == list(extras_1)
        for own, other in zip([*extras.values()], [*extras_1.values()], strict=True):
            np.testing.assert_array_equal(own, other)
        for own, other in zip(natives, natives_1, strict=True):
            np.testing.assert_array_equal(own.values, other.values, err_msg=own.header)
    return True


@pytest.mark.parametrize("name", RECORDED)
def test_recorded_files_have_the_same_cells(name):
    """Damaged ones, and ride D, whose fields hold parts of others, are left to the full reader."""
    content = others_recording(f"fit/{name}.fit").read_bytes()
    assert equals_the_full_reader(content) is not name.startswith(("corrupt", "ride-D"))


def test_a_sample_ride_has_the_same_cells():
    assert equals_the_full_reader((SAMPLES / "errand" / "ride.fit").read_bytes())


def test_files_put_together_have_the_same_cells():
    """Each with its own layouts and developer fields, under the same numbers."""
    other = fit(samples(5, speed=7.0), developer_fields={"speed": "V"})
    assert equals_the_full_reader(RIDE + other + RIDE)
    assert sum(equals_the_full_reader(invented(seed) + invented(seed + 1)) for seed in range(0, 100, 2)) > 15
    assert len(plain_records(RIDE + other).times) == 17


def test_invented_layouts_have_the_same_cells():
    """Of random layouts, most of the usual ones are read as columns, and equal in each cell."""
    n_read = sum(equals_the_full_reader(invented(seed)) for seed in range(300))
    assert n_read > 150


def test_changed_bytes_have_the_same_cells_or_are_left_alone():
    n_read = sum(equals_the_full_reader(mutated(RIDE, seed)) for seed in range(300))
    assert 60 < n_read < 290


@pytest.mark.proof
def test_very_many_invented_and_changed_files_have_the_same_cells():
    n_read = 0
    for seed in range(1000, 31_000):
        content = invented(seed) if seed % 2 else RIDE
        n_read += equals_the_full_reader(mutated(content, seed) if seed % 3 else content)
    assert n_read > 8000


def test_columns_are_what_was_written():
    """Positions, heights and developer fields of twelve samples, by what the writer was given."""
    natives, extras = importer._read(plain_records(RIDE)).columns(np.arange(12))
    values = {native.header: native.values for native in natives}
    assert values["altitude"] == pytest.approx(20 + np.arange(12) / 10, abs=0.101)  # half a fifth, and rounding
    assert extras["battery current", "A"].tolist() == [-2.5] * 12
    assert extras["pack voltage", "V"].tolist() == [48.5] * 12


@pytest.mark.parametrize(
    "content",
    [
        RIDE + b"\0\0",  # more behind its end
        RIDE + RIDE[:-40],  # the second of two cut off
        RIDE[:-40],  # cut off
        RIDE[:-1] + bytes([RIDE[-1] ^ 1]),  # a wrong check sum
        RIDE[:4] + bytes(4) + RIDE[8:],  # never finished
        finished(message(0x40, [(253, 4, 0x86)], big=False) + b"\0\0\0\0\x30" + b"\x85"),  # a time cut down
    ],
)
def test_what_is_not_plain_is_left_to_the_full_reader(content):
    with pytest.raises(NotPlainError):
        plain_records(content)


@pytest.mark.parametrize("n_bytes", [0, 1, 2, 9, 1000, 1001])
def test_check_sum_is_that_of_the_protocol(n_bytes):
    """Equal to the writer's, which goes bit by bit, for odd and even lengths."""
    content = random.Random(n_bytes).randbytes(n_bytes)
    assert check_sum(content) == fit_crc(content)


def test_check_sum_of_the_usual_digits():
    """The check value of CRC-16/ARC, from the catalogue of parametrised CRC algorithms (from memory)."""
    assert check_sum(b"123456789") == 0xBB3D
