"""Files are called by as little of their path as tells them apart."""

import pytest

from ridelog.report.making import Making, short_names


@pytest.mark.parametrize(
    ("paths", "names"),
    [
        (["/home/anna/rides/log.csv", "/home/anna/track.gpx"], ["log.csv", "track.gpx"]),
        (["a/log.csv", "b/log.csv"], ["a/log.csv", "b/log.csv"]),
        (["x/a/log.csv", "y/a/log.csv", "z.gpx"], ["x/a/log.csv", "y/a/log.csv", "z.gpx"]),
        (["log.csv", "b/log.csv"], ["log.csv", "b/log.csv"]),
        (["C:\\rides\\log.csv"], ["log.csv"]),
    ],
)
def test_names_are_short_and_distinct(paths, names):
    assert [short_names(paths)[path] for path in paths] == names


def test_a_document_holds_no_time_of_making_unless_one_is_given():
    assert Making().dated is None
