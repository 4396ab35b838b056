"""What wall clocks say of the lag between two recordings."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from ridelog.recording import Clock
from ridelog.timeline.clock.peak import Peak, Refusal
from ridelog.timeline.clock.settings import DEFAULTS
from ridelog.timeline.clock.wall_clock import (
    WallClocks,
    apart_by_wall,
    clock_offset_s,
    may_be_zones,
    of_one_device,
    overlap_s,
    wall_lags_s,
)
from tests.timeline.simulated import START, recording

ONE = np.arange(3.0)


def test_wall_clocks_of_unknown_zone_allow_every_quarter_of_an_hour() -> None:
    one = np.arange(3.0)
    reference = recording("c.csv", one, clock="local", current_a=one)
    lags_s = wall_lags_s(
        reference, recording("t.gpx", one, start=datetime(2026, 5, 1, 6, 0, 5, tzinfo=UTC), speed_mps=one)
    )
    assert len(lags_s) == 113  # -14 h to +14 h
    assert 5.0 in lags_s.tolist()
    assert 905.0 in lags_s.tolist()


def test_the_offset_is_read_at_the_references_first_sample() -> None:
    """The other began 100 s later on both clocks but its clock runs 1 % fast: at the reference's first sample it would
    have shown 101 s less than at its own first, which is 1 s behind."""
    one = np.arange(3.0)
    reference = recording("c.csv", one, current_a=one)
    other = recording("t.gpx", one, start=START + timedelta(seconds=100), speed_mps=one)
    assert clock_offset_s(reference, other, 100.0, 1e4) == pytest.approx(-1.0)


@pytest.mark.parametrize(("own", "other"), [("elapsed", "utc"), ("utc", "elapsed"), ("elapsed", "elapsed")])
def test_without_wall_time_the_offset_counts_each_clock_from_its_own_first_sample(own: Clock, other: Clock) -> None:
    """The track's first sample lies 12 s into the log: when the log showed 0 s, a track that counts would show -12 s;
    1 % fast, -12.12 s."""
    log, track = recording("c.csv", ONE, clock=own, current_a=ONE), recording("t.gpx", ONE, clock=other, speed_mps=ONE)
    assert clock_offset_s(log, track, 12.0, None) == -12.0
    assert clock_offset_s(log, track, 12.0, 1e4) == pytest.approx(-12.12)
    assert len(wall_lags_s(log, track)) == 0


@pytest.mark.parametrize(("lag_s", "both_s"), [(0.0, 60.0), (70.0, 30.0), (-20.0, 40.0), (100.0, 0.0), (-60.0, 0.0)])
def test_the_overlap_is_what_both_cover(lag_s: float, both_s: float) -> None:
    """100 s and 60 s."""
    log = recording("c.csv", np.array([0.0, 100.0]), current_a=np.ones(2))
    assert overlap_s(log, recording("t.gpx", np.array([0.0, 60.0]), speed_mps=np.ones(2)), lag_s) == both_s


def test_two_utc_clocks_allow_one_lag_and_others_the_nearest_of_many() -> None:
    utc, zones, none = (
        WallClocks(np.array([60.0])),
        WallClocks(60.0 + 900.0 * np.arange(-2, 3)),
        WallClocks(np.empty(0)),
    )
    assert [(one.known, one.both_utc) for one in (utc, zones, none)] == [(True, True), (True, False), (False, False)]
    assert (utc.middle_lag_s, zones.middle_lag_s, none.middle_lag_s) == (60.0, 60.0, 0.0)
    assert (utc.apart_s(-40.0), zones.apart_s(970.0), none.apart_s(5.0)) == (100.0, 10.0, 0.0)
    lag_s = np.array([0.0, 55.0, 965.0])
    assert utc.within(lag_s, 5.0).tolist() == [False, True, False]
    assert zones.within(lag_s, 5.0).tolist() == [False, True, True]
    assert not none.within(lag_s, 5.0).any()


def test_wall_clocks_contradict_what_is_weak_and_far() -> None:
    """Two of unknown zone, 15 minutes apart, allow whatever lies between: half of that is 450 s."""
    weak = Peak(500.0, agreement=0.7, overlap_s=900.0, score=9.0, rival_ratio=0.2, width_s=5.0)
    utc = WallClocks(np.array([60.0]))
    assert utc.contradiction(weak, DEFAULTS) == Refusal("contradicted", 0.7, 440.0)
    assert utc.contradiction(replace(weak, agreement=0.8), DEFAULTS) is None
    assert utc.contradiction(replace(weak, lag_s=180.0), DEFAULTS) is None
    zones = WallClocks(60.0 + 900.0 * np.arange(3))
    assert zones.contradiction(weak, DEFAULTS) is None
    assert zones.contradiction(replace(weak, lag_s=1860.0 + 500.0), DEFAULTS) == Refusal("contradicted", 0.7, 500.0)
    assert WallClocks(np.empty(0)).contradiction(weak, DEFAULTS) is None


def test_clocks_of_one_zone_support_a_lag_near_theirs() -> None:
    utc, zones = WallClocks(np.array([60.0])), WallClocks(60.0 + 900.0 * np.arange(-2, 3))
    assert [one.supports(160.0, DEFAULTS) for one in (utc, zones, WallClocks(np.empty(0)))] == [True, True, False]
    assert [one.supports(960.0, DEFAULTS) for one in (utc, zones)] == [False, False]


def test_a_zone_is_a_multiple_of_a_quarter_of_an_hour_up_to_fourteen_hours() -> None:
    """Give or take the minute by which people set clocks."""
    assert all(may_be_zones(apart_s, DEFAULTS) for apart_s in (3600.0, 20_670.0, 50_400.0, 50_430.0))
    assert not any(may_be_zones(apart_s, DEFAULTS) for apart_s in (3600.0 + 100.0, 54_000.0, 86_400.0))


def test_two_logs_of_one_device_are_of_one_zone() -> None:
    """Eight hours apart and of unknown zone: another device may be in another zone, the same one is not."""
    morning = recording("a.csv", ONE, clock="local", current_a=ONE)
    evening = recording("b.csv", ONE, start=START + timedelta(hours=8), clock="local", current_a=ONE)
    other = recording("c.csv", ONE, start=START + timedelta(hours=8), clock="local", current_a=ONE, speed_mps=ONE)
    assert of_one_device(morning, evening)
    assert not of_one_device(morning, other)
    assert wall_lags_s(morning, evening).tolist() == [8 * 3600.0]
    assert [apart_by_wall(morning, item) for item in (evening, other)] == [True, False]
    week = recording("d.gpx", ONE, start=START + timedelta(days=7), speed_mps=ONE)
    assert apart_by_wall(morning, week)
    assert not apart_by_wall(morning, recording("e.gpx", ONE, clock="elapsed", speed_mps=ONE))
