"""Files of a command: sorted by what they are, and a target that is refused before the work is done."""

from argparse import Namespace

import pytest

from ridelog.cli.given import check_target, sort_files
from ridelog.errors import UsageError
from tests.places import SAMPLES

BIKE = str(SAMPLES / "commute" / "bike.toml")


def test_a_bike_file_among_the_logs_is_taken_as_one():
    given = Namespace(files=["log.csv", BIKE, "track.gpx"], bike=None, columns=None)
    sort_files(given)
    assert (given.files, given.bike, given.columns) == (["log.csv", "track.gpx"], BIKE, None)


def test_two_bike_files_are_one_too_many():
    with pytest.raises(UsageError, match="second bike file"):
        sort_files(Namespace(files=[BIKE], bike="other.toml", columns=None))


def test_a_target_is_refused_that_is_read_or_there(tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("x")
    with pytest.raises(UsageError, match="would be overwritten"):
        check_target(str(log), [str(log)], "--output", force=True)
    with pytest.raises(UsageError, match="exists already"):
        check_target(str(log), [], "--output", force=False)
    check_target(str(log), [], "--output", force=True)
    check_target(None, [str(log)], "--output", force=False)
