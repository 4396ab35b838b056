"""Comparisons put together from measured rides: figures, verdicts, and what limits them."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from ridelog.answer.provenance import BikeUsed
from ridelog.answer.shared_errors import SharedErrors
from ridelog.compare.comparison import comparison, comparison_of, group_mean
from ridelog.compare.observations import UNSEEN, observations_of
from ridelog.compare.record import Comparison, Condition, Spread
from ridelog.findings import Finding
from ridelog.uncertain.quantity import Quantity
from tests.compare.campaigns import observed
from tests.compare.made_up import compared_of
from tests.compare.test_observations import OFF, shows_return
from tests.scenarios import sample_answer

COMMUTE = sample_answer("commute")


def ridden(days, recovered_pct, *, hours=0.0, findings=COMMUTE.findings):
    """The commute again, some days later, with another share."""
    start = COMMUTE.ride.start + timedelta(days=days, hours=hours)
    share = Quantity(recovered_pct, recovered_pct - 0.04, recovered_pct + 0.04)
    return replace(
        COMMUTE, ride=replace(COMMUTE.ride, start=start), energy=replace(COMMUTE.energy, recovered_pct=share),
        findings=findings,
    )  # fmt: skip


def rides_of(tmp_path, shares, bike="Avocet"):
    """Rides by turns: a share each of off, then of on, and so forth."""
    rows = [
        (("off", "on")[at % 2], f"ride {at}", bike, ridden(at // 2, share, hours=at % 2))
        for at, share in enumerate(shares)
    ]
    return compared_of(tmp_path, rows)


@pytest.fixture
def six(tmp_path):
    rides = rides_of(tmp_path, [5.0, 7.1, 5.2, 7.2, 4.9, 7.3])
    return rides, comparison(rides, observations_of(rides))


def told_of(result, quantity, paired_by="route"):
    return next(each for each in result.differences if (each.quantity, each.paired_by) == (quantity, paired_by))


def test_rides_by_turns_are_paired_and_told(six):
    _, result = six
    told = told_of(result, "recovered_pct")
    assert (told.first, told.second, told.pairs, told.verdict) == ("off", "on", 3, "second-higher")
    # differences 2.1, 2.0, 2.4: mean 13/6, s 0.20817; t.975, 2 degrees of freedom 4.3027; one logger's errors cancel
    assert told.difference.value == pytest.approx(6.5 / 3)
    assert told.difference.high95 - told.difference.value == pytest.approx(4.3027 * 0.20817 / np.sqrt(3), rel=0.02)


def test_what_is_the_same_on_all_rides_is_not_told(six):
    _, result = six
    for quantity, paired_by in (("captured_pct", "route"), ("captured_pct", "hill"), ("net_wh_per_km", "route")):
        told = told_of(result, quantity, paired_by)
        assert (told.difference.value, told.verdict) == (pytest.approx(0, abs=1e-9), "not-told")
        assert told.difference.low95 < 0 < told.difference.high95


def test_figures_of_groups_are_the_means_of_their_rides(six):
    rides, result = six
    assert [(group.name, group.rides) for group in result.groups] == [("off", 3), ("on", 3)]
    assert result.groups[0].recovered_pct.value == pytest.approx(np.mean([5.0, 5.2, 4.9]), rel=1e-3)
    assert result.groups[0].precision["recovered_pct"].repeatability_sd == pytest.approx(np.std([5, 5.2, 4.9], ddof=1))
    assert [row.key for row in result.rides] == [ride.key for ride in rides.rides]
    assert Comparison.from_dict(result.to_dict()) == result


def test_one_ride_in_a_group_is_said_and_nothing_is_told(tmp_path):
    rides = rides_of(tmp_path, [5.0, 7.1])
    result = comparison(rides, observations_of(rides))
    assert {each.verdict for each in result.differences} == {"not-told"}
    said = [finding.facts["group"] for finding in result.findings if finding.code == "one-ride-in-group"]
    assert sorted(said) == ["off", "on"]  # each once, whichever quantities it lacks
    assert result.groups[0].recovered_pct.low95 < 5 < result.groups[0].recovered_pct.high95


def test_other_loggers_are_said_where_their_errors_weigh_more_than_chance(tmp_path):
    rows = [
        ("off" if at % 2 else "on", f"ride {at}", "Heron" if at % 2 else "Avocet", ridden(at // 2, 5.0 + 0.001 * at))
        for at in range(6)
    ]
    rides = compared_of(tmp_path, rows)
    result = comparison(rides, observations_of(rides))
    said = {each.facts["quantity"]: each.facts for each in result.findings if each.code == "errors-not-shared"}
    assert "current zero" in said["recovered_pct"]["causes"]
    assert told_of(result, "recovered_pct").shared_u > 0


def test_folders_that_no_bike_file_names_are_said_to_count_as_bikes(tmp_path):
    def said(folder, answer):
        rows = [(group, f"ride {group}", f"{group} setting", answer) for group in ("off", "on")]
        found = comparison_of(compared_of(tmp_path / folder, rows)).findings
        return [each.facts["bikes"] for each in found if each.code == "bikes-by-folder"]

    assert said("unnamed", replace(COMMUTE, bike=BikeUsed())) == [("off setting", "on setting")]
    assert said("named", replace(COMMUTE, bike=BikeUsed(name="Avocet"))) == []
    assert said("entered", COMMUTE) == []


def test_rides_that_count_as_0_are_told_as_0_with_their_bound_and_have_no_repeatability(tmp_path):
    """Their logs tell no share; what may have come back unseen bounds it: rectangular, so 0.95 √3 u from 0."""
    rides = compared_of(tmp_path, [("off", "one", "A", OFF), ("on", "two", "A", shows_return(OFF))])
    observed = observations_of(rides)
    result = comparison(rides, observed)
    off, on = result.rides
    assert OFF.energy.recovered_pct is None
    (u, _) = observed[0].shared[UNSEEN, rides.rides[0].logger]
    assert (off.recovered_pct.value, off.recovered_pct.low95) == (0.0, 0.0)
    assert off.recovered_pct.high95 == pytest.approx(0.95 * np.sqrt(3) * u, rel=0.01)
    assert off.captured_pct.value == 0.0
    assert off.net_wh_per_km.value == pytest.approx(observed[2].value[0])
    assert on.recovered_pct.value == 5.0
    assert "recovered_pct" not in result.groups[0].precision


@pytest.mark.parametrize("old", [(), ("off",), ("off", "on")])
def test_answers_of_before_are_said_and_tell_less_between_loggers(tmp_path, old):
    rows = [
        (group, f"ride {at}", bike, ridden(at // 2, share, hours=at % 2))
        for at, share in enumerate([5.0, 5.6, 5.1, 5.8, 4.9, 5.4])
        for group, bike in [(("off", "Avocet"), ("on", "Heron"))[at % 2]]
    ]
    rows = [
        (group, name, bike, replace(answer, shared_errors=SharedErrors()) if group in old else answer)
        for group, name, bike, answer in rows
    ]
    result = comparison_of(compared_of(tmp_path, rows))
    said = [each.facts for each in result.findings if each.code == "shared-errors-unknown"]
    assert [each["n_rides"] for each in said] == ([3 * len(old)] if old else [])
    u = 0.04 / 1.959964  # of each logger, rectangular
    if len(old) == 2:
        assert told_of(result, "recovered_pct").shared_u == pytest.approx(u * np.sqrt(2), rel=0.01)


def test_hills_that_no_model_fits_are_said(tmp_path):
    """Every share is its group's and its hill's, to the last digit: nothing is left from which to tell chance."""
    names = ["off", "on", "off", "on"]
    rows = [(ride, hill) for ride in range(4) for hill in range(3) if (ride, hill) != (3, 2)]
    on_hills = observed(
        [10.0 + 5 * hill + (names[ride] == "on") for ride, hill in rows], [names[ride] for ride, _ in rows],
        quantity="captured_pct", ride=[str(ride) for ride, _ in rows], hill=[str(hill) for _, hill in rows],
        start_s=[3600 * ride for ride, _ in rows],
    )  # fmt: skip
    result = comparison(rides_of(tmp_path, [5.0, 7.1, 5.2, 7.2]), [on_hills])
    assert [dict(each.facts) for each in result.findings if each.code == "ride-model-failed"] == [
        {"first": "off", "second": "on"}
    ]
    told = told_of(result, "captured_pct", "hill")
    assert told.difference.value == pytest.approx(1.0)
    assert told.difference.low95 < 1.0 - 0.02 < told.difference.high95  # as wide as the hills were measured, at least


def test_conditions_and_dangers_are_said(tmp_path):
    grave = Finding("no-voltage", "danger", {"file": "a.csv"})
    rows = [("off", "a", "Avocet", ridden(0, 5.0)), ("on", "b", "Avocet", ridden(1, 6.0, findings=(grave,)))]
    rides = compared_of(tmp_path, rows)
    speed = Condition("moving_speed_mps", {"off": Spread(5.0, 0.1), "on": Spread(6.0, 0.1)}, True, True)
    result = comparison(rides, observations_of(rides), conditions=[speed], corrected=observations_of(rides))
    said = {finding.code: finding for finding in result.findings}
    assert said["conditions-differ"].facts["corrected"] == ("moving_speed_mps",)
    assert said["rides-with-dangers"].facts["codes"] == ("no-voltage",)
    assert result.findings[0].severity == "danger"
    assert [each.corrected for each in result.differences] == [False] * 3 + [True] * 3


def test_rides_that_two_loggers_logged_are_held_against_each_other(tmp_path):
    def by(limit, at, share):
        answer = ridden(at, share)
        sensor = dict(answer.bike.sensor)
        key = "current_zero_limit_a"
        sensor[key] = replace(sensor[key], value=limit)
        return replace(answer, bike=replace(answer.bike, sensor=sensor))

    shares = np.array([5.0, 5.4, 4.8, 5.1])
    rows = [("one", f"one {at}", "Avocet", by(0.1, at, share)) for at, share in enumerate(shares)]
    rows += [("two", f"two {at}", "Avocet", by(0.2, at, share + 0.1 + 0.01 * at)) for at, share in enumerate(shares)]
    rides = compared_of(tmp_path, rows)
    result = comparison(rides, observations_of(rides))
    told = {each.quantity: each.agreement for each in result.loggers}
    assert told["recovered_pct"].pairs == 4
    assert told["recovered_pct"].bias.value == pytest.approx(0.115)


def test_the_mean_of_one_ride_is_what_was_measured_and_of_none_nothing():
    rides = observed([5.0, 6], ["A", "B"], own_u=[0.1, 0.1])
    told = group_mean(rides, np.array([0]))
    assert (told.value, told.high95) == (5, pytest.approx(5.196, abs=1e-3))
    assert group_mean(rides, np.array([], dtype=int)) is None
