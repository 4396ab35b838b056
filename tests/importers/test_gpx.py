"""The GPX reader, against what stands in recorded files and against invented tracks worked by hand."""

import re
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ridelog.errors import InputError, RidelogError
from ridelog.importers import gpx as importer
from tests.importers.tracks import gpx, point
from tests.places import REFERENCE

TRACKS = REFERENCE / "gpx"


def read(text, name="track.gpx"):
    content = text if isinstance(text, bytes) else text.encode()
    assert importer.recognises(content, name)
    return importer.read_log(content, name, "0" * 64, None).required()


def codes(recording):
    return [finding.code for finding in recording.findings]


def facts(recording, code):
    return next(finding.facts for finding in recording.findings if finding.code == code)


# Counted and read in the files' own text: number of <trkpt>, of those with <time>, of <trkseg> with points.
@pytest.mark.parametrize(
    ("name", "n_points", "n_untimed", "first", "last", "start"),
    [
        (
            "around-visnjan-with-car.gpx",
            104,
            0,
            (45.2735188510, 13.7142099626, 211.15),
            None,
            datetime(2020, 12, 18, 6, 15, 50, tzinfo=UTC),
        ),
        (
            "cerknicko-jezero.gpx",
            296,
            0,
            (45.772175035, 14.357659249, None),
            (45.790873384, 14.304442042, 562.508545),
            datetime(2010, 8, 5, 14, 23, 59, tzinfo=UTC),
        ),
        ("korita-zbevnica.gpx", 871, 358, None, None, datetime(2010, 10, 3, 9, 36, 30, tzinfo=UTC)),
    ],
)
def test_recorded_track_gives_the_points_that_stand_in_its_text(name, n_points, n_untimed, first, last, start):
    """A recorded track gives every timed point that stands in its text."""
    content = (TRACKS / name).read_bytes()
    assert content.count(b"<trkpt") == n_points
    recording = read(content, name)
    assert len(recording.frame) == n_points - n_untimed
    assert recording.start == start
    assert recording.clock == "utc"
    for row, values in ((0, first), (-1, last)):
        if values:
            seen = recording.frame.iloc[row][["latitude_deg", "longitude_deg", "altitude_m"]]
            assert all(value is None or value == got for value, got in zip(values, seen, strict=True))
    if n_untimed:
        assert facts(recording, "untimed-samples")["n_points"] == n_untimed


def test_segments_of_a_recorded_track_are_parted_by_pauses():
    """Between the segments of a recorded walk stand the pauses that its text shows."""
    recording = read((TRACKS / "cerknicko-jezero.gpx").read_bytes())
    # seconds from 14:23:59 of the last time before each </trkseg> and the first after each <trkseg>
    clock = [
        ("15:05:08", "15:11:36"),
        ("15:14:11", "15:24:25"),
        ("15:24:46", "15:38:49"),
        ("15:43:37", "15:58:31"),
        ("16:01:52", "16:04:51"),
        ("16:05:04", "16:05:37"),
    ]

    def seconds(text):
        hours, minutes, rest = (int(part) for part in text.split(":"))
        return hours * 3600.0 + minutes * 60 + rest - (14 * 3600 + 23 * 60 + 59)

    assert recording.pauses_s == tuple((seconds(a), seconds(b)) for a, b in clock)
    assert recording.duration_s == seconds("16:23:49")


def test_times_without_zone_make_a_local_clock():
    """A track whose times name no zone has a local clock."""
    recording = read(gpx([point(i, time=f"2026-05-01T08:00:0{i}") for i in range(3)]))
    assert recording.clock == "local"
    assert recording.start == datetime(2026, 5, 1, 8, tzinfo=UTC)


def test_repeated_and_backward_times_are_dropped_and_placed():
    """Repeated and backward times are dropped, counted, and the first of them placed."""
    times = [0, 1, 2, 2, 3, 1.5, 4, 5]
    recording = read(gpx([point(i, time_s=time) for i, time in enumerate(times)]))
    assert recording.time_s.tolist() == [0, 1, 2, 3, 4, 5]
    # of the two points at 2 s the first stays: the third point of the file, 20.2 m up
    assert recording.frame["altitude_m"].tolist() == pytest.approx([20.0, 20.1, 20.2, 20.4, 20.6, 20.7])
    told = facts(recording, "time-repeated")
    assert (told["n_dropped"], told["n_all"], told["first_place"], told["first_s"]) == (1, 8, "sample 4", 2.0)
    told = facts(recording, "clock-backward")
    assert (told["first_place"], told["first_s"]) == ("sample 6", 1.5)


def test_speed_of_version_1_0_is_read():
    """The speed element of GPX 1.0 is read in metres per second."""
    recording = read(gpx([point(i, inner="<speed>5.1</speed>") for i in range(3)], version="1.0"))
    assert recording.frame["speed_mps"].tolist() == [5.1] * 3


def test_extensions_are_read_by_their_words():
    """Extensions give temperature, cadence and rider power by the words of their names; heart rate is ignored."""
    inner = (
        '<extensions><power>150</power><x:Pack xmlns:x="urn:any"><x:atemp>18.5</x:atemp><x:hr>120</x:hr>'
        '<x:cad>70</x:cad><x:battery_temp unit="°F">68</x:battery_temp><x:dynamo_current unit="A">3</x:dynamo_current>'
        "</x:Pack></extensions>"
    )
    recording = read(gpx([point(i, inner=inner) for i in range(3)]))
    row = recording.frame.iloc[0]
    assert row["rider_power_w"] == 150
    assert row["air_temperature_c"] == 18.5
    assert row["cadence_rpm"] == 70
    assert row["battery_temperature_c"] == pytest.approx(20.0)  # 68 °F by definition of the scale
    assert "current_a" not in recording.frame
    unused = {reading.header: reading.why for reading in recording.columns if reading.channel is None}
    assert set(unused) == {"hr", "dynamo_current"}
    assert "“dynamo”, which is not understood" in unused["dynamo_current"]
    told = facts(recording, "unused-field")
    assert (told["field"], told["unknown_words"]) == ("dynamo_current", ("dynamo",))


@pytest.mark.parametrize(("stated", "unit"), [(5.0, "m/s"), (18.0, "km/h"), (11.185, "mph")])
def test_speed_without_a_unit_is_held_against_the_positions(stated, unit):
    """A speed extension that names no unit is read in the one that fits the way between the points."""
    inner = f"<extensions><speed>{stated}</speed></extensions>"
    recording = read(gpx([point(i, inner=inner) for i in range(60)]))
    # the invented road is ridden at 5 m/s = 18 km/h = 11.185 mph; positions have 7 decimals, 11 mm
    assert recording.frame["speed_mps"].to_numpy() == pytest.approx(5.0, rel=1e-4)
    assert next(reading for reading in recording.columns if reading.channel == "speed_mps").unit == unit


def test_speed_that_fits_no_unit_is_not_used():
    """A speed that no unit brings near the positions is left out, and the columns say why."""
    inner = "<extensions><speed>50</speed></extensions>"
    recording = read(gpx([point(i, inner=inner) for i in range(60)]))
    assert "speed_mps" not in recording.frame
    assert "fits no unit" in next(r.why for r in recording.columns if r.header == "speed")


def test_ride_in_the_future_keeps_seconds_only():
    """A ride dated 2094 is read, but its times of day are not used."""
    recording = read(gpx([point(i, time=f"2094-05-01T08:00:0{i}Z") for i in range(3)]))
    assert recording.clock == "elapsed"
    assert recording.start is None
    assert facts(recording, "impossible-date")["date"] == "2094-05-01"


def test_points_before_the_first_fix_are_dropped():
    """Points stamped 1980 before the device knew the date are dropped."""
    early = [point(i, time=f"1980-01-06T00:00:0{i}Z") for i in range(2)]
    recording = read(gpx(early + [point(i) for i in range(2, 9)]))
    assert recording.start == datetime(2026, 5, 1, 8, 0, 2, tzinfo=UTC)
    told = facts(recording, "far-off-times")
    assert (told["n_dropped"], told["n_all"]) == (2, 9)


def test_track_larger_than_a_ride_is_refused():
    """A document larger than any one ride is refused before its tree fills the memory."""
    content = gpx([point(i) for i in range(20)]).encode()
    assert importer.read_log(content, "x", "", largest_bytes=len(content)).recording
    with pytest.raises(InputError, match=r"holds 0 MB of GPX, and 0\.001 MB are allowed"):
        importer.read_log(content, "x", "", largest_bytes=1000)


WHOLE = gpx([point(i) for i in range(6)], [point(i) for i in range(8, 12)]).encode()


@settings(max_examples=150)
@given(data=st.data())
def test_damaged_bytes_give_a_recording_or_an_error_for_people(data):
    """Whatever is cut or overwritten in a GPX file, the answer is a recording or an error with a sentence."""
    content = bytearray(WHOLE[: data.draw(st.integers(0, len(WHOLE)))])
    for place in data.draw(st.lists(st.integers(0, max(len(content) - 1, 0)), max_size=4)):
        if content:
            content[place] = data.draw(st.integers(0, 255))
    try:
        recording = importer.read_log(bytes(content), "track.gpx", "", None).required()
    except RidelogError as error:
        said = error.message
    else:
        said = f"track.gpx: {len(recording.frame)} samples"
        assert (np.diff(recording.time_s) > 0).all()
    assert re.match(r"track\.gpx(, line \d+)?: \w", said)
