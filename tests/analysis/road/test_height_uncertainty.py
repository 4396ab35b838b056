"""Intervals of heights, distances and clocks: closed forms, and the truth of simulated rides."""

import math
from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.basis.sources import clock_drift_q, clock_offset_q
from ridelog.analysis.road.distance import position_lengthening_m, ridden_distance
from ridelog.analysis.road.height_uncertainty import (
    ascent_q,
    drop_q,
    height_change_q,
    hill_height_q,
    mean_grade_q,
    told_slopes,
)
from ridelog.analysis.road.hills.slopes import find_slopes
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.road.profile import height_profile
from ridelog.timeline.ride import join_recordings
from tests.analysis.chance_rides import SEEDS, SLICE, chance_ride, coverage_and_width
from tests.analysis.road.heights import GRID_M, noise_of, wander
from tests.timeline.simulated import controller_log, track_log, true_ride

STEPS_S = (0.2, 1.0)


def test_a_height_difference_has_the_hand_worked_interval():
    """u² = 0.4²·2(1 − e^−1) + (0.035·30/√3)² = 0.2023 + 0.3675 m², u = 0.7548 m, times 1.95996: 1.4794 m."""
    found = height_change_q(30.0, 0.0, 300.0, noise_of(scale_ratio=0.035))
    assert found.value == 30.0
    assert (found.low95, found.high95) == pytest.approx((30 - 1.4794, 30 + 1.4794), abs=2e-4)


# --- hills, ascent, events ------------------------------------------------------------------------


def slope_ridden():
    """1 km at 5 % between two level pieces; the grid of `noise_of`."""
    height = np.interp(GRID_M, [0, 500, 1500, 2000], [0, 0, 50, 50])
    profile = height_profile(GRID_M, height)
    return profile, find_slopes(profile)[0]


@pytest.mark.parametrize(("slow_m", "n_told"), [(3.0, 1), (6.0, 0)])
def test_a_hill_is_told_if_its_height_is_told_from_zero(slow_m, n_told):
    """6 m in 300 m, 60 s: 1.96 · 3 m √(2(1 - e^-0.2)) = 3.54 m, and 7.08 m for an error twice as large."""
    profile = height_profile(GRID_M, np.interp(GRID_M, [0, 500, 800, 2000], [0, 0, 6, 6]))
    slopes = find_slopes(profile)
    assert len(slopes) == 1
    assert len(told_slopes(slopes, noise_of(slow_m=slow_m))) == n_told


def test_ascent_and_hill_of_one_slope_agree_in_their_intervals():
    """A road that only climbs once has the ascent of its one hill, and the same error over a longer time."""
    profile, slope = slope_ridden()
    hill, (ascent, descent) = hill_height_q(slope, noise_of()), ascent_q(profile, noise_of())
    assert hill.value == pytest.approx(50, abs=0.2)  # the start and the end are on the rounded foot and top
    assert ascent.value == pytest.approx(50, abs=0.1)
    assert hill.high95 - hill.value < ascent.high95 - ascent.value < 1.96 * 0.4 * math.sqrt(2) + 0.01
    assert (descent.value, descent.low95) == (0.0, 0.0)


def test_the_grade_of_a_slope_carries_its_height_and_its_length():
    """By hand: 1.96·√((0.4 √(2(1 − e^(−200/300)))/10)² + (5·0.005/√3)² + (5·8.5/1000)²) % = 0.116 %."""
    profile, slope = slope_ridden()
    grade = mean_grade_q(slope, profile, noise_of())
    assert grade.value == pytest.approx(5.0, abs=0.1)
    assert grade.high95 - grade.value == pytest.approx(0.116, abs=0.006)


def test_noise_that_climbs_lets_the_ascent_of_a_level_road_reach_down_to_nothing():
    rng = np.random.default_rng(5)
    height = 50 + wander(rng, len(GRID_M), 1.0, 3.0, 100.0)
    ascent, _ = ascent_q(height_profile(GRID_M, height), noise_of(slow_m=3.0, memory_s=100.0))
    assert ascent.value > 3
    assert ascent.low95 == 0.0


def test_a_clock_error_moves_a_drop_by_what_the_rate_of_descent_differs_at_its_ends():
    """From 0.3 m/s down to standing still, and 0.5 s: 0.15 m, times 1.96."""
    time_s = np.array([0.0, 1.0, 2.0])
    motion = Motion(time_s, np.array([6.0, 3.0, 0.0]), np.array([10.0, 9.8, 9.7]), np.full(3, -5.0))
    quiet = noise_of(slow_m=0.0)
    known = drop_q(motion, (0, 2), quiet)
    unsure = drop_q(replace(motion, height_clock_u_s=0.5), (0, 2), quiet)
    assert known.high95 == pytest.approx(known.value)
    assert unsure.high95 - unsure.value == pytest.approx(1.96 * 0.15, rel=1e-3)


def test_a_drop_without_height_is_not_known():
    nothing = np.full(3, np.nan)
    assert drop_q(Motion(np.arange(3.0), np.ones(3), nothing, nothing), (0, 2), noise_of()) is None


# --- the truth of simulated rides -----------------------------------------------------------------


def intervals(ask, seeds):
    """All (value, low, high) of a question, and the truths, over rides and steps."""
    pairs = [pair for step_s in STEPS_S for seed in seeds for pair in ask(chance_ride(seed, step_s))]
    return [(q.value, q.low95, q.high95) for q, _ in pairs], [true for _, true in pairs]


def hills(one):
    for slope in find_slopes(one.profile):
        start_m, end_m = (one.profile.distance_m[index] for index in (slope.start, slope.end))
        for hill in one.true.hills:
            if hill.direction == slope.direction and max(abs(hill.start_m - start_m), abs(hill.end_m - end_m)) < 60:
                yield slope, math.copysign(hill.height_m, slope.height_m), hill.end_m - hill.start_m


@pytest.mark.parametrize(
    ("name", "ask", "widest"),
    [
        # half-widths: twice the error that the simulated devices have (0.4 √2 m · 1.96 of heights), as their sizes are
        # not known but estimated, and a scale error is allowed for that the simulation does not have
        ("hill height", lambda one: [(hill_height_q(s, one.noise), height) for s, height, _ in hills(one)], 2.2),
        (
            "mean grade",
            lambda one: [(mean_grade_q(s, one.profile, one.noise), 100 * h / length) for s, h, length in hills(one)],
            0.6,
        ),
        ("ascent", lambda one: [(ascent_q(one.profile, one.noise)[0], one.true.ascent_m)], 6.0),
        ("clock offset", lambda one: [(clock_offset_q(one.join), one.offset_s)], 0.15),
        (
            "distance",
            lambda one: [
                (
                    ridden_distance(
                        float(np.ptp(one.track.distance_m)),
                        "positions",
                        lengthened_m=position_lengthening_m(one.track),
                    ).quantity(),
                    one.true.distance_m,
                )
            ],
            50.0,
        ),
    ],
)
@pytest.mark.parametrize("seeds", [SLICE, pytest.param(SEEDS, marks=pytest.mark.proof)], ids=len)
def test_at_least_nine_in_ten_intervals_hold_the_truth(name, ask, widest, seeds):
    """Two logs of each ride, of 8 or of 16, and all their hills; the intervals may not be wide for that."""
    found, true = intervals(ask, seeds)
    assert len(found) >= 2 * len(seeds), name
    share, half_width = coverage_and_width(found, true)
    assert share >= 0.9
    assert half_width <= widest


def test_clocks_of_long_rides_are_held_by_offset_and_drift():
    """Rides of 90 minutes with drifts of up to 100 ppm; in 210 of them 100 % and 94 % were held."""
    offsets, drifts, true_offsets, true_drifts = [], [], [], []
    for seed in range(100, 106):
        ride = true_ride(seed, 5400.0)
        log = controller_log(ride, step_s=0.2)
        for drift_ppm in (-100.0, -60.0, -30.0, 0.0, 30.0, 60.0):
            track = track_log(ride, drift_ppm=drift_ppm, clock_error_s=7.0, seed=1000 * seed + round(drift_ppm) + 200)
            join = join_recordings([log, track]).joins[1]
            offset, drift = clock_offset_q(join), clock_drift_q(join)
            offsets.append((offset.value, offset.low95, offset.high95))
            true_offsets.append(7.0)
            if drift is not None:
                drifts.append((drift.value, drift.low95, drift.high95))
                true_drifts.append(drift_ppm)
    assert len(drifts) >= 30
    assert coverage_and_width(offsets, true_offsets)[0] >= 0.9
    share, half_width = coverage_and_width(drifts, true_drifts)
    assert share >= 0.9
    assert half_width <= 40.0  # a drift less well known than 20 ppm (1 σ) is not believed
