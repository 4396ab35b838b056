"""Lengths, speed and distance from positions, against published geodesics and closed forms."""

import numpy as np
import pytest

from ridelog.timeline.motion.positions import (
    fresh_mask,
    geodesic_m,
    position_distance_m,
    position_speed_mps,
    speed_from_fixes_mps,
    stray_mask,
)

# Metres per degree on the WGS 84 ellipsoid at the equator: pi/180 * 6378137 * (1 - e2) northwards (closed form:
# radius of curvature of the meridian), pi/180 * 6378137 eastwards (the equator is a circle).
NORTH_M, EAST_M = 110574.276, 111319.491


def _dms(degrees: float, minutes: float, seconds: float) -> float:
    return degrees + minutes / 60 + seconds / 3600


@pytest.mark.parametrize(
    ("start", "end", "length_m", "tolerance_m"),
    [
        # Geoscience Australia's worked example Flinders Peak - Buninyong, printed to 1 mm
        (
            (-_dms(37, 57, 3.72030), _dms(144, 25, 29.52440)),
            (-_dms(37, 39, 10.15610), _dms(143, 55, 35.38390)),
            54972.271,
            0.001,
        ),
        # C. F. F. Karney's example JFK - LHR, printed to 1 µm
        ((40.6, -73.8), (51.6, -0.5), 5551759.400319, 1e-5),
        # Land's End - John o'Groats, the example of a public geodesy page, printed to 1 mm
        ((50.06632, -5.71475), (58.64402, -3.07009), 969954.166, 0.001),
    ],
    ids=["Flinders Peak to Buninyong", "JFK to LHR", "Land's End to John o'Groats"],
)
def test_published_geodesics_are_met(
    start: tuple[float, float], end: tuple[float, float], length_m: float, tolerance_m: float
) -> None:
    got_m, _ = geodesic_m(*(np.array([value]) for value in (*start, *end)))
    assert got_m[0] == pytest.approx(length_m, abs=tolerance_m)
    along_m = position_distance_m(np.array([0.0, 2e5]), np.array([start[0], end[0]]), np.array([start[1], end[1]]))
    assert along_m[-1] == pytest.approx(length_m, abs=tolerance_m)


def test_the_azimuth_is_the_published_one() -> None:
    """Karney's JFK - LHR: 51.198882845579 degrees at the start."""
    _, azimuth_deg = geodesic_m(np.array([40.6]), np.array([-73.8]), np.array([51.6]), np.array([-0.5]))
    assert azimuth_deg[0] == pytest.approx(51.198882845579, abs=1e-9)


def test_an_unknown_end_has_an_unknown_length() -> None:
    length_m, _ = geodesic_m(np.array([0.0, 0.0]), np.array([0.0, np.nan]), np.array([0.0, 1.0]), np.array([1.0, 1.0]))
    assert length_m[0] == pytest.approx(EAST_M, abs=0.001)
    assert np.isnan(length_m[1])


@pytest.mark.parametrize("steps_s", [[1.0] * 40, [1.0, 2.0, 0.5, 1.5] * 10], ids=["even steps", "uneven steps"])
def test_speed_of_even_acceleration_has_no_delay(steps_s: list[float]) -> None:
    """x = a t²/2 northwards from the equator gives v = a t; 1e-3 covers the curvature over 400 m."""
    time_s = np.concatenate(([0.0], np.cumsum(steps_s)))
    latitude_deg = 0.25 * time_s**2 / NORTH_M
    bridged_mask = np.ones(len(time_s) - 1, dtype=bool)
    speed_mps = position_speed_mps(time_s, latitude_deg, np.zeros_like(time_s), bridged_mask)
    assert np.isnan(speed_mps[[0, -1]]).all()
    assert speed_mps[1:-1] == pytest.approx(0.5 * time_s[1:-1], abs=1e-3)


def test_no_speed_reaches_across_a_gap() -> None:
    time_s = np.array([0.0, 1.0, 2.0, 60.0, 61.0, 62.0])
    bridged_mask = np.array([True, True, False, True, True])
    speed_mps = position_speed_mps(time_s, time_s / NORTH_M, np.zeros(6), bridged_mask)
    assert np.flatnonzero(np.isfinite(speed_mps)).tolist() == [1, 4]
    both = position_speed_mps(time_s, time_s / NORTH_M, np.zeros(6), bridged_mask, one_sided=True)
    assert both == pytest.approx(np.ones(6), abs=1e-6)


def test_speed_across_the_date_line_is_that_of_the_short_way() -> None:
    """5 m/s eastwards along the equator across 180 degrees."""
    time_s = np.arange(20.0)
    longitude_deg = (179.9995 + 5 * time_s / EAST_M + 180) % 360 - 180
    speed_mps = position_speed_mps(time_s, np.zeros(20), longitude_deg, np.ones(19, dtype=bool))
    assert speed_mps[1:-1] == pytest.approx(5.0, abs=1e-4)


def test_repeated_fixes_do_not_make_the_speed_jump() -> None:
    """A 5 Hz log with 1 Hz fixes at a steady 6 m/s reads 6 m/s, not 0 and 30."""
    time_s = np.arange(0, 60, 0.2)
    latitude_deg = 6.0 * np.floor(time_s + 1e-9) / NORTH_M
    speed_mps = speed_from_fixes_mps(time_s, latitude_deg, np.zeros_like(time_s), np.zeros(len(time_s) - 1, dtype=bool))
    assert np.nanmin(speed_mps) == pytest.approx(6.0, abs=1e-3)
    assert np.nanmax(speed_mps) == pytest.approx(6.0, abs=1e-3)
    assert np.isfinite(speed_mps).mean() > 0.9


def test_a_bike_that_stands_keeps_its_fixes() -> None:
    """In a 1 Hz log with a new fix at every sample of the ride, equal fixes at a halt are fixes too."""
    latitude_deg = np.concatenate((np.arange(10.0), np.full(5, 10.0), np.arange(11.0, 20.0)))
    assert fresh_mask(latitude_deg).all()


def test_coarse_readings_are_not_repeated_ones() -> None:
    """A slow wave read to 0.28 m/s changes now and then, in no rhythm."""
    speed_mps = np.round((5 + 2 * np.sin(np.arange(3000) * 0.2 / 7.3)) * 3.6) / 3.6
    assert fresh_mask(speed_mps).all()


def test_readings_repeated_in_a_rhythm_are_new_once_in_each() -> None:
    readings = np.repeat(np.concatenate((np.arange(50.0), np.full(10, 49.0), np.arange(50.0))), 5)
    assert np.flatnonzero(fresh_mask(readings)).tolist() == list(range(0, 550, 5))


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
    distance_m = position_distance_m(np.arange(len(north_m)) * 1.0, latitude_deg, np.zeros(len(north_m)))
    assert distance_m[-1] == pytest.approx(1000.0, abs=12.0)
    assert (np.diff(distance_m) >= 0).all()


def test_a_gap_counts_with_the_straight_way_across_it() -> None:
    time_s = np.array([0.0, 1.0, 2.0, 62.0, 63.0])
    distance_m = position_distance_m(time_s, 5 * time_s / NORTH_M, np.zeros(5))
    assert distance_m == pytest.approx(5 * time_s, abs=0.01)


def test_an_unknown_position_has_no_distance_but_takes_none_away() -> None:
    time_s = np.arange(5.0)
    latitude_deg = np.where(time_s == 2, np.nan, 5 * time_s / NORTH_M)
    distance_m = position_distance_m(time_s, latitude_deg, np.zeros(5))
    assert np.isnan(distance_m[2])
    assert distance_m[-1] == pytest.approx(20.0, abs=0.01)


def test_a_fix_far_off_the_way_is_found_and_a_turn_is_not() -> None:
    time_s = np.arange(40.0)
    north_m = np.where(time_s < 20, 8 * time_s, 8 * (40 - time_s))  # turns on the spot at 20 s
    assert not stray_mask(time_s, north_m / NORTH_M, np.zeros(40)).any()
    north_m[10] += 400
    assert np.flatnonzero(stray_mask(time_s, north_m / NORTH_M, np.zeros(40))).tolist() == [10]
