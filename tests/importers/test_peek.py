"""A look into a file says what reading it says, or nothing: held for every sample, reference and broken file."""

import gzip
import io
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from ridelog.errors import InputError, NotRecognisedError, RidelogError
from ridelog.importers.peek import Peek
from ridelog.importers.registry import peek, read
from tests.broken.test_broken_files_tracks import MADE
from tests.importers.tracks import START, fit, gpx, point, samples
from tests.places import REFERENCE, ROOT, SAMPLES

_LOGS = (".csv", ".gpx", ".fit", ".bin", ".zip", ".gz")
FILES = sorted(
    path
    for folder in (SAMPLES, REFERENCE, ROOT / "tests" / "broken")
    for path in folder.rglob("*")
    if path.suffix in _LOGS
)


def held_against(look: Peek, whole) -> None:
    """Each thing that a look shows is what reading shows; times to the second."""
    assert (look.name, look.format) == (whole.name, whole.format)
    assert look.clock in (None, whole.clock)
    assert look.role in (None, whole.role)
    assert look.n_samples in (None, len(whole.frame))
    for seen, known in ((look.start, whole.start), (look.end, whole.end)):
        assert seen is None or abs((seen - known).total_seconds()) <= 1


def look_and_read(source, name):
    """What a look shows and what reading gives; errors of ours in their place."""
    results = []
    for way in (peek, read):
        source.seek(0)
        try:
            results.append(way(source, name=name))
        except RidelogError as error:
            results.append(error)
    return results


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_a_look_into_a_file_is_confirmed_by_reading_it(path):
    """What a look shows of a file is what reading it gives; where a look fails, reading fails alike."""
    looks, wholes = look_and_read(io.BytesIO(path.read_bytes()), path.name)
    if isinstance(looks, RidelogError):
        assert isinstance(wholes, InputError)
        assert looks.message == wholes.message
    elif not isinstance(wholes, RidelogError):
        for look, whole in zip(looks, wholes, strict=True):
            held_against(look, whole)


@pytest.mark.parametrize("name", MADE)
def test_a_look_into_a_broken_file_is_confirmed_by_reading_it(name):
    looks, wholes = look_and_read(io.BytesIO(MADE[name]()), name)
    if isinstance(looks, RidelogError):
        assert isinstance(wholes, InputError)
    elif not isinstance(wholes, RidelogError):
        for look, whole in zip(looks, wholes, strict=True):
            held_against(look, whole)


def test_the_samples_are_seen_whole():
    """Of each file of a sample ride, a look shows all but the number of samples of a large log."""
    for path in (path for path in SAMPLES.rglob("*") if path.suffix in (".csv", ".gpx", ".fit")):
        (look,) = peek(path)
        (whole,) = read(path)
        held_against(look, whole)
        assert (look.role, look.clock) == (whole.role, whole.clock)
        assert (look.start is None) == (whole.start is None)
        assert look.n_bytes == path.stat().st_size


class Counting(io.BytesIO):
    """A file that counts the bytes read from it."""

    n_read = 0

    def read(self, size=-1, /):
        part = super().read(size)
        self.n_read += len(part)
        return part


def text_log(n, *, step_s=1.0, header="timestamp,battery current (A),battery voltage (V)", row=None):
    """A log of ``n`` rows from START on."""
    row = row or (lambda k, time: f"{time:%Y-%m-%dT%H:%M:%SZ},{k % 9 - 2},{50 - k % 9 / 10:.1f}")
    lines = (row(k, START + timedelta(seconds=k * step_s)) for k in range(n))
    return header + "\n" + "\n".join(lines) + "\n"


def test_a_large_log_is_not_read_whole():
    """Of a text log of megabytes no more than the blocks at its ends are read."""
    n = 200_000
    log = text_log(n, step_s=0.25, row=lambda k, time: f"{time.isoformat(timespec='milliseconds')},{k % 9 - 2},50")
    stream = Counting(log.encode())
    (look,) = peek(stream, name="log.csv")
    assert look.n_bytes > 5_000_000
    assert stream.n_read < 300_000
    assert (look.start, look.end) == (START, START + timedelta(seconds=(n - 1) / 4))
    assert (look.role, look.clock, look.n_samples) == ("electrical", "utc", None)
    assert look.duration_s == (n - 1) / 4


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_the_ends_of_a_log_are_read_in_every_encoding(encoding, end):
    text = text_log(20_000, header="Zeitstempel,Akkustrom für Motor (A),Batteriespannung (V)").replace("\n", end)
    content = text.encode(encoding)
    (look,), (whole,) = look_and_read(io.BytesIO(content), "log.csv")
    held_against(look, whole)
    assert look.end == START + timedelta(seconds=19_999)


def test_an_elapsed_clock_has_no_start():
    log = text_log(20_000, header="time (s),battery current (A)", row=lambda k, _: f"{k},{k % 9 - 2}")
    (look,) = peek(io.BytesIO(log.encode()), name="log.csv")
    assert (look.clock, look.start, look.end, look.duration_s) == ("elapsed", None, None, None)


@pytest.mark.parametrize("jump_s", [-500_000.0, 3 * 86_400.0])
def test_a_clock_that_jumps_between_the_ends_is_not_believed(jump_s):
    """Where the rows between may belong to another day, a look shows no times."""
    jump = timedelta(seconds=jump_s)
    log = text_log(
        20_000, row=lambda k, time: f"{(time + (jump if k > 9000 else timedelta())):%Y-%m-%dT%H:%M:%SZ},{k % 9},50"
    )
    (look,) = peek(io.BytesIO(log.encode()), name="log.csv")
    assert (look.start, look.end) == (None, None)


def test_positions_that_come_late_leave_the_role_open():
    """A log whose positions are empty at both its ends may hold them between."""
    log = text_log(
        20_000,
        header="time,battery current (A),latitude,longitude",
        row=lambda k, time: f"{time:%Y-%m-%dT%H:%M:%SZ},{k % 9 - 2}," + ("46.5,-32" if 9000 < k < 9900 else ","),
    )
    (look,), (whole,) = look_and_read(io.BytesIO(log.encode()), "log.csv")
    assert look.role is None
    assert whole.role == "both"


def test_a_log_damaged_between_its_ends_may_be_seen_and_not_read():
    """A look promises nothing of the rows that it did not see, and raises nothing for the ends of a sound log."""
    log = text_log(20_000).replace("T08:53:20Z,", "T08:53:20Z,hot and ")
    looks, whole = look_and_read(io.BytesIO(log.encode()), "log.csv")
    assert looks[0].end == START + timedelta(seconds=19_999)
    assert isinstance(whole, InputError)


def test_a_strange_end_is_left_to_reading():
    """A block that cannot be read alone says nothing, as long as the log may be sound."""
    log = text_log(20_000) + "\n".join(["the end, my friend"] * 2000)
    (look,) = peek(io.BytesIO(log.encode()), name="log.csv")
    assert (look.start, look.role) == (None, None)


@pytest.mark.parametrize("packed", [gzip.compress, lambda content: zipped({"log.csv": content})])
def test_a_look_into_an_archive_shows_the_log(packed):
    (look,) = peek(io.BytesIO(packed(text_log(20_000).encode())), name="log.csv.gz")
    assert (look.role, look.end) == ("electrical", START + timedelta(seconds=19_999))


def zipped(files):
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return target.getvalue()


def test_members_that_are_no_recording_are_passed_over():
    content = zipped(
        {"t.gpx": gpx([point(i) for i in range(5)]), "readme.txt": b"how I rode", "r.fit": fit(samples(5))}
    )
    assert [(look.name, look.format, look.n_samples) for look in peek(io.BytesIO(content), name="a.zip")] == [
        ("a.zip/t.gpx", "gpx", 5),
        ("a.zip/r.fit", "fit", 5),
    ]
    with pytest.raises(NotRecognisedError):
        peek(io.BytesIO(zipped({"photo.jpg": b"\xff\xd8\xff\xe0"})), name="a.zip")


def test_the_role_of_a_track_counts_its_makers_fields():
    """Battery current in a developer field, or in an extension, makes a track a log of both kinds."""
    ride = fit(samples(60, **{"battery current": 3.0}), developer_fields={"battery current": "A"})
    inner = '<extensions><battery_current unit="A">3</battery_current></extensions>'
    track = gpx([point(i, inner=inner) for i in range(60)]).encode()
    for content, name in ((ride, "ride.fit"), (track, "track.gpx")):
        (look,), (whole,) = look_and_read(io.BytesIO(content), name)
        held_against(look, whole)
        assert look.role == "both"


def test_a_file_without_wall_time_is_said_to_have_none():
    (look,) = peek(io.BytesIO(fit(samples(5), start=datetime(1990, 1, 1, tzinfo=UTC))), name="ride.fit")
    assert (look.clock, look.start, look.role) == ("elapsed", None, "track")


@pytest.mark.parametrize(
    ("source", "words"),
    [("", "an empty name"), ("no/such/file.csv", "no such file"), (str(Path(__file__).parent), "is a folder")],
)
def test_a_file_that_cannot_be_opened_is_an_error_for_people(source, words):
    with pytest.raises(InputError, match=words):
        peek(source)
