"""FIT files by chance, message by message: layouts that fit or do not, developer fields, either byte order."""

import struct
from random import Random

from sample_rides.fit_writer import fit_crc

RECORD, DESCRIPTION, DEVELOPER = 20, 206, 207
MESSAGES = (0, 18, 19, 21, 23, 34, 49, 78, 101, 132, 65280, 65535)
# Fields of a record: number, size [byte], base type, and a number that it may hold.
RECORD_FIELDS = (
    (0, 4, 0x85, 554_000_000),
    (1, 4, 0x85, -381_000_000),
    (2, 2, 0x84, 2800),
    (3, 1, 0x02, 120),
    (4, 1, 0x02, 70),
    (5, 4, 0x86, 1000),
    (6, 2, 0x84, 5000),
    (7, 2, 0x84, 150),
    (13, 1, 0x01, 15),
    (29, 4, 0x86, 1000),
    (73, 4, 0x86, 5000),
    (78, 4, 0x86, 2800),
    (81, 1, 0x02, 160),
    (82, 2, 0x84, 300),
    (87, 2, 0x84, 0),
    (117, 1, 0x02, 80),
    (200, 3, 0x0D, 7),
)
BASES = (
    0x00,
    0x01,
    0x02,
    0x83,
    0x84,
    0x85,
    0x86,
    0x07,
    0x88,
    0x89,
    0x0A,
    0x8B,
    0x8C,
    0x0D,
    0x8E,
    0x8F,
    0x90,
    0x11,
    0xFF,
)
SIZES = (0, 1, 2, 3, 4, 5, 8, 16, 64, 255)
NAMES = (
    b"battery current",
    b"Voltage",
    b"current\x00\x00junk",
    b"\xff\xfe",
    b"speed",
    b"",
    b"\x1b[31m",
    "Spannung²".encode(),
)
UNITS = (b"A", b"V", b"mA", b"km/h", b"", b"\xff", b"quux", b"%")
FIRST_S = 1_146_500_000  # since the epoch of the format, in 2026

Field = tuple[int, int, int, int]


def fit_messages_by_chance(rng: Random) -> bytes:
    """The bytes of a FIT file whose check sums are right more often than not."""
    body = _file_id() if rng.random() < 0.9 else b""
    developer = _described(rng) if rng.random() < 0.35 else []
    body += b"".join(message for _, message in developer)
    layouts: dict[int, tuple[str, bool, list[Field]]] = {}
    fields = [number for number, _ in developer]
    for _ in range(rng.choice((1, 1, 2, 4))):
        definition, local, layout = _layout(rng, fields, record=not layouts or rng.random() < 0.4)
        layouts[local] = layout
        body += definition
    at_s = FIRST_S
    for _ in range(rng.choice((0, 1, 2, 5, 12, 25))):
        local = rng.choice(tuple(layouts))
        at_s += rng.choice((1, 1, 1, 1, 0, 2, 30, 3600, -5, 90_000)) if rng.random() < 0.3 else 1
        body += _message(rng, local, layouts[local], at_s)
    return _closed(rng, body)


def _file_id() -> bytes:
    return bytes([0x40, 0, 0, 0, 0, 1, 0, 1, 0x00, 0x00, 4])


def _described(rng: Random) -> list[tuple[int, bytes]]:
    """Developer fields: number, and the messages that describe it."""
    found = [(0, bytes([0x43, 0, 0, DEVELOPER, 0, 1, 3, 1, 0x02, 0x03, 0]))]
    for number in range(rng.choice((1, 1, 2, 3))):
        name, unit = rng.choice(NAMES), rng.choice(UNITS)
        base = rng.choice((0x88, 0x88, 0x84, 0x89, 0x07, rng.choice(BASES)))
        layout = [(0, 1, 2), (1, 1, 2), (2, 1, 2), (3, 24, 7), (8, 8, 7)]
        content = struct.pack("<BBB24s8s", 0, number, base, name, unit)
        head = bytes([0x44, 0, 0, DESCRIPTION, 0, len(layout), *(byte for field in layout for byte in field)])
        found.append((number, head + b"\x04" + content))
    return found


def _layout(rng: Random, developer: list[int], *, record: bool) -> tuple[bytes, int, tuple[str, bool, list[Field]]]:
    """A definition message, its local number, and its layout: byte order, whether it has a stamp, its fields."""
    local, order = rng.randrange(16), rng.choice("<<<>")
    message = RECORD if record else rng.choice(MESSAGES)
    fields: list[Field] = [(253, 4, 0x86, FIRST_S)] if rng.random() < 0.9 else []
    fields += rng.sample(RECORD_FIELDS, rng.randrange(1, 7))
    if rng.random() < 0.15:
        place = rng.randrange(len(fields))
        fields[place] = (rng.choice((*range(9), 253, 254)), rng.choice(SIZES), rng.choice(BASES), rng.getrandbits(31))
    if rng.random() < 0.05:
        fields.append(rng.choice(fields))
    definition = bytes([0x40 | local, 0, int(order == ">")]) + struct.pack(f"{order}HB", message, len(fields))
    definition += b"".join(bytes(field[:3]) for field in fields)
    if developer and rng.random() < 0.8:
        index = 0 if rng.random() < 0.9 else rng.randrange(256)
        sizes = [(number, rng.choice((4, 4, 4, 2, 8)), index) for number in developer]
        definition = (
            bytes([definition[0] | 0x20]) + definition[1:] + bytes([len(sizes), *(b for one in sizes for b in one)])
        )
        fields = [*fields, *((-1, size, 0x88, 0) for _, size, _ in sizes)]
    return definition, local, (order, fields[0][0] == 253 if fields else False, fields)


def _message(rng: Random, local: int, layout: tuple[str, bool, list[Field]], at_s: int) -> bytes:
    order, _, fields = layout
    head = 0x80 | (local & 3) << 5 | at_s & 31 if rng.random() < 0.03 else local
    return bytes([head]) + b"".join(_value(rng, order, field, at_s) for field in fields)


def _value(rng: Random, order: str, field: Field, at_s: int) -> bytes:
    number, size, base, usual = field
    chance = rng.random()
    if chance < 0.04:
        return rng.randbytes(size)
    if chance < 0.08:
        return b"\xff" * size
    if base == 0x88 and size == 4:
        return struct.pack(f"{order}f", rng.choice((0.0, -3.5, 48.0, 12.25, float("nan"), float("inf"), 1e30)))
    meant = at_s if number == 253 else usual + rng.randrange(-3, 50)
    signed = base in (0x01, 0x83, 0x85)
    whole = meant % (1 << 8 * size) if size else 0
    return whole.to_bytes(size, "little" if order == "<" else "big") if not signed or size else b""


def _closed(rng: Random, body: bytes) -> bytes:
    """A header before, a check sum behind."""
    length = len(body) if rng.random() < 0.93 else rng.choice((0, 1, len(body) + 5, max(0, len(body) - 3), 2**32 - 1))
    header = struct.pack("<BBHI4s", 14, rng.choice((0x10, 0x20, 0x20, 0xFF)), 2100, length, b".FIT")
    if rng.random() < 0.2:
        content = bytes([12]) + header[1:] + body
    else:
        content = header + struct.pack("<H", fit_crc(header) if rng.random() < 0.95 else 0) + body
    return content + struct.pack("<H", fit_crc(content) if rng.random() < 0.95 else rng.getrandbits(16))
