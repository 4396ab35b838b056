"""How many rides it takes: against statsmodels, by hand, and by campaigns that are ridden as planned."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.power import TTestPower

from ridelog.compare.plan import FALSE_ALARMS, SoFar, plan_of, points_per_ampere
from ridelog.errors import UsageError
from ridelog.uncertain.quantity import Quantity
from tests.compare.made_up import compared_of
from tests.scenarios import sample_answer

COMMUTE = sample_answer("commute")


def so_far(spread=0.8, n=8, own_u=0.05):
    values = 8 + spread * stats.norm.ppf((np.arange(n) + 0.5) / n)
    values = 8 + (values - 8) * spread / values.std(ddof=1)
    return SoFar(values, np.full(n, own_u), COMMUTE)


def test_the_number_of_pairs_is_that_of_statsmodels_in_whole_blocks():
    plan = plan_of(so_far(), 1.0)
    exact = TTestPower().solve_power(1.0 / (np.sqrt(2) * 0.8), alpha=FALSE_ALARMS, power=0.8)
    assert plan.pairs == 2 * int(np.ceil(exact / 2))
    assert (plan.spread, plan.spread_assumed) == (pytest.approx(0.8), False)
    told = {chance.pairs: chance.power for chance in plan.curve}
    assert told[12] == pytest.approx(TTestPower().power(1.0 / (np.sqrt(2) * 0.8), 12, FALSE_ALARMS), rel=1e-6)


def test_a_spread_of_few_rides_may_be_wider():
    # upper 80 % limit of a standard deviation, 7 degrees of freedom: root (7 / 3.822) (chi-squared table, 20 %: 3.822)
    plan = plan_of(so_far(), 1.0)
    assert plan.spread_high == pytest.approx(0.8 * np.sqrt(7 / 3.822), rel=1e-3)
    assert plan.pairs_high > plan.pairs
    assert all(chance.if_wider < chance.power or chance.power > 0.999 for chance in plan.curve)


@pytest.mark.parametrize("n", [1, 2])
def test_from_one_or_two_rides_a_usual_spread_is_assumed_and_said(n):
    plan = plan_of(SoFar(np.full(n, 8.0), np.full(n, 0.05), COMMUTE), 1.0)
    assert (plan.spread_assumed, plan.spread, plan.spread_high, plan.pairs_high) == (
        True,
        pytest.approx(0.8),
        None,
        None,
    )
    assert plan.curve[0].if_wider is None
    little = plan_of(SoFar(np.array([0.5]), np.array([0.0]), COMMUTE), 1.0)
    assert little.spread == 0.2


def test_rides_closer_together_than_they_were_measured_are_taken_as_far_apart_as_that():
    plan = plan_of(SoFar(np.full(5, 8.0), np.full(5, 0.3), COMMUTE), 1.0)
    assert plan.spread == pytest.approx(0.3)


def test_a_difference_too_small_takes_more_rides_than_anybody_rides():
    assert plan_of(so_far(), 0.01).pairs is None


def test_a_zero_error_moves_the_share_as_by_hand():
    # events of 60 s in 1 h of riding, 2 Ah drawn, 10 %: 1 A adds 1/60 Ah to 0.2 Ah and takes 59/60 Ah off 2 Ah
    event = replace(COMMUTE.braking.events[0], start_s=0.0, end_s=60.0)
    answer = replace(
        COMMUTE, braking=replace(COMMUTE.braking, events=(event,)),
        ride=replace(COMMUTE.ride, moving_s=3600.0),
        charge=replace(COMMUTE.charge, drawn_ah=Quantity(2.0), recovered_pct=Quantity(10.0)),
    )  # fmt: skip
    step = 1e-6
    by_hand = 100 * ((0.2 + step / 60) / (2 - step * 59 / 60) - 0.1) / step
    assert points_per_ampere(answer) == pytest.approx(by_hand, rel=1e-4)


def test_standing_and_logging_follow_from_the_ride_so_far():
    plan = plan_of(so_far(), 1.0)
    facts = next(each.facts for each in COMMUTE.findings if each.code == "current-at-rest")
    assert plan.stand_s_so_far == facts["rest_s"]
    assert 30 <= plan.stand_s <= 600
    assert plan_of(so_far(), 0.001).stand_s > plan.stand_s
    assert plan.logged_every_s == COMMUTE.sources[0].step_s
    # eight times the spread bears four times the step: sampling goes with the step to 1.5
    assert plan_of(so_far(6.4), 1.0).log_every_s == pytest.approx(4 * plan.log_every_s)


def test_set_ups_that_were_ridden_are_taken_out(tmp_path):
    def ridden(day, share):
        start = COMMUTE.ride.start + timedelta(days=day)
        return replace(
            COMMUTE, ride=replace(COMMUTE.ride, start=start),
            energy=replace(COMMUTE.energy, recovered_pct=Quantity(share, share - 0.1, share + 0.1)),
        )  # fmt: skip

    shares = {"off": [5.0, 5.2, 5.4], "on": [9.0, 9.2, 9.4]}
    rows = [
        (group, f"{group} {day}", "Avocet", ridden(day + (group == "on") / 2, share))
        for group, own in shares.items()
        for day, share in enumerate(own)
    ]
    told = SoFar.of_rides(compared_of(tmp_path, rows))
    assert told.groups == 2
    plan = plan_of(told, 1.0)
    # each group about its own mean: sum of squares 0.16 with 4 degrees of freedom
    assert (plan.spread, plan.recovered_pct) == (pytest.approx(0.2), pytest.approx(7.2))
    assert told.latest.ride.start == max(answer.ride.start for *_, answer in rows)


def test_a_ride_that_does_not_tell_what_came_back_is_no_ground_for_a_plan():
    charge, energy = replace(COMMUTE.charge, recovered_pct=None), replace(COMMUTE.energy, recovered_pct=None)
    with pytest.raises(UsageError, match="no ride tells"):
        SoFar.of_ride(replace(COMMUTE, charge=charge, energy=energy))
    assert SoFar.of_ride(COMMUTE).values.tolist() == [COMMUTE.energy.recovered_pct.value]


def test_campaigns_ridden_as_planned_tell_the_difference_as_often_as_stated():
    plan, rng = plan_of(so_far(), 1.0), np.random.default_rng(20)
    told = 0
    for _ in range(2000):
        away = rng.normal(1.0, 0.8, plan.pairs) - rng.normal(0, 0.8, plan.pairs)
        told += stats.ttest_1samp(away, 0).pvalue <= FALSE_ALARMS
    # at least 80 of 100, more as blocks are whole; three standard errors of 2000 are 2.7 points
    exact = TTestPower().power(1.0 / (np.sqrt(2) * 0.8), plan.pairs, FALSE_ALARMS)
    assert exact >= 0.8
    assert told / 2000 == pytest.approx(exact, abs=0.027)
