"""Tracks of which nothing can be used, in words; whole files are in tests/broken."""

import pytest

from ridelog.tell.refusals import tracks


@pytest.mark.parametrize(
    ("n_points", "with_position", "told"),
    [
        (8, True, "none of its 8 track points has a time that can be read"),
        (3, False, "none of its 3 track points has a position and a time that can be read"),
        (1, True, "its only track point has no time that can be read"),
    ],
)
def test_points_without_time_are_counted(n_points, with_position, told):
    assert tracks.no_usable_point("a.gpx", n_points, with_position=with_position).what == told


def test_a_document_of_other_things_says_which():
    assert (
        tracks.no_track("a.gpx", {"rte", "wpt"}).what
        == "holds a planned route and single waypoints and no recorded track"
    )
    assert tracks.no_track("a.gpx", {"metadata"}).what == "holds nothing and no recorded track"


def test_a_fit_file_without_times_counts_its_samples():
    assert tracks.no_fit_time("a.fit", 1).what == "holds one sample, which has no time"
    assert tracks.no_fit_time("a.fit", 12).what == "holds 12 samples without a time"
