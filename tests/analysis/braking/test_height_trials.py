"""Trials of single heights' errors: by their place in the ride, with the variances of the closed forms."""

import math

import numpy as np
import pytest

from ridelog.analysis.braking import height_trials
from ridelog.analysis.braking.height_trials import QUICK, between_bounds, drop_trials
from ridelog.analysis.road.motion import Motion
from ridelog.uncertain.places import normal_at
from tests.analysis.road.heights import noise_of

N = 4000
CHANCE = 5 * math.sqrt(2 / N)  # five standard deviations of a variance from N trials, of it


def ridden(n=2001, step_s=1.0):
    """A level road at 5 m/s."""
    time_s = step_s * np.arange(n)
    return Motion(time_s, np.full(n, 5.0), np.full(n, 100.0), np.zeros(n))


def drops(runs, **noise):
    """Trials of the drops in a ride whose heights have the errors that are named, and no other."""
    return drop_trials(ridden(), heights(**noise), runs, seed="road", n=N)


def heights(**noise):
    """Heights of that ride with the errors that are named, and no other."""
    motion = ridden()
    along = {"passed_s": motion.time_s, "distance_m": 5 * motion.time_s, "rounding_m": np.zeros(len(motion.time_s))}
    still = {"slow_m": 0.0, "fast_m": 0.0, "scale_ratio": 0.0, "dof": math.inf, "memory_s": 300.0}
    return noise_of(**(along | still | noise))


def smoothed_variance(start_s, end_s, stood=(math.inf, 0.0), *, smoothing_m=12.0):
    """Of the drop between two times by a kernel over the way, for an error of 1 that forgets itself over 300 s.

    By definition: the covariance e^(−|t−t'|/τ) of the errors of all places, weighted by the kernels at both ends; each
    place was passed at 5 m/s, and later by a stand of so many seconds from some place on.
    """
    place_m = np.arange(-100.0, 10_100.0, 1.0)
    passed_s = place_m / 5 + np.where(place_m > stood[0], stood[1], 0.0)
    ends_m = np.interp([start_s, end_s], passed_s, place_m)
    kernels = np.exp(-0.5 * ((place_m - ends_m[:, None]) / smoothing_m) ** 2)
    weight = np.subtract(*(kernels / kernels.sum(axis=1, keepdims=True)))
    held = np.abs(weight) > 1e-9
    alike = np.exp(-np.abs(np.subtract.outer(passed_s[held], passed_s[held])) / 300)
    return float(weight[held] @ alike @ weight[held])


@pytest.mark.parametrize("run", [(10, 1990), (700, 710), (3, 1203), (700, 704)])
def test_the_slow_error_of_a_drop_is_that_of_smoothed_heights(run):
    """σ = 2 m; σ √(2 (1 − e^(−T/τ))) over a long run, less where the kernel's ends lie over each other.

    Eight places stand for the kernel, which moves the variance of short drops by up to a sixth.
    """
    (trials,) = drops([run], slow_m=2.0)
    assert trials.var() == pytest.approx(4 * smoothed_variance(*run), rel=CHANCE + 0.16)
    assert trials.var() < 1.02 * 8 * -math.expm1(-(run[1] - run[0]) / 300) * (1 + CHANCE)


def test_what_the_error_walked_while_the_bike_stood_stays_by_half():
    """From 20 m before a halt of 120 s to the halt: most of that error is of the halt, half of it on either side."""
    motion = ridden()
    time_s = motion.time_s
    rolled_m = 5 * np.where(time_s > 220, time_s - 120, np.minimum(time_s, 100))
    cells_m = np.arange(0.0, rolled_m[-1], 5.0)
    passed_s = cells_m / 5 + np.where(cells_m > 500, 120.0, 0.0)
    still = {"fast_m": 0.0, "scale_ratio": 0.0, "dof": math.inf, "memory_s": 300.0, "slow_m": 2.0}
    noise = noise_of(passed_s=passed_s, distance_m=cells_m, rounding_m=np.zeros(len(cells_m)), **still)
    (trials,) = drop_trials(motion, noise, [(96, 100)], seed="road", n=N)
    expected = 4 * smoothed_variance(96.0, 100.0, stood=(500.0, 120.0))
    assert expected > 2 * 4 * smoothed_variance(96.0, 100.0)
    assert trials.var() == pytest.approx(expected, rel=CHANCE + 0.25)


@pytest.mark.parametrize("length", [1, 3, 10, 400])
def test_the_quick_error_of_a_drop_is_that_of_its_length(length):
    """σ √(2 (1 − e^(−(L/2s)²))) with σ = 0.4 m, s = 12 m and 5 m a sample."""
    (trials,) = drops([(100, 100 + length)], fast_m=0.4, smoothing_m=12.0)
    assert trials.var() == pytest.approx(0.32 * -math.expm1(-((5 * length / 24) ** 2)), rel=CHANCE)


def test_the_slow_errors_of_two_halves_of_a_run_are_that_of_the_run():
    first, second, whole = drops([(200, 350), (350, 900), (200, 900)], slow_m=2.0)
    assert first + second == pytest.approx(whole, abs=1e-6)


def test_a_drop_has_the_same_errors_whatever_else_is_asked_for_later():
    """To the last bit; and in another order those of the same size."""
    motion, runs = ridden(), [(0, 2000), (200, 350), (17, 18), (351, 400)]
    noise = heights(slow_m=2.0, fast_m=0.4, scale_ratio=0.03, dof=6.0)
    (alone,) = drop_trials(motion, noise, runs[1:2], seed="road", n=N)
    assert np.array_equal(drop_trials(motion, noise, runs, seed="road", n=N)[1], alone)
    backwards = drops(runs[::-1], slow_m=2.0, fast_m=0.4, scale_ratio=0.03, dof=6.0)
    assert backwards[2].std() == pytest.approx(alone.std(), rel=0.1)


def test_a_ride_and_the_one_braking_event_in_it_share_no_more_than_their_heights_do():
    """The correlation of the drop over the ride and over 10 s in its middle, from the error's e^(−t/τ): −0.001.

    Both asked for alone, as a ride with one event is. From one stream for both it would be 1.
    """
    (ride,), (event,) = (drops([run], slow_m=2.0, fast_m=0.4) for run in ((0, 2000), (1000, 1010)))
    assert abs(np.corrcoef(ride, event)[0, 1]) < 5 / math.sqrt(N)


def test_runs_that_meet_have_the_draw_of_their_place_in_common():
    one, two = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    drawn = between_bounds("road", [(9, 30), (5, 9)], one, two, part=QUICK, n=N)
    assert np.array_equal(*drawn)
    assert np.array_equal(drawn[0], normal_at("road", 9, QUICK, N))


def test_runs_that_are_asked_for_again_are_not_drawn_again_and_those_of_another_ride_are(monkeypatch):
    """An event was drawn five times for one answer; the trials stay as they were to the last bit."""
    drawn = []
    once = height_trials._drawn

    def counted(motion, noise, runs, common):
        drawn.extend(runs)
        return once(motion, noise, runs, common)

    monkeypatch.setattr(height_trials, "_drawn", counted)
    monkeypatch.setattr(height_trials, "MOST_DROPS", 2)
    noise, motion, runs = heights(slow_m=2.0, fast_m=0.1), ridden(), [(10, 90), (90, 700), (800, 900)]
    first, again = (drop_trials(motion, noise, runs, seed="road", n=N) for _ in range(2))
    np.testing.assert_array_equal(again, first)
    assert drawn == [*runs, runs[2]]  # no more are kept than memory allows
    np.testing.assert_array_equal(
        first[1], drop_trials(motion, heights(slow_m=2.0, fast_m=0.1), runs, seed="road", n=N)[1]
    )
    drop_trials(ridden(step_s=2.0), noise, runs[:1], seed="road", n=N)
    assert drawn[-1] == runs[0]
