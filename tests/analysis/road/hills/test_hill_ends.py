"""Where hills begin and end under heights that wander: roads with a known foot and top, and an error of known size."""

import math
from functools import cache

import numpy as np
import pytest

from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.height_uncertainty import hill_height_q
from ridelog.analysis.road.hills.slopes import find_slopes
from ridelog.analysis.road.profile import height_profile

FOOT_M, TOP_M, RISE_M, SPEED_MPS = 600.0, 1000.0, 20.0, 5.0
ALONG_M = np.arange(0.0, 1600.1, SPEED_MPS)  # a sample a second
MEMORY_S = 300.0


def wander(rng, sigma_m):
    """A first-order autoregressive error; closed form of its recursion."""
    keep = math.exp(-1 / MEMORY_S)
    result = np.empty(len(ALONG_M))
    result[0] = rng.standard_normal()
    for k, push in enumerate(rng.standard_normal(len(ALONG_M) - 1), start=1):
        result[k] = keep * result[k - 1] + math.sqrt(1 - keep**2) * push
    return sigma_m * result


@cache
def found(sigma_m, digit_m=0.0, n_roads=60):
    """The hill of each road, level but for 5 % from foot to top, as found, with its profile and its noise."""
    roads = []
    for seed in range(n_roads):
        height = np.interp(ALONG_M, [FOOT_M, TOP_M], [10.0, 10.0 + RISE_M])
        height = height + wander(np.random.default_rng([seed, 7]), sigma_m) + 0.01 * seed
        if digit_m:
            height = np.round(height / digit_m) * digit_m
        profile = height_profile(ALONG_M, height)
        noise = HeightNoise(
            "barometric", sigma_m, math.inf, MEMORY_S, 0.0, 0.0, profile.distance_m / SPEED_MPS, profile.distance_m,
            np.zeros_like(profile.distance_m), digit_m=digit_m, wander_m2ps=sigma_m**2 / MEMORY_S,
        )  # fmt: skip
        slopes = find_slopes(profile, noise)
        (hill,) = (slope for slope in slopes if slope.direction == "up" and slope.height_m > 10)
        roads.append((hill, profile, noise))
    return roads


@pytest.mark.parametrize("sigma_m", [0.4, 1.0, 1.5])
def test_a_hill_is_not_found_too_tall_among_the_errors_of_its_height(sigma_m):
    """What is left on average is less than three standard errors: σ √(2(1 − e^(−80/300))) over √60 of them.

    A lowest and a highest place sought over 100 m on either side would find some 2 σ² · 100 m of the level road's
    wandering: with σ = 1.5 m about half a metre too much.
    """
    errors_m = [hill.height_m - RISE_M for hill, _, _ in found(sigma_m)]
    u_m = sigma_m * math.sqrt(2 * -math.expm1(-(TOP_M - FOOT_M) / SPEED_MPS / MEMORY_S))
    assert (
        abs(np.mean(errors_m)) <= 3 * u_m / math.sqrt(len(errors_m)) + 0.07
    )  # two ends that smoothing rounds by 0.03 m each


@pytest.mark.parametrize(("sigma_m", "digit_m"), [(0.4, 0.2), (0.4, 1.0), (1.0, 0.2), (1.5, 1.0)])
def test_nineteen_in_twenty_hills_hold_their_true_height(sigma_m, digit_m):
    """Binomial: of 60 at 95 %, fewer than 53 come once in 50 studies."""
    quantities = [hill_height_q(hill, noise) for hill, _, noise in found(sigma_m, digit_m)]
    assert sum(q.low95 <= RISE_M <= q.high95 for q in quantities) >= 53


@pytest.mark.parametrize("sigma_m", [0.4, 1.0, 1.5])
def test_foot_and_top_are_as_far_off_as_their_uncertainty_says(sigma_m):
    """Within 2 u, the grid of 5 m and the smoothing's edge (5 m) included, in at least 90 % of the cases."""
    off_m = []
    for hill, profile, _ in found(sigma_m):
        for index, true_m, u_m in ((hill.start, FOOT_M, hill.start_u_m), (hill.end, TOP_M, hill.end_u_m)):
            off_m.append(abs(profile.distance_m[index] - true_m) / math.hypot(u_m, 5.0))
    assert np.mean(np.array(off_m) <= 2) >= 0.9


def test_a_larger_error_leaves_foot_and_top_less_sure():
    medians = [np.median([hill.start_u_m for hill, _, _ in found(sigma_m)]) for sigma_m in (0.4, 1.0, 1.5)]
    assert medians == sorted(medians)
    assert medians[0] < 5 < medians[2] < 40


def test_level_road_that_only_noise_lifts_is_no_part_of_a_hill():
    """With 1.5 m of error, the hill of one road in ten was found longer than it is by more than 60 m without this."""
    too_long = [profile.distance_m[hill.end] - profile.distance_m[hill.start] for hill, profile, _ in found(1.5)]
    assert np.mean(np.array(too_long) > TOP_M - FOOT_M + 60) <= 0.05


def test_a_gentle_beginning_that_no_noise_explains_stays_part_of_the_hill():
    """300 m at 3 %, then 300 m at 9 %: 6 m beyond half the least grade, with an error of 0.4 m."""
    distance = np.arange(0.0, 1600.1, 5.0)
    profile = height_profile(distance, np.interp(distance, [500, 800, 1100], [10, 19, 46]))
    noise = HeightNoise(
        "barometric", 0.4, math.inf, MEMORY_S, 0.0, 0.0, profile.distance_m / 5, profile.distance_m,
        np.zeros_like(profile.distance_m), wander_m2ps=0.4**2 / MEMORY_S,
    )  # fmt: skip
    (slope,) = find_slopes(profile, noise)
    assert profile.distance_m[slope.start] == pytest.approx(500, abs=35)
    assert slope.height_m == pytest.approx(36, abs=1.0)
