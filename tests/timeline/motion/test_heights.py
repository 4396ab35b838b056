"""Leaps of the recorded height that no road has."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.measure import measure
from ridelog.recording import Recording, checked
from ridelog.timeline.motion.heights import height_leaps, without_height_leaps
from ridelog.timeline.ride import join_recordings

TIME_S = np.arange(0.0, 600.0)
ROAD_M = 40 + 15 * np.sin(TIME_S / 90)  # at 6 m/s grades of up to 2.8 %


def track(altitude_m, time_s=TIME_S):
    """Straight north at 6 m/s; a degree of latitude is some 111 km."""
    frame = pd.DataFrame(
        {"latitude_deg": 46.5 + 6 * time_s / 111_170, "longitude_deg": -32.0, "altitude_m": altitude_m},
        index=pd.Index(time_s, name="time_s"),
    )
    return checked(Recording("t.gpx", "0" * 64, "gpx", frame, datetime(2026, 5, 4, tzinfo=UTC), "utc"))


def test_a_road_has_no_leap():
    recording = track(ROAD_M)
    assert without_height_leaps(recording) is recording


def test_a_steep_descent_and_a_long_gap_are_no_leaps():
    """25 % at 20 m/s for 20 s; 60 m lower after 60 s without a sample."""
    assert not len(height_leaps(np.arange(20.0), 500 - 5 * np.arange(20.0)))
    assert not len(height_leaps(np.array([0.0, 1, 61, 62]), np.array([100.0, 100, 40, 40])))


def test_a_rough_height_that_scatters_is_left_alone():
    """White noise of 6 m: of 600 steps of 8.5 m (standard deviation) the largest is near 30 m."""
    scattering = ROAD_M + np.random.default_rng(1).normal(0, 6, len(TIME_S))
    assert not len(height_leaps(TIME_S, scattering))


@pytest.mark.parametrize("where", [slice(300, 301), slice(300, 340), slice(0, 50), slice(550, 600)])
def test_a_stretch_of_absurd_heights_is_brought_back_to_the_road(where):
    """8000 m too high; each of its two ends is off by one second of road, 0.17 m."""
    absurd = ROAD_M.copy()
    absurd[where] += 8000
    found = without_height_leaps(track(absurd))
    assert np.abs(found.frame["altitude_m"] - ROAD_M).max() <= 2 * 15 / 90 + 1e-9
    (finding,) = (finding for finding in found.findings if finding.code == "height-leaps")
    assert finding.severity == "warning"
    assert abs(finding.facts["largest_step_m"]) == pytest.approx(8000, abs=1)


def test_a_height_of_zero_before_the_first_fix_is_no_climb():
    """A device that writes 0 m until it knows: 340 m up a road are 340 m, and no hill."""
    late = 340 + 0.2 * ROAD_M
    late[:90] = 0.0
    answer = measure(join_recordings([track(late)]))
    assert answer.hills == ()
    assert answer.ride.ascent_m.value < 20
    assert answer.series["altitude_m"].iloc[-1] == pytest.approx(late[-1])


def test_a_single_height_at_the_end_of_a_devices_range_is_left_out_at_the_border():
    """32767 is what 16 bits hold, 1e9 is no height: outside -500..9000 m, so no value, and a finding."""
    for value in (32767.0, 1e9, -1e9):
        heights = ROAD_M.copy()
        heights[200] = value
        recording = track(heights)
        assert np.isnan(recording.frame["altitude_m"].iloc[200])
        assert "impossible-values" in [finding.code for finding in recording.findings]
        hills = measure(join_recordings([recording])).hills
        assert all(abs(hill.height_m.value) < 31 for hill in hills)


def test_a_track_without_heights_or_with_a_single_one_has_no_leap():
    nothing = np.full(600, np.nan)
    nothing[3] = 20.0
    recording = track(nothing)
    assert without_height_leaps(recording) is recording
    assert not len(height_leaps(np.array([]), np.array([])))
