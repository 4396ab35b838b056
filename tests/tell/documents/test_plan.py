"""What stands around a plan: what it is of, and from how many rides."""

from datetime import date

from ridelog.compare.plan import SoFar, plan_of
from ridelog.tell.documents import plan as told
from ridelog.tell.numbers import METRIC
from tests.scenarios import sample_answer

PLAN = plan_of(SoFar.of_ride(sample_answer("commute")), 1.5)


def test_its_title_names_the_difference():
    assert " ".join(told.title(PLAN, METRIC).split()) == "Plan of test rides: 1.5 points"


def test_its_date_is_told_where_it_has_one():
    assert told.dateline(PLAN, METRIC, None) == ["Plan of test rides", "from 1 ride so far", f"ridelog {PLAN.ridelog}"]
    assert told.dateline(PLAN, METRIC, date(2026, 6, 1))[-1].startswith("document of ")
