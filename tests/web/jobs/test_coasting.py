"""The coasting of a ride is fitted beside the page as it is at a terminal, or it is said why not."""

from dataclasses import replace

import pytest

import ridelog
from ridelog.errors import RidelogError
from ridelog.web.jobs.apart import Limits, ready
from ridelog.web.jobs.coasting import coasted_apart, coasted_here, heard, said
from ridelog.web.jobs.measuring import Task
from tests.places import SAMPLES

NAMES = ("controller.csv", "track.gpx", "bike.toml")
COMMUTE = Task(tuple((name, SAMPLES / "commute" / name) for name in NAMES))


def waited():
    return False


@pytest.fixture(scope="module")
def there():
    logs = [SAMPLES / "commute" / name for name in NAMES[:2]]
    return ridelog.coastdown(ridelog.load_ride(logs, bike=SAMPLES / "commute" / NAMES[2]))


def test_it_is_what_the_command_line_says(there):
    ready()
    told = coasted_apart(COMMUTE, None, waited)
    assert replace(told, ride=there.ride) == there
    assert coasted_apart(COMMUTE, (), waited).cda_m2 is None


def test_files_that_are_no_ride_are_refused_in_their_words(tmp_path):
    (tmp_path / "0").write_text("is empty")
    told = coasted_here(Task((("a.csv", tmp_path / "0"),)), None, waited)
    assert told.message.startswith("a.csv")
    assert heard(said(told)).lines() == told.lines()


def test_nobody_waits_and_nothing_is_told():
    ready()
    assert coasted_apart(COMMUTE, None, lambda: True) is None


def test_what_takes_too_long_is_ended():
    ready()
    assert "ridelog measure" in coasted_apart(COMMUTE, None, waited, limits=Limits(longest_s=0.0)).hint


@pytest.mark.parametrize("message", [b"{}", b"nonsense", b'{"coastdown": {}}'])
def test_nonsense_is_not_believed(message):
    with pytest.raises((ValueError, KeyError, RidelogError)):
        heard(message)
