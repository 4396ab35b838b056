"""Comparisons and plans as work: why there is none, without a word of where the page keeps files."""

import json

import pytest

from ridelog.web.orders.comparisons import comparison_made, plan_made
from ridelog.web.orders.groups import ChosenGroup, StagedRide
from ridelog.web.orders.reports import DocumentLook
from tests.web.visits import log


@pytest.fixture
def ride(tmp_path):
    path = tmp_path / "ridelog-page-x" / "given" / "0" / "0" / "log.csv"
    path.parent.mkdir(parents=True)
    path.write_bytes(log())
    return StagedRide("ride", (path,))


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "made"
    made.mkdir()
    return made


def told(messages):
    return json.loads(messages[0])


def test_the_same_ride_in_two_groups_is_refused(ride, folder):
    groups = [ChosenGroup(name, own=(ride,)) for name in "ab"]
    found = told(comparison_made(groups, DocumentLook(), folder, lambda _said: None))
    assert found["lines"][0].startswith("the ride ride is in the group a and in the group b")
    assert found["files"] == []


def test_what_cannot_be_read_is_named_as_its_owner_called_it(ride, folder, tmp_path):
    ride.recordings[0].write_text("nothing")
    for make in (
        comparison_made(
            [ChosenGroup("a", own=(ride,)), ChosenGroup("b", own=(ride,))], DocumentLook(), folder, _silent
        ),
        plan_made([ChosenGroup("a", own=(ride,))], 1.0, DocumentLook(), folder, _silent),
    ):
        (line, *_) = told(make)["lines"]
        assert "log.csv" in line or "the ride ride" in line
        assert str(tmp_path) not in line


def _silent(_said):
    pass


def test_a_fault_of_ridelog_itself_is_told_in_one_line(folder, monkeypatch):
    monkeypatch.setattr("ridelog.web.orders.comparisons.rides_of", lambda *_, **__: 1 / 0)
    found = told(plan_made([], 1.0, DocumentLook(), folder, _silent))
    assert found["lines"][0] == "ridelog failed where it should not: ZeroDivisionError: division by zero"
