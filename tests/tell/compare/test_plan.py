"""The checklist of a campaign, in words."""

from dataclasses import replace

from ridelog.compare.plan import plan_of
from ridelog.tell.compare.plan import curve, headline, parts
from tests.compare.test_plan import so_far

PLAN = plan_of(so_far(), 1.0)


def text_of(plan):
    return "\n".join(line for part in parts(plan) for line in part.lines)


def test_it_says_how_many_rides_in_which_order():
    assert headline(PLAN).startswith(
        f"{PLAN.pairs} rides of each setting tell a difference of 1.0 points 80 times of 100"
    )
    assert f"A B B A, {PLAN.pairs // 2} times" in text_of(PLAN)
    assert "A B B A, once" in text_of(replace(PLAN, pairs=2))
    assert "More than 1,000 rides" in headline(replace(PLAN, pairs=None))
    assert "A B B A" not in text_of(replace(PLAN, pairs=None))


def test_what_is_assumed_is_said():
    assert "A usual spread of 0.80 points is assumed" in text_of(replace(PLAN, spread_assumed=True, rides=1))
    assert "assumed; plan again" not in text_of(PLAN)
    assert "Enter `standby_draw_a`" in text_of(replace(PLAN, standby_known=False))
    assert "so far every" in text_of(replace(PLAN, log_every_s=0.2, logged_every_s=1.0))
    assert "the log so far shows no rest" in text_of(replace(PLAN, stand_s=None))
    assert "own measurement makes next to nothing of that" in text_of(replace(PLAN, own_u=0.0))
    assert "are assumed; one narrows" in text_of(replace(PLAN, drag_assumed=True))


def test_cautions_are_there_and_nothing_is_called_safe():
    whole = text_of(PLAN)
    assert "friction brakes" in whole
    assert "do not bypass or adjust the BMS" in whole
    assert "safe" not in whole.lower()


def test_the_curve_has_a_row_a_number_of_rides():
    table = curve(PLAN)
    assert table.column("rides") == [chance.pairs for chance in PLAN.curve]
    assert [len(bar) for bar in table.column("bar")] == sorted(len(bar) for bar in table.column("bar"))
