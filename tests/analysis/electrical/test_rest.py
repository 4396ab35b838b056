"""What a log shows while nothing happens. Expected values by hand, or the closed forms of a normal distribution."""

import math

import numpy as np
import pytest
from scipy.stats import norm

from ridelog.analysis.electrical.rest import (
    Rest,
    false_flow,
    find_rest,
    held_at_zero,
    idle_mask,
    quiet_runs,
    resolution,
    rests_elsewhere,
    standing_mask,
)

STEP_S = 0.2
TIME_S = STEP_S * np.arange(1000)
NO_GAP = np.zeros(999, dtype=bool)


def test_a_stop_is_still_without_its_first_and_last_second():
    """By hand: still from 40 to 60 s; at the ends of the log no second is left out."""
    speed = np.where((TIME_S >= 40) & (TIME_S <= 60), 0.0, 5.0)
    at = TIME_S[standing_mask(TIME_S, speed)]
    assert (at[0], at[-1]) == pytest.approx((41.0, 59.0))
    still = standing_mask(TIME_S, np.where(TIME_S <= 20, 0.0, 5.0))
    assert (TIME_S[still][0], TIME_S[still][-1]) == pytest.approx((0.0, 19.0))


@pytest.mark.parametrize("speed", [0.2, 5.0, np.nan])
def test_a_bike_that_moves_or_of_unknown_speed_does_not_stand(speed):
    assert not standing_mask(TIME_S, np.full(1000, speed)).any()


def test_a_halt_of_a_second_is_no_stop():
    speed = np.where((TIME_S >= 40) & (TIME_S <= 41), 0.0, 5.0)
    assert not standing_mask(TIME_S, speed).any()


def test_a_small_and_steady_current_is_idle():
    current = np.where(TIME_S < 30, 0.1, 6.0)
    assert TIME_S[idle_mask(TIME_S, current)][[0, -1]] == pytest.approx([0.0, 28.8])
    assert not idle_mask(TIME_S, np.where(TIME_S < 9, 0.1, 6.0)).any()  # too short
    assert not idle_mask(TIME_S, np.where(np.arange(1000) % 2, 0.9, -0.9)).any()  # not steady


def test_a_motor_that_helps_slowly_is_not_idle():
    """By hand: 60 s at 0.06 A, and else 0.3 to 0.7 A, which wavers as a road does; noise of 0.02 A, seeded."""
    noise = 0.02 * np.random.default_rng(5).standard_normal(1000)
    assist = 0.5 + 0.2 * np.sin(TIME_S / 11)
    current = np.where((TIME_S >= 70) & (TIME_S < 130), 0.06, assist) + noise
    at = TIME_S[idle_mask(TIME_S, current)]
    assert (at[0], at[-1]) == pytest.approx((71.0, 128.8), abs=2)


def test_steady_help_is_not_idle_where_the_current_rests_elsewhere():
    current = np.where((TIME_S >= 70) & (TIME_S < 85), 0.06, 0.6)
    at = TIME_S[idle_mask(TIME_S, current)]
    assert (at[0], at[-1]) == pytest.approx((71.0, 83.8), abs=0.3)


def test_a_zero_error_below_zero_is_idle_as_one_above_is():
    current = np.where((TIME_S >= 70) & (TIME_S < 85), -0.3, 5.0)
    assert idle_mask(TIME_S, current).sum() == 65


@pytest.mark.parametrize(
    ("still_a", "n_still", "elsewhere"),
    [
        (0.18, 8, True),  # ¼ A above where it seemed to rest
        (0.18, 2, False),  # too short to be heard
        (-0.05, 8, False),  # the same
        (-0.01, 8, False),  # no more than the electronics may change by
        (3.0, 8, False),  # under a load
    ],
)
def test_a_halt_too_short_to_tell_the_rest_contradicts_one_that_reads_otherwise(still_a, n_still, elsewhere):
    """By hand: 20 samples of -0.06 A ± 0.05 A and some of a halt, to which 0.05 A + 3 · 0.02 A are allowed."""
    current = np.concatenate([np.resize([-0.11, -0.01], 20), np.full(n_still, still_a), np.full(10, 6.0)])
    idle, standing = np.zeros((2, len(current)), dtype=bool)
    idle[:20] = standing[20 : 20 + n_still] = True
    assert rests_elsewhere(current, idle, standing) == elsewhere


def test_all_that_is_steady_on_a_bike_that_moves_may_be_a_motor():
    """Above what standby and zero explain it tells nothing of rest."""
    current = np.full(1000, 0.7)
    assert idle_mask(TIME_S, current).all()
    assert not idle_mask(TIME_S, current, explained_a=0.55).any()


@pytest.mark.parametrize(
    ("values", "step"),
    [
        (np.round(np.linspace(-3, 12, 700), 1), 0.1),
        (0.25 * np.arange(-5, 30), 0.25),
        (np.random.default_rng(1).standard_normal(500), 0.0),
        (np.array([1.0, 2.0]), 0.0),
    ],
)
def test_the_grid_of_written_values_is_found(values, step):
    assert resolution(values) == pytest.approx(step)


def test_rest_is_the_mean_and_the_noise_while_the_bike_stands():
    """0.06 A with a noise of 0.1 A: 500 samples tell the mean to 0.0045 A, the noise to 3 %; three of each allowed."""
    standing = TIME_S < 100
    rng = np.random.default_rng(2)
    current = np.where(standing, 0.06, 6.0) + 0.1 * rng.standard_normal(1000)
    found = find_rest(TIME_S, current, standing)
    assert found.mean_a == pytest.approx(0.06, abs=0.0135)
    assert found.noise_a == pytest.approx(0.1, rel=0.1)
    assert found.duration_s == pytest.approx(found.n * STEP_S)
    assert found.resolution_a == 0.0


def test_a_charger_at_a_stop_is_no_rest():
    current = np.where(TIME_S < 100, -3.0, 6.0)
    assert find_rest(TIME_S, current, TIME_S < 100).mean_a is None


def test_a_log_that_never_rests_shows_its_noise_in_its_quietest_parts():
    """A slow swing with a noise of 0.1 A; the quietest tenth of blocks of 25 lies some 20 % below."""
    current = 8 + 4 * np.sin(TIME_S / 20) + 0.1 * np.random.default_rng(3).standard_normal(1000)
    found = find_rest(TIME_S, current, np.zeros(1000, dtype=bool))
    assert found.mean_a is None
    assert 0.06 < found.noise_a < 0.1


def test_a_written_digit_is_noise_as_well():
    """A grid of 0.1 A has a standard deviation of 0.1/√12 at least."""
    current = np.where(TIME_S < 100, 0.1, np.round(6 + np.sin(TIME_S), 1))
    assert find_rest(TIME_S, current, TIME_S < 100).noise_a == pytest.approx(0.1 / math.sqrt(12))


@pytest.mark.parametrize("level", [0.0, 0.1, -0.1, 0.3])
def test_what_noise_feigns_each_way_is_the_closed_form(level):
    """E[max(−(l + n), 0)] − max(−l, 0) by drawing two million errors of 0.2 A: to 1e-3 of 0.08 A."""
    drawn = np.random.default_rng(4).normal(0, 0.2, 2_000_000)
    expected = np.maximum(-(level + drawn), 0).mean() - max(-level, 0)
    assert false_flow(np.array([level]), np.array([0.2]))[0] == pytest.approx(expected, abs=3e-4)


def test_what_noise_feigns_has_the_tail_that_scipy_gives():
    level, noise = np.linspace(-1, 1, 41), np.full(41, 0.1)
    z = np.abs(level) / noise
    expected = noise * norm.pdf(z) - np.abs(level) * norm.sf(z)
    assert false_flow(level, noise) == pytest.approx(expected, rel=1e-9, abs=1e-30)


def test_at_level_nought_noise_feigns_four_tenths_of_itself():
    assert false_flow(np.zeros(1), np.array([0.2]))[0] == pytest.approx(0.39894 * 0.2, rel=1e-4)


def test_quiet_stretches_are_cut_into_pieces_and_never_hold_a_gap():
    """Rest from 0 to 60 s, margins of 0.6 s, pieces of about 2 s; a gap at 30 s parts them."""
    rest = Rest(0.05, 300, 60.0, 0.02, 0.0)
    current = np.where(TIME_S <= 60, 0.05, 6.0)
    runs = quiet_runs(TIME_S, current, rest, NO_GAP)
    lengths = [TIME_S[last] - TIME_S[first] + STEP_S for first, last in runs]
    assert sum(lengths) == pytest.approx(59, abs=0.5)
    assert all(1.5 < length < 2.5 for length in lengths)
    gap = NO_GAP.copy()
    gap[150] = True
    assert all(last <= 150 or first > 150 for first, last in quiet_runs(TIME_S, current, rest, gap))
    assert quiet_runs(TIME_S, np.full(1000, 6.0), rest, NO_GAP) == []


def test_a_reading_that_stays_at_nought_for_seconds_is_held_there():
    """3 s, within the log; a flicker between 0 and the last digit, or a battery off at either end, is another thing."""
    inside = np.where((TIME_S >= 50) & (TIME_S < 53), 0.0, 2.0)
    assert held_at_zero(TIME_S, inside)
    assert not held_at_zero(TIME_S, np.where((TIME_S >= 50) & (TIME_S < 52.5), 0.0, 2.0))
    assert not held_at_zero(TIME_S, np.where((TIME_S < 60) | (TIME_S > 180), 0.0, 2.0))
    flicker = 0.001 * (np.random.default_rng(4).random(1000) < 0.5)
    assert not held_at_zero(TIME_S, flicker)
    assert not held_at_zero(3.0 * np.arange(6), np.array([2.0, 2.0, 0.0, 0.0, 2.0, 2.0]))
    assert held_at_zero(1.0 * np.arange(6), np.array([2.0, 0.0, 0.0, 0.0, 2.0, 2.0]))
