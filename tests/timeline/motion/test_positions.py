"""Speed and distance from positions, against closed forms."""

import numpy as np
import pytest

from ridelog.timeline.motion.fixes import Fixes
from ridelog.timeline.motion.positions import position_distance_m, position_speed_mps, speed_from_fixes_mps
from tests.timeline.motion.degrees import EAST_M, NORTH_M


def test_the_way_between_two_fixes_is_the_published_geodesic() -> None:
    """C. F. F. Karney's example JFK - LHR, printed to 1 µm: 5551759.400319 m, at a pace of 28 m/s."""
    fixes = Fixes(np.array([0.0, 2e5]), np.array([40.6, 51.6]), np.array([-73.8, -0.5]))
    assert position_distance_m(fixes)[-1] == pytest.approx(5551759.400319, abs=1e-5)


def test_two_fixes_have_no_speed_without_delay() -> None:
    assert np.isnan(position_speed_mps(Fixes(np.arange(2.0), np.zeros(2), np.zeros(2)), np.ones(1, dtype=bool))).all()


@pytest.mark.parametrize("steps_s", [[1.0] * 40, [1.0, 2.0, 0.5, 1.5] * 10], ids=["even steps", "uneven steps"])
def test_speed_of_even_acceleration_has_no_delay(steps_s: list[float]) -> None:
    """x = a t²/2 northwards from the equator gives v = a t; 1e-3 covers the curvature over 400 m."""
    time_s = np.concatenate(([0.0], np.cumsum(steps_s)))
    latitude_deg = 0.25 * time_s**2 / NORTH_M
    bridged_mask = np.ones(len(time_s) - 1, dtype=bool)
    speed_mps = position_speed_mps(Fixes(time_s, latitude_deg, np.zeros_like(time_s)), bridged_mask)
    assert np.isnan(speed_mps[[0, -1]]).all()
    assert speed_mps[1:-1] == pytest.approx(0.5 * time_s[1:-1], abs=1e-3)


def test_no_speed_reaches_across_a_gap() -> None:
    time_s = np.array([0.0, 1.0, 2.0, 60.0, 61.0, 62.0])
    bridged_mask = np.array([True, True, False, True, True])
    speed_mps = position_speed_mps(Fixes(time_s, time_s / NORTH_M, np.zeros(6)), bridged_mask)
    assert np.flatnonzero(np.isfinite(speed_mps)).tolist() == [1, 4]
    both = position_speed_mps(Fixes(time_s, time_s / NORTH_M, np.zeros(6)), bridged_mask, one_sided=True)
    assert both == pytest.approx(np.ones(6), abs=1e-6)


def test_speed_across_the_date_line_is_that_of_the_short_way() -> None:
    """5 m/s eastwards along the equator across 180 degrees."""
    time_s = np.arange(20.0)
    longitude_deg = (179.9995 + 5 * time_s / EAST_M + 180) % 360 - 180
    speed_mps = position_speed_mps(Fixes(time_s, np.zeros(20), longitude_deg), np.ones(19, dtype=bool))
    assert speed_mps[1:-1] == pytest.approx(5.0, abs=1e-4)


def test_repeated_fixes_do_not_make_the_speed_jump() -> None:
    """A 5 Hz log with 1 Hz fixes at a steady 6 m/s reads 6 m/s, not 0 and 30."""
    time_s = np.arange(0, 60, 0.2)
    latitude_deg = 6.0 * np.floor(time_s + 1e-9) / NORTH_M
    speed_mps = speed_from_fixes_mps(
        Fixes(time_s, latitude_deg, np.zeros_like(time_s)), np.zeros(len(time_s) - 1, dtype=bool)
    )
    assert np.nanmin(speed_mps) == pytest.approx(6.0, abs=1e-3)
    assert np.nanmax(speed_mps) == pytest.approx(6.0, abs=1e-3)
    assert np.isfinite(speed_mps).mean() > 0.9


def test_standing_jitter_is_not_distance() -> None:
    """500 m northwards, ten minutes of wandering fixes (2 m), 500 m on: 1000 m, and a few metres of fixes' scatter."""
    rng = np.random.default_rng(5)
    north_m = np.concatenate((np.arange(0, 500, 5.0), np.full(600, 500.0), np.arange(500, 1001, 5.0)))
    jitter_m = np.zeros(len(north_m))
    for k in range(101, 700):
        jitter_m[k] = 0.98 * jitter_m[k - 1] + rng.normal(0, 0.3)
    latitude_deg = (north_m + jitter_m) / NORTH_M
    naive_m = np.abs(np.diff(north_m + jitter_m)).sum()
    assert naive_m > 1120  # the check can fail: summing every step counts the wandering
    distance_m = position_distance_m(Fixes(np.arange(len(north_m)) * 1.0, latitude_deg, np.zeros(len(north_m))))
    assert distance_m[-1] == pytest.approx(1000.0, abs=12.0)
    assert (np.diff(distance_m) >= 0).all()


def test_a_gap_counts_with_the_straight_way_across_it() -> None:
    time_s = np.array([0.0, 1.0, 2.0, 62.0, 63.0])
    distance_m = position_distance_m(Fixes(time_s, 5 * time_s / NORTH_M, np.zeros(5)))
    assert distance_m == pytest.approx(5 * time_s, abs=0.01)


def test_an_unknown_position_has_no_distance_but_takes_none_away() -> None:
    time_s = np.arange(5.0)
    latitude_deg = np.where(time_s == 2, np.nan, 5 * time_s / NORTH_M)
    distance_m = position_distance_m(Fixes(time_s, latitude_deg, np.zeros(5)))
    assert np.isnan(distance_m[2])
    assert distance_m[-1] == pytest.approx(20.0, abs=0.01)
