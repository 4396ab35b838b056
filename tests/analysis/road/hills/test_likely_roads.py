"""Roads that may lie under heights: drawn as often as Bayes' rule says, held against densities worked out otherwise."""

import itertools
import math
import weakref
from collections import Counter

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from ridelog.analysis.road.hills.likely_roads import RoadSettings, likely_roads
from ridelog.analysis.road.profile import Profile
from tests.analysis.road.heights import noise_of

WALK_M2PS = 0.4**2 / 300.0  # of `noise_of`


def profile_of(height_m) -> Profile:
    """Heights on a grid of 5 m."""
    place_m = 5.0 * np.arange(len(height_m))
    return Profile(place_m, np.asarray(height_m, dtype=float), 100 * np.gradient(height_m, place_m))


def noise_on(profile, *, mps=5.0, **changes):
    """Heights of that profile, passed at an even speed, whose error wanders as `noise_of` says."""
    place_m = profile.distance_m
    known = {"passed_s": place_m / mps, "distance_m": place_m, "wander_m2ps": 1.0}
    return noise_of(**(known | changes))


def test_a_straight_road_is_as_steep_as_its_rise_and_the_prior_say():
    """One stretch of 400 m: a rise of 16 m ± √(2 w T), and a grade of 0 ± 5 % before it (conjugate normal)."""
    profile = profile_of(0.04 * 5.0 * np.arange(81))
    settings = RoadSettings(stretch_m=1e9, level_ratio=1e-12, least_u_m=0.0, n_roads=3000)
    rises_m = [road.height_m[-1] - road.height_m[0] for road in likely_roads(profile, noise_on(profile), settings)]
    variance_m2, prior_m2 = 2 * WALK_M2PS * 80.0, (0.05 * 400) ** 2
    u_m = math.sqrt(1 / (1 / variance_m2 + 1 / prior_m2))
    # four standard errors of a mean and of a standard deviation of 3000
    assert np.mean(rises_m) == pytest.approx(16.0 * prior_m2 / (prior_m2 + variance_m2), abs=4 * u_m / math.sqrt(3000))
    assert np.std(rises_m) == pytest.approx(u_m, rel=4 / math.sqrt(2 * 3000))


def cuts_of(n: int, fewest: int) -> list[tuple[int, ...]]:
    """Every way to cut n cells into stretches of at least so many."""
    ways = []
    for k in range(n):
        for inner in itertools.combinations(range(1, n), k):
            points = (0, *inner, n)
            if min(np.diff(points)) >= fewest:
                ways.append(points)
    return ways


def test_roads_are_cut_as_often_as_they_are_likely_to_be():
    """Eight cells: each way to cut them by the density of their rises, a normal one whose covariance is written out."""
    rises_m = np.array([0.1, -0.1, 0.5, 0.7, 0.6, 0.5, 0.1, 0.0])
    profile = profile_of(np.interp(np.arange(25), 3 * np.arange(9), np.concatenate(([0.0], np.cumsum(rises_m)))))
    noise = noise_on(profile, slow_m=2.0)
    settings = RoadSettings(n_roads=4000)
    drawn = Counter(
        tuple(np.round(road.distance_m / 15.0).astype(int)) for road in likely_roads(profile, noise, settings)
    )
    length_m, end_p = 15.0, 15.0 / settings.stretch_m
    variance_m2 = 2 * 2.0**2 / 300.0 * 3.0 + settings.least_u_m**2

    def density(points):
        total = 1.0
        for first, last in itertools.pairwise(points):
            n = last - first
            stretch = sum(
                share
                * multivariate_normal.pdf(
                    rises_m[first:last], cov=np.eye(n) * variance_m2 + (u_pct / 100 * length_m) ** 2 * np.ones((n, n))
                )
                for share, u_pct in ((0.2, settings.level_u_pct), (0.8, settings.steep_u_pct))
            )
            total *= stretch * (1 - end_p) ** (n - 1) * end_p
        return total

    likely = {points: density(points) for points in cuts_of(8, settings.fewest)}
    whole = sum(likely.values())
    assert set(drawn) <= set(likely)
    for points, part in likely.items():
        p = part / whole
        assert drawn[points] / 4000 == pytest.approx(p, abs=4 * math.sqrt(p * (1 - p) / 4000) + 1e-3)


def test_what_the_height_did_while_the_bike_stood_is_hardly_a_climb():
    """2 m over 15 m of road, ridden in 3 s or with a stop of five minutes in it, by an error of 1 m over 300 s."""
    profile = profile_of(np.interp(5.0 * np.arange(111), [255, 270], [0.0, 2.0]))
    ridden_s = profile.distance_m / 5
    stood_s = ridden_s + 300.0 * (profile.distance_m > 262)

    def climbed_m(passed_s):
        roads = likely_roads(profile, noise_on(profile, passed_s=passed_s, slow_m=1.0))
        return float(np.mean([np.diff(np.interp([220, 310], road.distance_m, road.height_m)) for road in roads]))

    assert climbed_m(ridden_s) > 1.4
    assert climbed_m(stood_s) < 0.6


def test_the_same_heights_give_the_same_roads():
    profile = profile_of(np.sin(np.arange(200) / 20))
    one, other = (likely_roads(profile, noise_on(profile)) for _ in range(2))
    assert all(np.array_equal(a.height_m, b.height_m) for a, b in zip(one, other, strict=True))


def test_a_road_is_held_no_longer_than_it_is_looked_at():
    """Sixty of them, of a log of 3200 gaps, took 31 MB together."""
    profile = profile_of(np.sin(np.arange(200) / 20))
    roads = likely_roads(profile, noise_on(profile))
    first = weakref.ref(next(roads))
    assert len(list(roads)) == RoadSettings().n_roads - 1
    assert first() is None


@pytest.mark.parametrize("n_points", [3, 4, 7, 11])
def test_the_shortest_profile_has_roads(n_points):
    profile = profile_of(np.linspace(0.0, 1.0, n_points))
    for road in likely_roads(profile, noise_on(profile), RoadSettings(n_roads=3)):
        assert (road.points[0], road.points[-1]) == (0, n_points - 1)
        assert np.isfinite(road.height_m).all()


def test_what_is_kept_from_road_to_road_changes_no_road(monkeypatch):
    """A long way keeps a part of it only, which is asked for anew each time."""
    profile = profile_of(np.sin(np.arange(300) / 20))
    kept = list(likely_roads(profile, noise_on(profile)))
    monkeypatch.setattr("ridelog.analysis.road.hills.likely_roads.MOST_KEPT", 0)
    for one, other in zip(kept, likely_roads(profile, noise_on(profile)), strict=True):
        assert np.array_equal(one.height_m, other.height_m)
        assert np.array_equal(one.points, other.points)
