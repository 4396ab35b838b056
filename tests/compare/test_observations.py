"""What is observed of rides: the numbers of their answers, with the errors of whose they are."""

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from ridelog.answer.shared_errors import SharedErrors
from ridelog.compare.observations import (
    QUANTITIES,
    UNSEEN,
    UNTOLD,
    Observed,
    observations_of,
    put_together,
    unseen_ah,
    ways_of,
)
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.shared import OWN
from tests.compare.made_up import compared_of
from tests.scenarios import sample_answer

COMMUTE = sample_answer("commute")


def later(answer, days):
    """The same ride some days later."""
    return replace(answer, ride=replace(answer.ride, start=answer.ride.start + timedelta(days=days)))


@pytest.fixture
def two_bikes(tmp_path):
    rides = [("a", "one", "Avocet", COMMUTE), ("b", "two", "Avocet", later(COMMUTE, 1)),
             ("b", "three", "Heron", later(COMMUTE, 2))]  # fmt: skip
    return compared_of(tmp_path, rides)


def test_whole_rides_come_first_then_descents(two_bikes):
    assert [one.quantity for one in observations_of(two_bikes)] == [*QUANTITIES, "captured_pct"]
    *whole, hills = observations_of(two_bikes)
    assert all(set(one.hill) == {""} for one in whole)
    assert all(place.endswith("-down") for place in hills.hill)


def test_values_and_errors_are_those_of_the_answers(two_bikes):
    recovered, captured, used, _ = observations_of(two_bikes)
    assert list(recovered.value) == [COMMUTE.energy.recovered_pct.value] * 3
    assert list(captured.value) == [COMMUTE.braking.captured_pct.value] * 3
    assert list(used.value) == [COMMUTE.energy.net_wh_per_km.value] * 3
    effects = COMMUTE.shared_errors.ride["captured_pct"]
    assert list(captured.own_u) == [effects[OWN]] * 3
    assert {cause for cause, _ in captured.shared} == set(effects) - {OWN}
    assert list(captured.group) == ["a", "b", "b"]
    assert list(captured.start_s) == [ride.answer.ride.start.timestamp() for ride in two_bikes.rides]


def test_an_error_is_shared_by_the_rides_of_its_owner_alone(two_bikes):
    captured = observations_of(two_bikes)[1]
    mass = COMMUTE.shared_errors.ride["captured_pct"]["mass"]
    assert list(captured.shared["mass", "Avocet"]) == [mass, mass, 0.0]
    assert list(captured.shared["mass", "Heron"]) == [0.0, 0.0, mass]
    loggers = [ride.logger for ride in two_bikes.rides]
    assert loggers[0] == loggers[1] != loggers[2]
    zero = COMMUTE.shared_errors.ride["captured_pct"]["current zero"]
    assert list(captured.shared["current zero", loggers[0]]) == [zero, zero, 0.0]


def test_what_a_road_does_to_its_rides_is_shared_by_them_and_else_a_ride_s_own(two_bikes):
    """Heights of one place by files of one kind, and the wind of a road, whichever bike rides it."""
    captured = observations_of(two_bikes)[1]
    effects = COMMUTE.shared_errors.ride["captured_pct"]
    assert list(captured.shared["height", "route 0 by gpx"]) == [effects["height"]] * 3
    assert list(captured.shared["wind along north", "route 0"]) == [effects["wind along north"]] * 3
    nowhere = put_together("captured_pct", [(two_bikes.rides[0], Observed("", 30.0, 1.0, {"height": -2.0}))], {})
    assert nowhere.shared == {}
    assert list(nowhere.own_u) == [pytest.approx(np.hypot(1.0, 2.0))]


def test_rides_over_the_same_hills_are_on_one_route_and_each_descent_is_known_again(two_bikes):
    *_, hills = observations_of(two_bikes)
    assert set(hills.route) == {0}
    down = [hill for hill in COMMUTE.hills if hill.direction == "down"]
    places, rides = np.unique(hills.hill, return_counts=True)
    assert len(places) == len(down)
    assert set(rides) == {3}
    first = hills.ride == two_bikes.rides[0].key
    assert sorted(hills.value[first]) == pytest.approx(sorted(hill.captured_pct.value for hill in down))


def test_both_directions_of_a_road_are_never_one_hill(two_bikes):
    places = ways_of(two_bikes).places
    by_hill = {(ride.key, hill.start_s): hill for ride in two_bikes.rides for hill in ride.answer.hills}
    assert {place.rpartition("-")[2] for place in places.values()} == {"up", "down"}
    for at, place in places.items():
        assert place.endswith(by_hill[at].direction)
    roads = [{place.rpartition("-")[0] for place in places.values() if place.endswith(way)} for way in ("up", "down")]
    assert len(roads[0] & roads[1]) >= 4  # the commute goes there and back


def test_of_several_passes_of_a_ride_over_a_hill_the_mean_is_taken(tmp_path):
    hill, effects = next(
        pair for pair in zip(COMMUTE.hills, COMMUTE.shared_errors.hills, strict=True) if pair[0].direction == "down"
    )
    passes = (replace(hill, captured_pct=Quantity(40.0, 30.0, 50.0)),
              replace(hill, id="9-down", start_s=hill.start_s + 1, captured_pct=Quantity(30.0, 20, 40)))  # fmt: skip
    twice = replace(COMMUTE, hills=passes, shared_errors=replace(COMMUTE.shared_errors, hills=(effects, effects)))
    *_, hills = observations_of(compared_of(tmp_path, [("a", "one", "A", twice), ("b", "two", "A", COMMUTE)]))
    ((value,), (own_u,)) = (values[hills.group == "a"] for values in (hills.value, hills.own_u))
    assert value == pytest.approx(35.0)
    assert own_u == pytest.approx(effects["captured_pct"][OWN] / math.sqrt(2))
    assert hills.shared["mass", "A"][hills.group == "a"] == pytest.approx([effects["captured_pct"]["mass"]])


def test_of_an_answer_of_before_nothing_is_known_to_cancel_but_on_one_logger(tmp_path):
    """Its whole uncertainty, half of the interval over 1.96, may be one error of its logger, or the ride's own."""
    old = replace(COMMUTE, shared_errors=SharedErrors())
    rides = compared_of(tmp_path, [("a", "one", "A", old), ("b", "two", "A", old), ("b", "three", "B", old)])
    recovered = observations_of(rides)[0]
    told = COMMUTE.energy.recovered_pct
    u = (told.high95 - told.low95) / 2 / 1.959964
    assert recovered.own_u == pytest.approx([u] * 3)
    one, _, other = (ride.logger for ride in rides.rides)
    assert list(recovered.shared) == [(UNTOLD, one), (UNTOLD, other)]
    assert recovered.shared[UNTOLD, one] == pytest.approx([u, u, 0.0])


def test_what_a_ride_does_not_know_is_left_out(tmp_path):
    bare = replace(COMMUTE, braking=replace(COMMUTE.braking, captured_pct=None), hills=(), energy=replace(
        COMMUTE.energy, recovered_pct=None))  # fmt: skip
    recovered, captured, used, hills = observations_of(
        compared_of(tmp_path, [("a", "one", "A", COMMUTE), ("b", "two", "A", bare)])
    )
    assert list(recovered.group) == list(captured.group) == ["a"]  # a share of charge is none of energy
    assert list(used.group) == ["a", "b"]
    assert set(hills.group) == {"a"}


# --- rides on which nothing came back ---------------------------------------------------------------------------------

CUT_OFF = sample_answer("no-return")
OFF = replace(
    CUT_OFF,
    findings=tuple(
        replace(each, facts={**each.facts, "cuts_off": False}) if each.code == "cannot-show-return" else each
        for each in CUT_OFF.findings
    ),
)


def shows_return(answer):
    """The same log, on which a return is seen."""
    shares = replace(answer.energy, recovered_pct=Quantity(5.0, 4.8, 5.2), returned_wh=Quantity(5.0, 4.8, 5.2))
    return replace(later(answer, 1), energy=shares, findings=())


def test_a_ride_without_return_is_one_at_0_where_its_logger_has_shown_one(tmp_path):
    result = compared_of(tmp_path, [("off", "one", "A", OFF), ("on", "two", "A", shows_return(OFF))])
    recovered, captured, used, hills = observations_of(result)
    assert list(recovered.value) == [0.0, 5.0]
    assert list(captured.value) == [0.0]
    assert used.value[0] == pytest.approx(1000 * OFF.energy.drawn_wh.value / OFF.ride.distance_m.value)
    assert set(hills.value) == {0.0}
    assert all(place.endswith("-down") for place in hills.hill)


def test_less_than_its_zero_can_be_off_stays_unseen(tmp_path):
    """By hand: the limit [A] over the seconds braked, over √3, against what was drawn."""
    result = compared_of(tmp_path, [("off", "one", "A", OFF), ("on", "two", "A", shows_return(OFF))])
    recovered = observations_of(result)[0]
    braked_s = sum(event.end_s - event.start_s for event in OFF.braking.events)
    limit_a = OFF.bike.sensor["current_zero_limit_a"].value
    assert unseen_ah(OFF) == pytest.approx(limit_a * braked_s / 3600 / math.sqrt(3))
    share = 100 * unseen_ah(OFF) / OFF.charge.drawn_ah.value
    assert recovered.shared[UNSEEN, result.rides[0].logger] == pytest.approx([share, 0.0])
    hill = next(hill for hill in OFF.hills if hill.direction == "down")
    assert unseen_ah(OFF, hill.start_s, hill.end_s) < unseen_ah(OFF)


def test_a_log_that_cuts_off_what_came_back_is_not_one_without_return_whatever_its_logger_can_show(tmp_path):
    """It reads exactly 0 while riding and never at rest, where the electronics draw."""
    recovered, captured, *_ = observations_of(
        compared_of(tmp_path, [("off", "one", "A", CUT_OFF), ("on", "two", "A", shows_return(OFF))])
    )
    assert list(recovered.value) == [5.0]
    assert len(captured.value) == 0


@pytest.mark.parametrize("bike", ["A", "B"])
def test_it_is_none_where_nothing_proves_it(tmp_path, bike):
    """By another logger, or where no ride shows a return."""
    other = later(OFF, 1) if bike == "A" else shows_return(OFF)
    recovered, captured, *_ = observations_of(
        compared_of(tmp_path, [("off", "one", "A", OFF), ("on", "two", bike, other)])
    )
    assert 0.0 not in recovered.value
    assert len(captured.value) == 0
