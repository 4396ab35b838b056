"""Positions on a plane against published geodesics, and the way that the bike goes."""

import math
import sys
import tracemalloc

import numpy as np
import pandas as pd
import pytest
from pyproj import Proj

from ridelog.analysis.road import plane
from ridelog.analysis.road.plane import heading_rad, passes_of_one_road, plane_of


@pytest.mark.parametrize(
    ("start", "end", "distance_m", "azimuth_deg"),
    [
        # Flinders Peak to Buninyong, GRS 80 (Geoscience Australia, Geocentric Datum of Australia technical manual)
        ((-37.951033416667, 144.424867888889), (-37.652821138889, 143.926495527778), 54_972.271, 306.868158),
        # JFK to LHR, WGS 84 (Karney, "Algorithms for geodesics", J. Geodesy 87 (2013) 43, as computed by GeographicLib)
        ((40.6, -73.8), (51.6, -0.5), 5_551_759.400319, 51.198882845579),
    ],
)
def test_distance_and_direction_from_the_first_position_are_those_of_the_geodesic(start, end, distance_m, azimuth_deg):
    """An azimuthal equidistant map keeps both from its centre; 1 mm and 1e-6°, to the digits published."""
    series = pd.DataFrame({"latitude_deg": [start[0], end[0]], "longitude_deg": [start[1], end[1]]})
    plane = plane_of(series)
    assert math.hypot(plane.east_m[1], plane.north_m[1]) == pytest.approx(
        distance_m, abs=1e-3 * max(1, distance_m / 1e6)
    )
    azimuth = math.degrees(math.atan2(plane.east_m[1], plane.north_m[1])) % 360
    assert azimuth == pytest.approx(azimuth_deg, abs=2e-6)


def test_positions_of_a_fast_log_lie_where_the_projection_puts_them():
    """Against pyproj, position by position: by day, in leaps, and across the date line; a tenth of a millimetre."""
    time_s = np.arange(0.0, 100.0, 0.01)
    latitude = 69.6 + 3e-5 * time_s + 1e-4 * np.sin(time_s)
    longitude = 179.999 + 6e-5 * time_s + np.where(time_s > 60, 0.01, 0.0)
    longitude = (longitude + 180) % 360 - 180
    plane = plane_of(pd.DataFrame({"latitude_deg": latitude, "longitude_deg": longitude}))
    expected = Proj(proj="aeqd", lat_0=latitude[0], lon_0=longitude[0], ellps="WGS84")(longitude, latitude)
    assert np.ptp(plane.east_m) > 500
    np.testing.assert_allclose((plane.east_m, plane.north_m), expected, atol=1e-4)


def test_a_series_without_positions_has_no_plane():
    assert plane_of(pd.DataFrame({"speed_mps": [1.0]})) is None
    assert plane_of(pd.DataFrame({"latitude_deg": [np.nan], "longitude_deg": [np.nan]})) is None


def test_headings_are_those_of_the_way():
    """North, then east; standing keeps the last way."""
    north = np.concatenate([np.arange(0, 100, 5.0), np.full(20, 95.0), np.full(10, 95.0)])
    east = np.concatenate([np.zeros(20), np.arange(5, 105, 5.0), np.full(10, 100.0)])
    found = heading_rad(east, north)
    assert found[5] == pytest.approx(0.0)
    assert found[30] == pytest.approx(math.pi / 2)
    assert found[-1] == pytest.approx(math.pi / 2)


def test_a_bike_that_never_moves_has_a_heading_all_the_same():
    assert (heading_rad(np.zeros(5), np.zeros(5)) == 0).all()
    assert (heading_rad(np.full(5, np.nan), np.full(5, np.nan)) == 0).all()


def places(n, *, standing):
    """Places every 20 m of a road, or of a bike whose positions stay while its distance grows."""
    along = 20.0 * np.arange(n)
    east = np.zeros(n) if standing else np.abs((along + 1000) % 2000 - 1000)  # 1 km out and back, over and over
    return np.column_stack([east, np.zeros(n)]), along


def test_a_road_ridden_twice_gives_its_pairs():
    """Out and back once: each place but those near the turn has its second pass, 2 km less twice its distance later."""
    place_m, along_m = places(100, standing=False)
    here, there, beyond_m = passes_of_one_road(place_m, along_m, near_m=5.0, apart_m=100.0)
    assert (place_m[here] == place_m[there]).all()
    assert (along_m[here] + along_m[there] == 2000.0).all()
    assert (beyond_m == 0).all()
    assert len(here) == 47


def test_a_road_ridden_once_gives_none():
    """A straight road of 50 places 20 m apart: neighbours that are near are no second pass."""
    place_m, along_m = places(50, standing=False)
    assert [len(part) for part in passes_of_one_road(place_m, along_m, near_m=25.0, apart_m=100.0)] == [0, 0, 0]


def test_few_places_give_the_pairs_of_scipys_tree_without_loading_it(monkeypatch):
    """500 places at random on 300 m squared, passed in the order of a ride."""
    place_m, along_m = np.random.default_rng(3).uniform(0, 300, (500, 2)), 20.0 * np.arange(500)
    monkeypatch.setattr(plane, "MOST_TRIED", 499)
    by_tree = passes_of_one_road(place_m, along_m, near_m=25.0, apart_m=100.0)
    monkeypatch.setattr(plane, "MOST_TRIED", 500)
    monkeypatch.setitem(sys.modules, "scipy.spatial", None)
    by_trying = passes_of_one_road(place_m, along_m, near_m=25.0, apart_m=100.0)
    assert len(by_tree[0]) > 500
    assert all((one == other).all() for one, other in zip(by_tree, by_trying, strict=True))
    with pytest.raises(ImportError):
        passes_of_one_road(*places(1500, standing=False), near_m=5.0, apart_m=100.0)


@pytest.mark.parametrize("standing", [True, False])
def test_places_that_are_all_near_each_other_take_bounded_memory(standing):
    """4000 places, all near each other or passed 40 times: 8 million and 78,000 pairs, of which a few thousand stay."""
    place_m, along_m = places(4000, standing=standing)
    tracemalloc.start()
    here = passes_of_one_road(place_m, along_m, near_m=5.0, apart_m=100.0, most_pairs=5_000)[0]
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(here) <= 10_000
    assert standing or len(here) > 0
    assert peak_bytes < 3_000_000


@pytest.mark.parametrize("noise_m", [0.0, 0.3, 20.0])
def test_positions_apart_are_those_of_trying_each_one(noise_m):
    """Against the definition, one position after the other: a ride that also stands, with noise and without."""
    rng = np.random.default_rng(8)
    speed_mps = np.repeat(rng.uniform(0, 12, 40) * (rng.random(40) > 0.3), 500)
    bend = np.cumsum(rng.normal(0, 0.01, len(speed_mps)))
    steps_m = speed_mps * [np.cos(bend), np.sin(bend)] / 100
    east_m, north_m = np.cumsum(steps_m, axis=1) + rng.normal(0, noise_m, (2, 20_000))
    kept = [0]
    for k in range(1, 20_000):
        if np.hypot(east_m[k] - east_m[kept[-1]], north_m[k] - north_m[kept[-1]]) >= 10.0:
            kept.append(k)
    assert plane._apart(east_m, north_m, 10.0) == kept


def test_positions_that_are_not_apart_are_passed_over_together(monkeypatch):
    """A ride of 100,000 samples over 1 km has 100 legs; each of its positions was looked at by itself."""
    looked = []
    once = np.hypot
    monkeypatch.setattr(plane.np, "hypot", lambda *sides: looked.append(1) or once(*sides))
    assert len(plane._apart(np.linspace(0, 1000, 100_000), np.zeros(100_000), 10.0)) == 100
    assert len(looked) < 250
