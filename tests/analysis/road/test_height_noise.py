"""What is wrong with the heights of a ride: closed forms, and roads whose error is made here."""

import math

import numpy as np
import pytest

from ridelog.analysis.road.height_noise import Track, height_noise, walked, wander_beside_bends
from ridelog.analysis.road.height_noise import wander as wander_by_bends
from ridelog.analysis.road.profile import height_profile
from tests.analysis.road.heights import noise_of, road_ridden, wander


def test_a_drop_over_a_long_time_errs_by_root_two_of_the_slow_error_and_over_a_short_one_by_little():
    """Closed form: σ √(2 (1 − e^(−T/τ))): for T >> τ σ √2, for T << τ σ √(2T/τ)."""
    noise = noise_of()
    assert noise.slow_u_m(1e6) == pytest.approx(0.4 * math.sqrt(2), rel=1e-6)
    assert noise.slow_u_m(3.0) == pytest.approx(0.4 * math.sqrt(2 * 3 / 300), rel=0.01)


@pytest.mark.parametrize("sigma_m", [0.2, 0.5, 1.5, 4.0])
def test_stops_show_how_large_the_slow_error_is(sigma_m):
    """Forty stops know a standard deviation to about 1/√80 = 11 % (normal theory); 35 % is three times that.

    The default of 0.7 m counts as three looks more: expected is √((3·0.7² + 40 σ²)/43).
    """
    track = road_ridden(np.random.default_rng(1), sigma_m)
    profile = height_profile(track.distance_m, track.altitude_m)
    noise = height_noise(profile, track, kind="barometric")
    assert noise.n_looks == 40
    assert noise.slow_m == pytest.approx(math.sqrt((3 * 0.7**2 + 40 * sigma_m**2) / 43), rel=0.35)
    assert noise.dof > 15


def test_without_a_stop_or_a_second_pass_the_default_of_the_kind_stands():
    """Its weight is three degrees of freedom; 2/ν is the variance of ln s² to first order only, hence 2 to 3.

    A straight road of 2 %: one that bends up and down may as well be a height that wanders.
    """
    time_s = np.arange(300.0)
    distance = 6 * time_s
    altitude = np.round((0.02 * distance + wander(np.random.default_rng(1), 300, 1.0, 0.5, 300.0)) / 0.02) * 0.02
    track = Track(time_s, distance, altitude, np.full(300, 6.0))
    noise = height_noise(height_profile(track.distance_m, track.altitude_m), track, kind="barometric")
    assert noise.n_looks == 0
    assert noise.slow_m == pytest.approx(0.7, rel=0.1)
    assert 2.0 < noise.dof < 3.0


def test_a_second_pass_of_the_same_road_shows_the_error():
    """A road ridden there and back five times with an error of 3 m between passes; none of it stands still."""
    rng = np.random.default_rng(4)
    lap = np.concatenate([np.arange(0.0, 1500.0, 6.0), np.arange(1500.0, 0.0, -6.0)])
    east = np.tile(lap, 5)
    time_s = np.arange(len(east), dtype=float)
    distance = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(east)))))
    altitude = 30 + 10 * np.sin(east / 300) + wander(rng, len(east), 1.0, 3.0, 300.0)
    track = Track(time_s, distance, altitude, np.full(len(east), 6.0), east, np.zeros_like(east))
    noise = height_noise(height_profile(distance, altitude), track, kind="barometric")
    assert noise.n_looks >= 5
    assert 1.5 < noise.slow_m < 6.0  # the default, 0.7 m, is left; a factor of 2 for a handful of looks


def test_a_rough_height_is_taken_for_a_satellites():
    """White noise of 1.2 m on each sample is no barometer's last digit."""
    track = road_ridden(np.random.default_rng(2), 0.3)
    rough = track.altitude_m + np.random.default_rng(3).normal(0, 1.2, len(track.time_s))
    rough = Track(track.time_s, track.distance_m, rough, track.speed_mps)
    assert height_noise(height_profile(rough.distance_m, rough.altitude_m), rough).kind == "satellite"
    assert height_noise(height_profile(track.distance_m, track.altitude_m), track).kind == "barometric"


def test_a_walk_that_a_kernel_has_smoothed_has_its_closed_form():
    """Against a million steps of 1 m, smoothed by a kernel of 12 m: to 2 % at 60 m (some 17,000 lengths apart)."""
    from scipy.ndimage import gaussian_filter1d

    path = gaussian_filter1d(np.cumsum(np.random.default_rng(5).standard_normal(1_000_000)), 12.0)
    for length_m in (24, 60, 200):
        differences = path[length_m:] - path[:-length_m]
        assert walked(np.array([float(length_m)]), 12.0)[0] == pytest.approx(np.mean(differences**2), rel=0.05)
    assert walked(np.array([1e6]), 12.0)[0] == pytest.approx(1e6, rel=1e-4)  # far apart nothing is smoothed away


def test_differences_are_unsure_by_what_both_errors_do_to_them():
    """By hand, far apart in time and way: 2 √(2 · 0.4² + 2 · 0.1²) = 1.166 m; to itself nothing."""
    noise = noise_of(memory_s=1.0, fast_m=0.1)
    found = noise.unsure_m(0, np.array([0, 400]))
    assert found[0] == 0.0
    assert found[1] == pytest.approx(2 * math.sqrt(2 * 0.4**2 + 2 * 0.1**2), rel=0.01)


@pytest.mark.parametrize("per_m", [0.001, 0.01])
def test_what_wanders_is_told_from_a_road_that_bends_everywhere(per_m):
    """10 m · sin(x/200 m) bends by up to 0.25 ‰ a metre: second differences of 0.16 m over 25 m, 0.6 m over 50 m.

    20 km, 400 bends of 50 m that stand alone, know a variance to some 10 %; taking the longer lengths' from eight times
    the shorter ones' doubles that, and the bends of the road are not quite even. A small walk is thus far below what
    bends over 50 m alone make of it.
    """
    along = np.arange(0.0, 20_000.1, 5.0)
    walk = np.cumsum(np.random.default_rng(6).normal(0, math.sqrt(per_m * 5.0), len(along)))
    profile = height_profile(along, 10 * np.sin(along / 200) + walk)
    noise = noise_of(passed_s=profile.distance_m / 5, distance_m=profile.distance_m)
    found = wander_beside_bends(profile, noise)
    assert found == pytest.approx(per_m * 5 / 2, rel=0.5)
    assert wander_by_bends(profile, noise.passed_s, 0.0) > 2 * found or per_m > 0.005


def test_a_short_profile_does_not_show_its_wander():
    profile = height_profile(np.arange(0.0, 400.1, 5.0), np.zeros(81))
    assert wander_beside_bends(profile, noise_of(passed_s=profile.distance_m / 5)) == math.inf
