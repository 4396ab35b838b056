"""A look into a file says what reading it says, or nothing: held for every sample, reference and broken file."""

import gzip
import io
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from ridelog.errors import InputError, NotRecognisedError, RidelogError
from ridelog.importers.registry import peek, read
from tests.broken.test_broken_files_tracks import MADE
from tests.importers.looks import held_against, look_and_read, text_log
from tests.importers.test_fit_columns import finished, message
from tests.importers.tracks import START, fit, gpx, point, samples
from tests.places import REFERENCE, ROOT, SAMPLES

_LOGS = (".csv", ".gpx", ".fit", ".bin", ".zip", ".gz")
FILES = sorted(
    path
    for folder in (SAMPLES, REFERENCE, ROOT / "tests" / "broken")
    for path in folder.rglob("*")
    if path.suffix in _LOGS
)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
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


@pytest.mark.parametrize(
    ("odd", "holds"),
    [
        ((8, 1, 0x07), b"1"),  # a field that holds others, as text: the full reader ends there
        ((8, 4, 0x8B), bytes(4)),  # as several numbers that are not known: there as well
        ((253, 4, 0x86), b"1234"),  # a second time stamp
        ((253, 4, 0x8C), b"1234"),  # in a type that has another value for "not known"
        ((6, 0, 0x84), b""),  # a field without a byte
    ],
)
def test_a_look_ends_where_reading_ends(odd, holds):
    """A look of its own went on behind layouts that end the full reader, and showed more samples, or other times."""
    plain = [(253, 4, 0x86), (2, 2, 0x84)]
    body = message(0x40, plain, big=False) + message(0x41, [plain[0], odd], big=False)
    stamps = [(1_146_500_000 + second).to_bytes(4, "little") for second in range(4)]
    body += b"".join(b"\0" + stamp + b"\x11\x10" for stamp in stamps[:2])
    body += b"".join(b"\1" + stamp + holds for stamp in stamps[2:])
    (look,), (whole,) = look_and_read(io.BytesIO(finished(body)), "ride.fit")
    held_against(look, whole)
    assert (look.n_samples, look.start, look.end) == (len(whole.frame), whole.start, whole.end)


def test_what_cannot_be_counts_for_nothing_in_a_look_either():
    """Heights above all heights: reading leaves them out, and the look said that the log holds a track as well."""
    text = "time (s),battery current (A),altitude (m)\n" + "".join(f"{row},{row % 5},99999\n" for row in range(60))
    flight = [{"time_s": row, "altitude_m": 12_000.0, "battery current": 3.0} for row in range(60)]
    ride = fit(flight, developer_fields={"battery current": "A"})
    for content, name in ((text.encode(), "a.csv"), (ride, "ride.fit")):
        (look,), (whole,) = look_and_read(io.BytesIO(content), name)
        held_against(look, whole)
        assert look.role == "electrical"


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


@pytest.mark.parametrize("name", ["ride.fit", "track.gpx"])
def test_a_file_larger_than_a_ride_is_refused_unseen(name, monkeypatch):
    """What is too large to be read is too large to be looked into."""
    content = fit(samples(20)) if name == "ride.fit" else gpx([point(i) for i in range(20)]).encode()
    monkeypatch.setattr(f"ridelog.importers.{name[-3:]}.LARGEST_BYTES", 1000)
    with pytest.raises(InputError, match=r"0\.001 MB are allowed"):
        peek(io.BytesIO(content + bytes(0 if name == "track.gpx" else 1000)), name=name)
