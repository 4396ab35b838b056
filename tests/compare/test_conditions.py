"""What else was different: conditions of rides, and which of them differ."""

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from ridelog.answer.provenance import BikeValue
from ridelog.compare.conditions import LEAST, _chance, conditions, conditions_of
from ridelog.compare.observations import ways_of
from tests.compare.made_up import compared_of
from tests.scenarios import sample_answer

COMMUTE = sample_answer("commute")


def table(**known):
    """Five rides each of two groups; what is not given is not known."""
    rows = {name: np.full(10, np.nan) for name in LEAST} | {name: np.array(values) for name, values in known.items()}
    return pd.DataFrame({"group": ["a"] * 5 + ["b"] * 5, **rows})


def differing(**known):
    return {one.quantity for one in conditions(table(**known), ("a", "b")) if one.differs}


def test_the_conditions_of_a_ride_are_those_of_its_answer(tmp_path):
    later = replace(COMMUTE, ride=replace(COMMUTE.ride, start=COMMUTE.ride.start + timedelta(days=1)))
    compared = compared_of(tmp_path, [("a", "one", "A", COMMUTE), ("b", "two", "A", later)])
    row = conditions_of(compared, ways_of(compared).routes).iloc[0]
    ride, bike = COMMUTE.ride, COMMUTE.bike
    assert row["moving_speed_mps"] == pytest.approx(ride.distance_m.value / ride.moving_s)
    assert row["stopped_pct"] == pytest.approx(100 * (1 - ride.moving_s / ride.duration_s))
    assert bike.total_mass_kg.source == "entered"
    assert row["total_mass_kg"] == bike.total_mass_kg.value
    assert row["most_ridden_route_pct"] == 100
    idle = COMMUTE.series["voltage_v"].iloc[:60][COMMUTE.series["current_a"].iloc[:60].abs() < 1]
    assert row["start_voltage_v"] == pytest.approx(float(idle.median()), abs=0.2)
    assert math.isnan(row["start_charge_pct"]) == ("state_of_charge_pct" not in COMMUTE.series)


def test_what_is_only_assumed_is_no_condition(tmp_path):
    bare = replace(COMMUTE, bike=replace(COMMUTE.bike, total_mass_kg=BikeValue(110.0, 30.0, "assumed")))
    compared = compared_of(tmp_path, [("a", "one", "A", bare), ("b", "two", "A", COMMUTE)])
    rows = conditions_of(compared, ways_of(compared).routes)
    assert math.isnan(rows["total_mass_kg"].iloc[0])
    told = {one.quantity: one for one in conditions(rows, ("a", "b"))}
    assert set(told["total_mass_kg"].groups) == {"b"}
    assert told["total_mass_kg"].groups["b"].sd is None


# Welch's own kind of example: two samples of unlike spread (A1 of the Wikipedia article on Welch's t-test, from memory:
# t = -2.46, 25.0 degrees of freedom, p = 0.021), in another unit.
A1 = [27.5, 21.0, 19.0, 23.6, 17.0, 17.9, 16.9, 20.1, 21.9, 22.6, 23.1, 19.6, 19.0, 21.7, 21.4]
A2 = [27.1, 22.0, 20.8, 23.4, 23.4, 23.5, 25.8, 22.0, 24.8, 20.2, 21.9, 22.1, 22.9, 20.5, 24.4]


def test_a_condition_differs_by_welch_s_t():
    rows = {name: np.full(30, np.nan) for name in LEAST} | {"air_temperature_c": np.array([*A1, *A2])}
    both = pd.DataFrame({"group": ["a"] * 15 + ["b"] * 15, **rows})
    (told,) = conditions(both, ("a", "b"))
    assert (told.quantity, told.differs) == ("air_temperature_c", True)  # p = 0.021, and 2.2 °C matter
    assert told.groups["a"].mean == pytest.approx(np.mean(A1))
    assert told.groups["a"].sd == pytest.approx(np.std(A1, ddof=1))
    both["air_temperature_c"] *= 0.9  # told just as well, and 1.95 °C do not matter
    assert not conditions(both, ("a", "b"))[0].differs


def test_values_that_differ_by_rounding_alone_raise_no_warning():
    """Warnings are errors in tests; scipy's own test on samples warns of these."""
    alike, others = np.array([100.0, np.nextafter(100.0, 101.0), 100.0]), np.array([1.0, 2.0, 4.0])
    assert _chance("stopped_pct", alike, others) < 0.001


def test_many_conditions_are_corrected_for():
    """Holm: with three conditions the smallest of three p-values must be below 0.05/3; 0.021 is not."""
    noise = np.random.default_rng(3).normal(size=(2, 30))
    rows = {name: np.full(30, np.nan) for name in LEAST} | {
        "air_temperature_c": np.array([*A1, *A2]), "moving_speed_mps": 5 + noise[0], "ascent_m": 90 + noise[1],
    }  # fmt: skip
    both = pd.DataFrame({"group": ["a"] * 15 + ["b"] * 15, **rows})
    assert not any(one.differs for one in conditions(both, ("a", "b")))


def test_a_difference_that_does_not_matter_is_none():
    fine = 0.001 * np.arange(5)
    assert differing(distance_m=[*(5960 + fine), *(5965 + fine)]) == set()
    assert differing(distance_m=[*(5960 + fine), *(6100 + fine)]) == {"distance_m"}


def test_what_was_entered_differs_where_it_is_not_the_same():
    assert differing(total_mass_kg=[90.0] * 5 + [110.0] * 5) == {"total_mass_kg"}
    assert differing(total_mass_kg=[90.0] * 10) == set()


def test_a_single_ride_is_held_against_the_spread_of_the_others():
    speeds = np.array([5.0, 5.1, 4.9, 5.0, 5.05, 7.0])
    rows = {name: np.full(6, np.nan) for name in LEAST} | {"moving_speed_mps": speeds}
    one = pd.DataFrame({"group": ["a"] * 5 + ["b"], **rows})
    assert conditions(one, ("a", "b"))[0].differs
    both = one.iloc[4:].reset_index(drop=True)  # one ride each: nothing has a spread
    assert not conditions(both, ("a", "b"))[0].differs


def test_it_says_which_a_figure_corrects():
    rows = table(
        moving_speed_mps=[5, 5.1, 4.9, 5, 5, 6, 6.1, 5.9, 6, 6], stopped_pct=[3, 4, 5, 4, 3, 30, 31, 33, 30, 31]
    )
    told = {one.quantity: one for one in conditions(rows, ("a", "b"), corrected={"moving_speed_mps"})}
    assert (told["moving_speed_mps"].differs, told["moving_speed_mps"].corrected) == (True, True)
    assert (told["stopped_pct"].differs, told["stopped_pct"].corrected) == (True, False)
