"""The track points of a GPX document, against invented tracks worked by hand."""

from datetime import UTC, datetime

import numpy as np
import pytest

from ridelog.errors import InputError
from ridelog.importers import gpx as importer
from tests.importers.tracks import gpx, point


def read(text, name="track.gpx"):
    content = text if isinstance(text, bytes) else text.encode()
    assert importer.recognises(content, name)
    return importer.read_log(content, name, "0" * 64, None).required()


def codes(recording):
    return [finding.code for finding in recording.findings]


def facts(recording, code):
    return next(finding.facts for finding in recording.findings if finding.code == code)


def test_fractions_of_seconds_and_zones_are_kept():
    """Times with fractions and with different zones come out on one clock."""
    times = ["2026-05-01T08:00:00.250Z", "2026-05-01T10:00:01.5+02:00", "2026-05-01T03:30:02.75-04:30"]
    recording = read(gpx([point(i, time=time) for i, time in enumerate(times)]))
    assert recording.time_s.tolist() == [0.0, 1.25, 2.5]
    assert recording.start == datetime(2026, 5, 1, 8, 0, 0, 250_000, tzinfo=UTC)


def test_points_of_the_rarer_zone_style_are_left_out():
    """Where one of many times names no zone, that point is left out and counted."""
    points = [point(i) for i in range(4)] + [point(4, time="2026-05-01T08:00:04")]
    recording = read(gpx(points))
    assert len(recording.frame) == 4
    assert facts(recording, "mixed-zones")["n_points"] == 1


def test_unreadable_times_are_counted():
    """Times that gpxpy silently drops are counted in a finding."""
    bad = [
        point(1, time="yesterday"),
        point(2, time="2026-13-01T08:00:02Z"),
        point(3, time="2026-05-01T08:00:03+99:00"),
    ]
    recording = read(gpx([point(0), *bad, point(4)]))
    assert recording.time_s.tolist() == [0.0, 4.0]
    assert facts(recording, "unreadable-times")["n_points"] == 3


def test_points_without_height_are_kept():
    """A point without a height is kept, and its height is not known."""
    bare = '<trkpt lat="46.5001" lon="-32"><time>2026-05-01T08:00:01Z</time></trkpt>'
    recording = read(gpx([point(0), bare, point(2)]))
    assert np.isnan(recording.frame["altitude_m"]).tolist() == [False, True, False]


def test_two_tracks_of_one_time_keep_the_fuller():
    """Of two tracks recorded at the same time the fuller is kept, and a finding says so."""
    dense = [point(i) for i in range(10)]
    sparse = [point(i, time_s=i + 0.5) for i in (0, 3, 6)]
    recording = read(gpx(sparse, dense))
    assert recording.time_s.tolist() == [float(i) for i in range(10)]
    told = facts(recording, "overlapping-tracks")
    assert (told["n_dropped"], told["n_all"]) == (3, 13)


def test_segments_that_share_a_point_do_not_overlap():
    """A segment that begins with the last point of the one before repeats one time, and is else kept."""
    recording = read(gpx([point(i) for i in range(5)], [point(i) for i in range(4, 9)]))
    assert recording.time_s.tolist() == [float(i) for i in range(9)]
    assert codes(recording) == ["time-repeated"]
    assert recording.pauses_s == ((4.0, 5.0),)


def test_segments_out_of_order_are_put_in_the_order_of_time():
    """A file that holds the way back before the way out is read in the order of time."""
    recording = read(gpx([point(i) for i in range(10, 13)], [point(i) for i in range(3)]))
    assert recording.time_s.tolist() == [0, 1, 2, 10, 11, 12]
    assert recording.pauses_s == ((2.0, 10.0),)
    assert not recording.findings


def test_route_is_refused_with_the_reason():
    """A planned route is refused as such."""
    text = gpx().replace("<trk></trk>", '<rte><rtept lat="46.5" lon="-32"/></rte><wpt lat="46.5" lon="-32"/>')
    with pytest.raises(InputError, match="holds a planned route and single waypoints and no recorded track") as caught:
        read(text)
    assert "as it was recorded" in caught.value.hint


def test_track_without_a_readable_position_is_refused():
    """A track none of whose positions is a number is refused as such."""
    with pytest.raises(InputError, match="none of its 3 track points has a position and a time that can be read"):
        read(gpx([point(i).replace('lon="-32"', 'lon="west"') for i in range(3)]))
