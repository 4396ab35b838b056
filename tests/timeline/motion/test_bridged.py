"""Positions that are missing over a stretch of road: what is said of the way across."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from ridelog.recording import Recording, checked
from ridelog.settings.bike import Bike
from ridelog.timeline.ride import join_recordings

METRE_DEG = 1 / 111_170  # of latitude at 46.5 N; 0.1 % is more than enough here
TIME_S = np.arange(0.0, 900.0)


def ride(gaps=(), *, wheel=False, turning=False, held=False, every_s=1):
    """Two files: 6 m/s north with the speed of a wheel or none, and its track without the seconds of ``gaps``.

    While ``turning``, the road goes east for 60 s and back again between 300 s and 420 s. The positions are in the log
    itself where they stay the same over the gaps (``held``), or are new ``every_s`` seconds only.
    """
    rng = np.random.default_rng(1)
    speed = 6 + np.cumsum(rng.normal(0, 0.05, len(TIME_S))) * 0.2
    away = turning & (TIME_S >= 300) & (TIME_S < 360)
    back = turning & (TIME_S >= 360) & (TIME_S < 420)
    north = np.concatenate(([0.0], np.cumsum(np.where(away | back, 0.0, speed))[:-1]))
    east = np.concatenate(([0.0], np.cumsum(np.where(away, 6.0, np.where(back, -6.0, 0.0)))[:-1]))
    kept = np.ones(len(TIME_S), dtype=bool)
    for start, end in gaps:
        kept &= ~((start < TIME_S) & (end > TIME_S))
    index = pd.Index(TIME_S, name="time_s")
    track = pd.DataFrame(
        {"latitude_deg": 46.5 + METRE_DEG * north, "longitude_deg": -32 + METRE_DEG / np.cos(np.radians(46.5)) * east},
        index=index,
    )[kept]
    log = pd.DataFrame({"current_a": 3.0 + 0 * TIME_S, "voltage_v": 48.0}, index=index)
    if wheel:
        log["speed_mps"] = np.where(away | back, 6.0, speed)
    start = datetime(2026, 5, 4, tzinfo=UTC)
    if held or every_s > 1:
        fixes = track[track.index % every_s == 0].reindex(index).ffill()
        for start_s, end_s in () if held else gaps:
            fixes[(start_s < index) & (end_s > index)] = np.nan
        return join_recordings([checked(Recording("log.csv", "a" * 64, "csv", log.join(fixes), start, "utc"))])
    files = [("log.csv", "a", log), ("t.gpx", "b", track)]
    return join_recordings(
        [checked(Recording(name, mark * 64, name[-3:], frame, start, "utc")) for name, mark, frame in files]
    )


def bridged(joined):
    return [finding for finding in joined.findings if finding.code == "way-bridged"]


def test_a_whole_track_and_short_gaps_are_no_finding():
    assert bridged(ride()) == []
    assert bridged(ride([(100, 110), (500, 515)])) == []


def test_a_long_gap_is_a_finding_with_its_span_and_metres():
    """100 s at some 6 m/s of 15 minutes: 600 m, a ninth of the way, and nothing else counts it."""
    (finding,) = bridged(ride([(300, 400)]))
    assert finding.severity == "warning"
    assert (finding.start_s, finding.end_s) == pytest.approx((300, 400), abs=1)
    assert (finding.facts["n_gaps"], finding.facts["other_m"]) == (1, None)
    assert finding.facts["lasted_s"] == pytest.approx(100, abs=0.5)
    assert finding.facts["straight_m"] == pytest.approx(600, rel=0.1)


def test_a_wheel_that_counts_the_same_makes_it_a_note():
    (finding,) = bridged(ride([(300, 400)], wheel=True))
    assert finding.severity == "note"
    assert finding.facts["other_m"] == pytest.approx(finding.facts["straight_m"], rel=0.05)


def test_a_wheel_that_counts_more_makes_it_a_warning():
    """East for 360 m and back: 720 m that the straight line across does not hold, of some 5400 m."""
    (finding,) = bridged(ride([(295, 425)], wheel=True, turning=True))
    assert finding.severity == "warning"
    assert finding.facts["other_m"] - finding.facts["straight_m"] == pytest.approx(720, rel=0.05)


def test_several_gaps_are_one_finding():
    (finding,) = bridged(ride([(200, 240), (500, 560)]))
    assert finding.facts["n_gaps"] == 2
    assert finding.facts["lasted_s"] == pytest.approx(100, abs=0.5)


def test_a_track_that_never_leaves_its_place_is_told_and_no_crash():
    """A bike on a trainer: the receiver stays at one place and loses 100 s, while the wheel turns on at 5 m/s."""
    time_s = np.arange(0.0, 900.0)
    log = pd.DataFrame({"current_a": 5.0, "voltage_v": 48.0, "speed_mps": 5.0}, index=pd.Index(time_s, name="time_s"))
    kept_s = time_s[(time_s < 300) | (time_s > 400)]
    track = pd.DataFrame({"latitude_deg": 46.5, "longitude_deg": -32.0}, index=pd.Index(kept_s, name="time_s"))
    start = datetime(2026, 5, 1, tzinfo=UTC)
    ride = join_recordings(
        [Recording("l.csv", "l", "csv", log, start, "utc"), Recording("t.gpx", "t", "gpx", track, start, "utc")], Bike()
    )
    assert "way-bridged" in {finding.code for finding in ride.findings}


def test_positions_that_stay_over_the_same_stretch_are_not_told_twice():
    """A log that keeps its last fix for 100 s while the wheel rolls: what was bridged says so, alone."""
    joined = ride([(300, 400)], wheel=True, held=True)
    (finding,) = bridged(joined)
    assert finding.facts["held"]
    assert "positions-held" not in {each.code for each in joined.findings}


def test_positions_held_elsewhere_are_told_beside_a_gap():
    """Fixes that come every 5 s all the way, and a gap of 100 s: the second does not tell of the first."""
    joined = ride([(300, 400)], wheel=True, every_s=5)
    (finding,) = bridged(joined)
    assert not finding.facts["held"]
    assert "positions-held" in {each.code for each in joined.findings}
