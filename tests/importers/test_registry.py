"""The frame around the importers: who takes a file, and what is said when nobody or everybody does."""

import gzip
import io
import subprocess
import sys
import zipfile
from types import SimpleNamespace

import pytest

from ridelog.errors import ColumnQuestionError, InputError, NotRecognisedError
from ridelog.importers import registry as importers
from tests.importers.tracks import fit, gpx, point, samples

TRACK = gpx([point(i) for i in range(5)]).encode()
RIDE = fit(samples(5))
LOG = b"time [s],battery current [A],battery voltage [V]\n0,1.0,50\n1,-2.0,51\n2,1.5,50\n"


def read(content, name):
    return importers.read(io.BytesIO(content), name=name)


@pytest.mark.parametrize(("content", "format_name"), [(TRACK, "gpx"), (RIDE, "fit"), (LOG, "csv")])
@pytest.mark.parametrize("name", ["right.name", "track.gpx", "ride.fit", "log.csv", "none"])
def test_content_decides_and_not_the_name(content, format_name, name):
    """A file is taken by what is in it, whatever it is called."""
    (recording,) = read(content, name)
    assert (recording.format, recording.name) == (format_name, name)


def test_archive_gives_a_recording_for_each_member():
    """An archive gives one recording a member, and a finding names what is none."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        for name, content in (("t.gpx", TRACK), ("r.fit", RIDE), ("photo.jpg", b"\xff\xd8\xff\xe0" + bytes(range(60)))):
            archive.writestr(name, content)
    recordings = read(target.getvalue(), "ride.zip")
    assert [recording.name for recording in recordings] == ["ride.zip/t.gpx", "ride.zip/r.fit"]
    assert len({recording.sha256 for recording in recordings}) == 1
    assert [(finding.code, finding.facts) for finding in recordings[0].findings] == [
        ("member-not-recognised", {"files": ("ride.zip/photo.jpg",)})
    ]


def test_a_readme_in_an_archive_spoils_no_ride():
    """A text without a table is passed over beside a log, and is refused for what it lacks where it stands alone."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("log.txt", LOG)
        archive.writestr("readme.TXT", "how I rode\nthat day\n")
    (recording,) = read(target.getvalue(), "ride.zip")
    assert (recording.name, len(recording.frame)) == ("ride.zip/log.txt", 3)
    assert recording.findings[-1].facts == {"files": ("ride.zip/readme.TXT",)}
    with pytest.raises(InputError, match="is not a table"):
        read(b"how I rode\nthat day\n", "readme.txt")


def test_compressed_file_is_read_like_the_plain_one():
    """A gzip-compressed track is the same track, under the hash of the compressed file."""
    plain, packed = read(TRACK, "t.gpx")[0], read(gzip.compress(TRACK), "t.gpx.gz")[0]
    assert packed.frame.equals(plain.frame)
    assert packed.sha256 != plain.sha256


@pytest.mark.parametrize(
    ("content", "seen"),
    [
        (b"\xff\xd8\xff\xe0\x00\x10JFIF", "the bytes FF D8 FF E0 00 10 4A 46 49 46"),
        (bytes(range(128, 200)), "the bytes 80 81 82 83 84 85 86 87 88 89 8A 8B 8C 8D 8E 8F …"),
        (b'<?xml version="1.0"?>\n<kml xmlns="x">\n</kml>', '“<?xml version="1.0"?> <kml xmlns="x"> </…”'),
        (b"   \n  \n", "blanks"),
    ],
)
def test_unknown_file_is_shown_and_told_what_was_looked_for(content, seen):
    """A file that nobody takes is an error with its first bytes and with all that was looked for."""
    with pytest.raises(NotRecognisedError) as caught:
        read(content, "x.bin")
    assert caught.value.message == f"x.bin: is not a recording that ridelog can read; it begins with {seen}"
    for words in ("GPX 1.0 or 1.1", "FIT (a binary file", importers.importers()[2].LOOKED_FOR):
        assert words in caught.value.hint


def test_two_claimants_are_an_error_that_lists_both(monkeypatch):
    """Two importers that claim a file are an error that names both."""
    claimants = [SimpleNamespace(FORMAT=name, LOOKED_FOR=name, recognises=lambda *_: True) for name in ("one", "two")]
    monkeypatch.setattr(importers, "importers", lambda: claimants)
    with pytest.raises(InputError, match="x: can be read as one and as two"):
        read(b"abc", "x")


def test_reading_a_log_loads_no_other_reader():
    """Reading a CSV log loads neither gpxpy nor fitdecode nor an XML parser's guard."""
    code = (
        "import io, sys; from ridelog.importers.registry import read; "
        f"read(io.BytesIO({LOG!r}), name='log.csv'); "
        "print([name for name in ('gpxpy', 'fitdecode', 'defusedxml') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.stdout, done.stderr) == ("[]\n", "")


def test_columns_of_each_log_in_an_archive_are_explained():
    """The columns of each log are explained, and so are the fields of a track among them."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        for name, content in (("t.gpx", TRACK), ("a.csv", LOG), ("b.csv", LOG)):
            archive.writestr(name, content)
    target.seek(0)
    reports = importers.explain(target, name="ride.zip")
    assert [report.name for report in reports] == ["ride.zip/t.gpx", "ride.zip/a.csv", "ride.zip/b.csv"]
    assert [reading.header for reading in reports[0].readings] == ["lat", "lon", "ele"]


def test_a_file_of_an_unknown_kind_has_no_columns():
    with pytest.raises(NotRecognisedError):
        importers.explain(io.BytesIO(b"\xff\xd8\xff\xe0"), name="x.jpg")


def test_one_reading_gives_recording_and_report():
    """What is read once gives the recording that `read` gives, and the report that `explain` gives."""
    (log,) = importers.read_logs(io.BytesIO(LOG), name="log.csv")
    assert log.required().frame.equals(read(LOG, "log.csv")[0].frame)
    assert log.report.readings == log.required().columns
    assert importers.explain(io.BytesIO(LOG), name="log.csv") == [log.report]


def test_a_question_leaves_the_report_and_no_recording():
    """A log whose columns leave a question open is reported with it; asked for its recording, it raises it."""
    asked = LOG.replace(b"battery current [A]", b"current")
    (log,) = importers.read_logs(io.BytesIO(asked), name="log.csv")
    assert log.recording is None
    assert log.report.blocked
    with pytest.raises(ColumnQuestionError):
        log.required()


def test_a_log_of_impossible_values_is_refused_and_reported():
    """A log in which no value can be is refused, and its report shows how the columns were understood."""
    wild = LOG.replace(b"1.0", b"900").replace(b"-2.0", b"900").replace(b"1.5", b"900")
    (log,) = importers.read_logs(io.BytesIO(wild), name="log.csv")
    assert [reading.channel for reading in log.report.readings] == ["time_s", "current_a", "voltage_v"]
    with pytest.raises(InputError, match="900 A"):
        log.required()
