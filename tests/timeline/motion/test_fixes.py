"""Geodesics against published ones, and which rows of a log hold a new reading."""

import numpy as np
import pytest

from ridelog.timeline.motion.fixes import Fixes, fresh_mask, geodesic_m
from tests.timeline.motion.degrees import EAST_M, NORTH_M


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


def test_the_azimuth_is_the_published_one() -> None:
    """Karney's JFK - LHR: 51.198882845579 degrees at the start."""
    _, azimuth_deg = geodesic_m(np.array([40.6]), np.array([-73.8]), np.array([51.6]), np.array([-0.5]))
    assert azimuth_deg[0] == pytest.approx(51.198882845579, abs=1e-9)


def test_an_unknown_end_has_an_unknown_length() -> None:
    length_m, _ = geodesic_m(np.array([0.0, 0.0]), np.array([0.0, np.nan]), np.array([0.0, 1.0]), np.array([1.0, 1.0]))
    assert length_m[0] == pytest.approx(EAST_M, abs=0.001)
    assert np.isnan(length_m[1])


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


def test_fixes_without_a_position_are_left_out_of_the_known_ones() -> None:
    fixes = Fixes(np.arange(4.0), np.array([0.0, np.nan, 0.0, 0.0]), np.array([0.0, 0.0, np.nan, 1e-3]))
    assert fixes.known_at.tolist() == [0, 3]
    assert fixes.known.time_s.tolist() == [0.0, 3.0]
    assert fixes.without(np.array([True, False, False, False])).known_at.tolist() == [3]


def test_legs_are_the_geodesics_from_fix_to_fix() -> None:
    """On the equator, a circle, 0.001 degrees are 111.319491 m: printed to 1e-6 m, so that five are known to 5e-6 m."""
    fixes = Fixes(np.arange(4.0), np.zeros(4), np.array([0.0, 1e-3, 3e-3, 6e-3]))
    assert fixes.legs_m() == pytest.approx([1e-3 * EAST_M * k for k in (1, 2, 3)], abs=5e-6)
    assert fixes.legs_m(2) == pytest.approx([1e-3 * EAST_M * k for k in (3, 5)], abs=5e-6)
    assert len(fixes.legs_m(4)) == 0


def test_the_way_north_has_the_azimuth_of_north() -> None:
    fixes = Fixes(np.arange(2.0), np.array([0.0, 1e-3]), np.zeros(2))
    length_m, azimuth_deg = fixes.between(np.array([0, 1]), np.array([1, 0]))
    assert length_m == pytest.approx([1e-3 * NORTH_M] * 2, abs=1e-4)
    assert azimuth_deg[0] == pytest.approx(0.0, abs=1e-9)
    assert abs(azimuth_deg[1]) == pytest.approx(180.0, abs=1e-9)
