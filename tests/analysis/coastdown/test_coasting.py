"""Where a ride coasted."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.coastdown.coasting import (
    CoastingSettings,
    CoastingSignals,
    coasting_mask,
    coasting_runs,
    idle_current,
)

N = 200
TIME_S = np.arange(N, dtype=float)


def riding(**changes):
    """20 s standing, 20 s driving with 8 A up to 8 m/s, 40 s coasting down to 4 m/s, and on with 5 A at 4 m/s."""
    speed = np.interp(TIME_S, [0, 20, 40, 80, 199], [0, 0, 8, 4, 4])
    current = np.select([TIME_S < 20, TIME_S < 40, TIME_S < 80], [0.06, 8.0, 0.06], 5.0)
    plain = CoastingSignals(TIME_S, speed, np.zeros(N), current_a=current)
    return replace(plain, **changes)


def runs_of(ride, **settings):
    return coasting_runs(ride, np.zeros(N - 1, dtype=bool), settings=CoastingSettings(**settings))


def test_a_roll_out_between_driving_and_driving_is_found_without_its_edges():
    """Coasting lasts from 40 to 79 s; a second at either end is left out, and what the slope's window blurs."""
    [(first, last)] = runs_of(riding())
    assert 41 <= TIME_S[first] <= 43
    assert 76 <= TIME_S[last] <= 78


@pytest.mark.parametrize(
    ("channel", "value"),
    [("cadence_rpm", 60.0), ("rider_power_w", 80.0), ("brake_ratio", 1.0), ("throttle_ratio", 0.4)],
)
def test_what_pedals_brakes_or_drives_is_no_coasting(channel, value):
    """A signal from 60 s on ends the stretch there."""
    signal = np.where(TIME_S >= 60, value, 0.0)
    [(_, last)] = runs_of(riding(**{channel: signal}))
    assert TIME_S[last] == 58.0  # the last sample without it is 59 s, less the edge of 1 s


def test_a_signal_that_is_not_known_bars_nothing():
    """NaN in the cadence is no pedalling."""
    assert len(runs_of(riding(cadence_rpm=np.full(N, np.nan)))) == 1


def test_a_current_cut_off_at_zero_still_shows_a_motor_that_drives():
    """Slowing from 8 to 4 m/s with 3 A in the second half, as up a hill that no height shows: no roll-out."""
    current = np.where((TIME_S >= 60) & (TIME_S < 80), 3.0, riding().current_a)
    cut = riding(current_a=current, shows_braking=False)
    assert runs_of(replace(cut, current_a=None, shows_braking=True)) != []
    assert all(TIME_S[last] < 60 for _, last in runs_of(cut, falls_to_ratio=0.9))
    assert runs_of(riding(shows_braking=False)) != []
    assert not cut.motor_seen


def test_a_motor_that_pushes_a_little_is_seen():
    """0.3 A more than at rest are 14 W, 2 N at 6 m/s: not coasting."""
    pushed = riding().current_a + np.where(TIME_S >= 20, 0.3, 0.0)
    assert runs_of(riding(current_a=pushed)) == []


def test_a_motor_that_pushes_less_than_single_readings_show_is_seen_in_the_mean():
    """0.1 A more than at rest, below the 0.15 A of single readings, above the 0.06 A of a mean."""
    pushed = riding().current_a + np.where(TIME_S >= 20, 0.1, 0.0)
    assert coasting_mask(riding(current_a=pushed))[50]
    assert runs_of(riding(current_a=pushed)) == []


def test_the_current_at_rest_is_what_is_read_while_standing():
    """A zero error of 0.2 A moves the reading at rest and while coasting alike."""
    shifted = riding(current_a=riding().current_a + 0.2)
    assert idle_current(shifted)[0] == pytest.approx(0.26)
    assert len(runs_of(shifted)) == 1


def test_without_a_stop_the_standby_draw_is_the_current_at_rest():
    """Nothing is known from standing where the ride has no stop."""
    rolling = riding(speed_mps=np.maximum(riding().speed_mps, 3.0), standby_a=0.09)
    assert idle_current(rolling)[0] == 0.09


def test_braking_ends_a_stretch():
    """1.2 m/s² is more than air and rolling take; the brake is on from 60 s."""
    speed = riding().speed_mps.copy()
    speed[60:] = np.maximum(speed[60] - 1.2 * (TIME_S[60:] - 60), 0)
    [(_, last)] = runs_of(riding(speed_mps=speed))
    assert TIME_S[last] <= 59


def test_walking_pace_and_gaps_end_a_stretch():
    """A gap at 60 s parts the stretch in two; below 1.4 m/s nothing counts."""
    gaps = np.zeros(N - 1, dtype=bool)
    gaps[60] = True
    assert len(coasting_runs(riding(), gaps)) == 2
    assert runs_of(riding(speed_mps=riding().speed_mps / 8)) == []


def test_without_current_only_a_roll_out_counts():
    """From 8 to 4 m/s is one; the even 4 m/s after it, which may be ridden with the motor, is none."""
    [(first, last)] = runs_of(riding(current_a=None))
    assert TIME_S[first] >= 40
    assert TIME_S[last] <= 82  # the end may be a sample or two late


def test_a_steady_speed_without_current_is_no_coasting():
    """Nothing shows that a motor did not hold it."""
    assert runs_of(CoastingSignals(TIME_S, np.full(N, 6.0), np.zeros(N))) == []


def test_a_long_stretch_is_cut_into_equal_pieces():
    """A descent of 180 s makes pieces of no more than 60 s."""
    nothing = np.zeros(N)
    logged = {"current_a": nothing, "cadence_rpm": nothing, "brake_ratio": nothing}
    steady = CoastingSignals(TIME_S, np.full(N, 8.0), np.full(N, -3.0), **logged)
    runs = runs_of(steady)
    assert len(runs) == 4  # 197 s in pieces of at most 60 s
    assert all(TIME_S[last] - TIME_S[first] <= 60 for first, last in runs)
    assert all(a[1] == b[0] for a, b in itertools.pairwise(runs))


def test_a_steady_speed_counts_only_where_pedals_and_brakes_are_logged():
    """8 m/s down 3 %: a rider may hold it with a soft pedal or a dragging brake."""
    nothing = np.zeros(N)
    steady = CoastingSignals(TIME_S, np.full(N, 8.0), np.full(N, -3.0), current_a=nothing)
    assert runs_of(steady) == []
    assert runs_of(replace(steady, cadence_rpm=nothing)) == []
    assert len(runs_of(replace(steady, cadence_rpm=nothing, brake_ratio=nothing))) > 0


def test_a_speed_that_rises_downhill_is_coasting():
    """From 4 to 8 m/s in 40 s down 3 %: 0.1 of the 0.29 m/s² that the grade gives, the rest is drag."""
    speed = np.interp(TIME_S, [0, 40, 41, 199], [4.0, 8.0, 0.0, 0.0])
    falling = CoastingSignals(TIME_S, speed, np.where(TIME_S <= 40, -3.0, 0.0), current_a=np.zeros(N))
    [(first, last)] = runs_of(falling)
    assert TIME_S[last] - TIME_S[first] > 30
