"""Broken tracks, one defect a file: each is answered with a sentence for people, or read with a finding.

The GPX files stand beside this module; FIT files and archives are made here, byte by byte where need be.
"""

import gzip
import io
import struct
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from ridelog.errors import InputError
from ridelog.importers.fit import FIT_EPOCH
from ridelog.importers.registry import read
from sample_rides.fit_writer import fit_crc
from tests.importers.tracks import START, fit, samples

HERE = Path(__file__).parent


def summed(content):
    """A FIT file with its check sum made right again, so that it has one defect only."""
    return content[:-2] + struct.pack("<H", fit_crc(content[:-2]))


def restamped(content, index, fit_seconds):
    """A FIT file whose sample ``index`` carries another time."""
    stamp = struct.pack("<I", round((START - FIT_EPOCH).total_seconds()) + index)
    place = content.index(b"\x02" + stamp) + 1
    return summed(content[:place] + struct.pack("<I", fit_seconds) + content[place + 4 :])


def zip_of(name, content):
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, content)
    return target.getvalue()


def source(name):
    """The broken file of this name, from beside this module or from the table."""
    made = MADE.get(name)
    return (HERE / name).open("rb") if made is None else io.BytesIO(made())


RIDE = fit(samples(20))
FIRST_S = round((START - FIT_EPOCH).total_seconds())
MADE = {
    "empty.fit": lambda: b"",
    "header-only.fit": lambda: RIDE[:14],
    "truncated.fit": lambda: RIDE[:400],
    "bad-check-sum.fit": lambda: RIDE[:-1] + bytes([RIDE[-1] ^ 0xFF]),
    "changed-byte.fit": lambda: RIDE[:-300] + bytes([RIDE[-300] ^ 1]) + RIDE[-299:],
    "stamp-since-power-on.fit": lambda: restamped(RIDE, 4, 1000),
    "stamp-far-ahead.fit": lambda: restamped(RIDE, 4, 0xF0000000),
    "backward-clock.fit": lambda: restamped(RIDE, 10, FIRST_S + 3),
    "ride-of-2094.fit": lambda: fit(samples(20), start=datetime(2094, 1, 1, tzinfo=UTC)),
    "bomb.zip": lambda: zip_of("log.csv", bytes(60_000_000)),
    "bomb.gpx.gz": lambda: gzip.compress(bytes(60_000_000)),
    "twice.zip": lambda: zip_of("inner.zip", zip_of("log.csv", b"time,speed\n")),
}


@pytest.mark.parametrize(
    ("name", "message", "hint"),
    [
        ("empty.gpx", "empty.gpx: is empty", "did the copy finish"),
        ("empty.fit", "empty.fit: is empty", "did the copy finish"),
        (
            "cut-before-first-point.gpx",
            "cut-before-first-point.gpx, line 3: is not whole XML, and holds nothing that could be kept before the "
            "damage",
            "copy the file from the device again",
        ),
        (
            "no-time.gpx",
            "no-time.gpx: none of its 8 track points has a time that can be read",
            "export the ride as it was recorded",
        ),
        (
            "route-only.gpx",
            "route-only.gpx: holds a planned route and no recorded track",
            "export the ride as it was recorded",
        ),
        (
            "entity-bomb.gpx",
            "entity-bomb.gpx: declares a document type or entities, which a GPX file never needs and which can harm; "
            "not read",
            "export the ride again",
        ),
        (
            "external-entity.gpx",
            "external-entity.gpx: declares a document type or entities, which a GPX file never needs and which can "
            "harm; not read",
            "export the ride again",
        ),
        (
            "other-xml.gpx",
            'other-xml.gpx: is not a recording that ridelog can read; it begins with “<?xml version="1.0"?> <kml '
            'xmlns="http:/…”',
            "ridelog looks for GPX 1.0 or 1.1",
        ),
        (
            "junk.fit",
            "junk.fit: is not a recording that ridelog can read; it begins with the bytes ",
            "ridelog looks for GPX 1.0 or 1.1",
        ),
        ("header-only.fit", "header-only.fit: is damaged before its first sample (it ends at byte 14, inside", "copy"),
        ("bomb.zip", "bomb.zip: unpacks to more than 250 times its size", "really a ride's log"),
        ("bomb.gpx.gz", "bomb.gpx.gz: unpacks to more than 250 times its size", "really a ride's log"),
        ("twice.zip", "twice.zip/inner.zip: is an archive inside an archive", "unpack the outer one"),
    ],
)
def test_unusable_track_is_answered_with_a_sentence(name, message, hint):
    """A file that cannot be used gives one line that names it, the place and the cause, and a hint."""
    with source(name) as stream, pytest.raises(InputError) as caught:
        read(stream, name=name)
    first, second = caught.value.lines()
    assert first.startswith(message)
    assert hint in second
    assert "\n" not in first + second


@pytest.mark.parametrize(
    ("name", "n_samples", "code", "stated"),
    [
        ("truncated.gpx", 7, "damaged-tail", {"damage": "line", "at": 10}),
        ("backward-clock.gpx", 7, "clock-backward", {"n_dropped": 2, "n_all": 9}),
        ("time-repeated.gpx", 5, "time-repeated", {"n_dropped": 2, "n_all": 7}),
        ("unreadable-time.gpx", 7, "unreadable-times", {"n_points": 1}),
        ("text-in-numbers.gpx", 7, "unreadable-values", {"channel": "position", "n_values": 1}),
        ("text-in-numbers.gpx", 7, "unreadable-values", {"channel": "altitude_m", "n_values": 1}),
        ("latitude-95.gpx", 8, "impossible-values", {"lowest_latitude_deg": -90, "highest_latitude_deg": 90}),
        # 86 bytes of header, definitions and event, then 22 a sample: 14 whole ones in 400 bytes
        ("truncated.fit", 14, "damaged-tail", {"damage": "ends-inside-message", "at": 400}),
        ("bad-check-sum.fit", 20, "check-sum", {}),
        ("changed-byte.fit", 20, "check-sum", {}),
        ("stamp-since-power-on.fit", 19, "far-off-times", {"n_dropped": 1, "n_all": 20}),
        ("stamp-far-ahead.fit", 19, "far-off-times", {"n_dropped": 1, "n_all": 20}),
        ("backward-clock.fit", 19, "time-repeated", {"n_dropped": 1, "n_all": 20}),
        ("ride-of-2094.fit", 20, "impossible-date", {"date": "2094-01-01"}),
    ],
)
def test_damaged_track_is_read_and_says_so(name, n_samples, code, stated):
    """A file that can be used in part is used in part, and a finding names what was left out."""
    with source(name) as stream:
        (recording,) = read(stream, name=name)
    assert len(recording.frame) == n_samples
    told = [finding.facts for finding in recording.findings if finding.code == code]
    assert any({"file": name, **stated}.items() <= facts.items() for facts in told)


@pytest.mark.parametrize(("name", "format_name"), [("track-in-a.csv", "gpx"), ("log-in-a.fit", "csv")])
def test_wrong_extension_does_not_mislead(name, format_name):
    """A file under a wrong extension is read as what it is."""
    assert read(HERE / name)[0].format == format_name


def test_spike_of_26_metres_a_second_is_handed_on():
    """A false 26 m/s sample after a pause stays in the recording, with the pause, for the analysis to judge."""
    records = samples(30)
    records[15]["speed_mps"] = 26.1
    del records[12:15]
    (recording,) = read(io.BytesIO(fit(records, pauses_s=[(11, 15)])), name="spike.fit")
    assert recording.frame["speed_mps"].loc[[11.0, 15.0, 16.0]].tolist() == [5.0, 26.1, 5.0]
    assert recording.pauses_s == ((11.0, 15.0),)
