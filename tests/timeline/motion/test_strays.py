"""Fixes that no bicycle was at."""

import numpy as np
import pytest

from ridelog.settings.bike import Bike
from ridelog.timeline.motion.fixes import Fixes
from ridelog.timeline.motion.speeds import measure_motion
from ridelog.timeline.motion.strays import leap_mask, stray_mask, without_strays
from tests.timeline.motion.degrees import NORTH_M
from tests.timeline.simulated import recording


def test_a_fix_far_off_the_way_is_found_and_a_turn_is_not() -> None:
    time_s = np.arange(40.0)
    north_m = np.where(time_s < 20, 8 * time_s, 8 * (40 - time_s))  # turns on the spot at 20 s
    assert not stray_mask(Fixes(time_s, north_m / NORTH_M, np.zeros(40))).any()
    north_m[10] += 400
    assert np.flatnonzero(stray_mask(Fixes(time_s, north_m / NORTH_M, np.zeros(40)))).tolist() == [10]


def test_a_leap_of_the_positions_is_no_way_ridden() -> None:
    """The positions stand at 0 N 0 E from 500 s on, as devices say without a fix: 499 steps of 5.558 m were ridden.

    1/20000 degree of latitude at 46.51 N is 5.558 m: pi/180/20000 times the meridian's radius of curvature
    a (1 - e²) / (1 - e² sin² latitude)^1.5 on WGS 84 (by hand; the radius changes by 5e-6 along the way).
    """
    time_s = np.arange(600.0)
    lost = time_s >= 500
    track = recording(
        "t.gpx",
        time_s,
        latitude_deg=np.where(lost, 0.0, 46.5 + time_s / 20000),
        longitude_deg=np.where(lost, 0.0, -32.0),
    )
    motion = measure_motion(track, Bike())
    assert motion.distances_m["positions"][-1] == pytest.approx(499 * 5.558, abs=1.0)
    [finding] = motion.findings
    assert (finding.code, finding.severity, finding.start_s) == ("stray-positions", "warning", 500.0)


def test_a_leg_is_a_leap_beyond_45_metres_a_second_and_the_scatter_of_two_fixes() -> None:
    """In 2 s 90 m may be ridden, and fixes scatter by 30 m."""
    assert leap_mask(np.array([119.9, 120.1, np.nan]), np.full(3, 2.0)).tolist() == [False, True, False]


def test_a_stray_fix_is_taken_out_and_told() -> None:
    time_s = np.arange(40.0)
    north_m = 8 * time_s
    north_m[[10, 25]] += 400
    track = recording("t.gpx", time_s, latitude_deg=north_m / NORTH_M, longitude_deg=np.zeros(40))
    fixes, (finding,) = without_strays(track)
    assert fixes is not None
    assert np.flatnonzero(np.isnan(fixes.latitude_deg)).tolist() == [10, 25]
    assert (finding.code, finding.severity, finding.start_s, finding.end_s) == ("stray-positions", "note", 10.0, 25.0)


def test_a_recording_without_positions_has_no_fixes() -> None:
    assert without_strays(recording("c.csv", np.arange(5.0), latitude_deg=np.ones(5))) == (None, ())
    assert without_strays(recording("c.csv", np.arange(5.0), current_a=np.ones(5))) == (None, ())
