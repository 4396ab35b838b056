"""Which way a flow goes, of made rides whose sign is known: the electrical power is what the motion takes, at 50 V."""

import itertools
import tracemalloc

import numpy as np
import pytest

from ridelog.signs import effort_strength, fresh_rows, net_and_gross, sign_by_amounts, sign_by_effort

RNG = np.random.default_rng(5)
STEP_S = 0.2
TIME_S = np.arange(0, 1200, STEP_S)
_STOPS_S = np.cumsum([0, 47, 83, 58, 91, 66, 72, 44, 88, 53, 79, 61, 97, 49, 85, 70, 57, 100])
_PACE_MPS = [7.0, 6.1, 7.6, 5.4, 6.8, 7.9, 5.9, 6.5, 7.2, 5.1, 6.3, 7.4, 5.7, 6.6, 7.8, 6.0, 7.1]
_CORNERS_S = np.concatenate([[at, at + 8, end - 15, end - 8] for at, end in itertools.pairwise(_STOPS_S)])
SPEED_MPS = np.interp(TIME_S, _CORNERS_S, np.concatenate([[0, pace, pace, 0] for pace in _PACE_MPS]))
_GRADE = np.interp(
    TIME_S, [0, 300, 310, 600, 610, 900, 910, 1200], [0.04, 0.04, -0.04, -0.04, 0.02, 0.02, -0.02, -0.02]
)
HEIGHT_M = 100 + np.cumsum(_GRADE * SPEED_MPS) * STEP_S
_ROAD_N = 8.5 + 0.34 * SPEED_MPS**2 + 105 * 9.81 * _GRADE
_NEED_W = SPEED_MPS * (105 * np.gradient(SPEED_MPS, STEP_S) + _ROAD_N)
# the motor gives back 60 % and takes 1 / 80 %, and the sensor has noise
CURRENT_A = np.where(_NEED_W > 0, _NEED_W / 0.8, 0.6 * _NEED_W) / 50 + RNG.normal(0, 0.2, len(TIME_S))


def held(values, held_s):
    n = max(round(held_s / STEP_S), 1)
    return values[np.arange(len(values)) // n * n]


@pytest.mark.parametrize("held_s", [0, 1, 3, 5])
@pytest.mark.parametrize("heights", [False, True])
@pytest.mark.parametrize(("way", "said"), [(1, "as read"), (-1, "reversed")])
def test_a_bike_that_speeds_up_or_climbs_draws_however_long_its_speed_is_held(way, said, heights, held_s):
    height = np.round(HEIGHT_M) if heights else None
    found = sign_by_effort(way * CURRENT_A, held(SPEED_MPS, held_s), TIME_S, height)
    assert found is not None
    assert found.way == said
    assert found.facts["effort_correlation"] * way > 0


def test_a_current_that_has_nothing_to_do_with_the_motion_shows_no_sign():
    """Twenty currents by chance: each block of one is independent of the motion."""
    for seed in range(20):
        chance_a = np.repeat(np.random.default_rng(seed).normal(2, 8, len(TIME_S) // 10), 10)
        found = sign_by_effort(chance_a, SPEED_MPS, TIME_S, HEIGHT_M)
        assert found is not None
        assert found.way == "unclear"


@pytest.mark.parametrize("speed", [np.zeros(len(TIME_S)), np.full(len(TIME_S), np.nan), np.full(len(TIME_S), 6.0)])
def test_a_speed_that_says_nothing_is_no_evidence(speed):
    assert effort_strength(CURRENT_A, speed, TIME_S) == (0.0, 0.0)
    assert sign_by_effort(CURRENT_A, speed, TIME_S) is None


def test_samples_that_are_missing_are_left_out():
    gappy_a, gappy_mps = CURRENT_A.copy(), SPEED_MPS.copy()
    gappy_a[RNG.random(len(TIME_S)) < 0.5] = np.nan
    gappy_mps[1000:2500] = np.nan
    found = sign_by_effort(gappy_a, gappy_mps, TIME_S)
    assert found is not None
    assert found.way == "as read"


# seconds of 15 A drawn, of 8 A returned
@pytest.mark.parametrize(
    ("n_drawn", "n_returned", "way"),
    [(300, 30, "as read"), (300, 270, "as read"), (300, 290, "unclear"), (60, 600, "unclear")],
)
def test_amounts_show_the_sign_where_most_is_drawn_and_the_strongest_currents_are(n_drawn, n_returned, way):
    """15 A for 300 s against 8 A for 270 s are 4500 to 2160 As, just above two to one; 290 s are just below."""
    current_a = np.concatenate((np.full(n_drawn, 15.0), np.full(n_returned, -8.0)))
    time_s = np.arange(len(current_a), dtype=float)
    turned = {"as read": "reversed", "unclear": "unclear"}[way]
    assert sign_by_amounts(current_a, time_s).way == way
    assert sign_by_amounts(-current_a, time_s).way == turned


def test_a_log_of_less_than_a_minute_turns_nothing():
    assert sign_by_amounts(np.full(50, -5.0), np.arange(50.0)).way == "unclear"
    assert sign_by_amounts(np.full(50, 5.0), np.arange(50.0)).way == "as read"


def test_without_a_strong_current_nothing_is_turned_and_what_is_kept_is_not_sure():
    """A gentle descent turned round looks like a ride that draws gently: 8 A for five minutes against 3 A for one."""
    current_a = np.concatenate((np.full(300, 8.0), np.full(60, -3.0)))
    time_s = np.arange(360.0)
    assert sign_by_amounts(-current_a, time_s).way == "unclear"
    kept = sign_by_amounts(current_a, time_s)
    assert (kept.way, kept.facts["sure"]) == ("as read", False)
    assert sign_by_amounts(-50 * current_a, time_s, strong=350.0).way == "reversed"


def test_no_flow_is_no_evidence():
    assert sign_by_amounts(np.zeros(100), np.arange(100.0)) is None
    assert sign_by_amounts(np.full(100, np.nan), np.arange(100.0)) is None


def test_net_and_gross_are_trapezoids():
    """0, 4, -4 A at 0, 1, 3 s: 2 As, then 0 As, of which the magnitude is that of the mean."""
    assert net_and_gross(np.array([0.0, 4.0, np.nan, -2.0]), np.array([0.0, 1.0, 2.0, 3.0])) == (2.0 + 2.0, 4.0)


def test_fresh_rows_are_those_of_another_value_than_the_one_known_before():
    values = np.array([np.nan, 1.0, 1.0, np.nan, 1.0, 2.0, 2.0, 1.0])
    assert fresh_rows(values).tolist() == [1, 5, 7]
    assert fresh_rows(np.full(3, np.nan)).tolist() == []


def test_a_log_of_few_samples_in_years_takes_blocks_by_its_samples():
    """Half an hour of which the last minute lies ten years later: the sign is found as without the leap."""
    time_s = np.arange(1800.0)
    speed_mps = 6 + 4 * np.sin(time_s / 20)
    current_a = 5 + 20 * np.gradient(speed_mps)
    near = effort_strength(current_a, speed_mps, time_s)
    leap_s = np.where(time_s > 1740, time_s + 3.15e8, time_s)
    tracemalloc.start()
    far = effort_strength(current_a, speed_mps, leap_s)
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert far[0] == pytest.approx(near[0], abs=0.05)
    assert peak_bytes < 2_000_000
