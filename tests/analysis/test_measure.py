"""The whole answer against the truth of simulated rides: bikes, roads, riders and clock errors drawn by chance."""

from dataclasses import dataclass
from datetime import timedelta
from functools import cache

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.measure import measure
from ridelog.recording import Recording, checked
from ridelog.settings.bike import Bike, BikeSection, RoadSection
from ridelog.timeline.ride import join_recordings
from sample_rides.loggers import Clock, electrical_log, track_log
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import simulate
from sample_rides.truth import TruthSettings, truth

SEEDS = range(12)
# The definition of a braking event knows no least force; 3 N is what a motor's drag takes, which is no braking.
LEAST_FORCE = TruthSettings(brake_n=3.0)
STEPS_S = (0.2, 1.0)


@dataclass(frozen=True)
class Case:
    """One simulated ride as logged at one step, with its truth."""

    true: object
    answer: object
    ride: object
    offset_s: float


@cache
def simulated(seed):
    return simulate(random_scenario(np.random.default_rng(seed)))


def recording(name, log, start):
    time_s = log.pop("time_s").to_numpy()
    log.index = pd.Index(time_s - time_s[0], name="time_s")
    begin = start + timedelta(seconds=float(time_s[0]))
    return checked(Recording(name, name.ljust(64, "0"), name[-3:], log, begin, "utc"))


@cache
def case(seed, step_s):
    """Clean logs: rounded as devices round, no other error; the track 1 Hz, its clock off by up to half a minute."""
    ride = simulated(seed)
    offset_s = float(np.random.default_rng(1000 + seed).uniform(-30, 30))
    start, machine = ride.scenario.start, ride.scenario.machine
    log = electrical_log(ride, step_s=step_s, seed=seed)[["time_s", "current_a", "voltage_v", "speed_mps"]]
    track = track_log(ride, clock=Clock(offset_s=offset_s, drift_ppm=20), seed=5000 + seed)
    track = track[["time_s", "latitude_deg", "longitude_deg", "altitude_m"]].copy()
    road = RoadSection(cda_m2=machine.cda_m2, crr=machine.crr, wind_mps=machine.wind_mps)
    bike = Bike(bike=BikeSection(total_mass_kg=machine.mass_kg), road=road)
    joined = join_recordings([recording("log.csv", log.copy(), start), recording("track.gpx", track, start)], bike)
    return Case(truth(ride, LEAST_FORCE), measure(joined), joined, offset_s)


EVERY = pytest.mark.parametrize(("seed", "step_s"), [(seed, step_s) for step_s in STEPS_S for seed in SEEDS])


@EVERY
def test_the_recovered_share_is_that_of_the_truth(seed, step_s):
    """0.1 points at 5 Hz, 0.3 points at 1 Hz, for shares from 2 to 17 %."""
    found, true = case(seed, step_s).answer, case(seed, step_s).true
    tolerance = {0.2: 0.1, 1.0: 0.3}[step_s]
    assert found.energy.recovered_pct.value == pytest.approx(true.recovered_wh_pct, abs=tolerance)
    assert found.charge.recovered_pct.value == pytest.approx(true.recovered_ah_pct, abs=tolerance)


@EVERY
def test_drawn_is_that_of_the_truth(seed, step_s):
    """Sampling errors of some hundred starts and stops average out: 0.2 % at 5 Hz, 1 % at 1 Hz."""
    found, true = case(seed, step_s).answer, case(seed, step_s).true
    tolerance = {0.2: 0.002, 1.0: 0.01}[step_s]
    assert found.energy.drawn_wh.value == pytest.approx(true.drawn_wh, rel=tolerance)
    assert found.charge.drawn_ah.value == pytest.approx(true.drawn_ah, rel=tolerance)


@EVERY
def test_every_hill_of_eight_metres_is_found_where_it_is(seed, step_s):
    """Start and end within 40 m, height within 1.5 m, none missed and none of that height invented."""
    found, true = case(seed, step_s).answer, case(seed, step_s).true
    high = [hill for hill in found.hills if abs(hill.height_m.value) >= 8 + 1.5]
    assert len(high) <= len(true.hills) <= len(found.hills)
    for hill in true.hills:
        near = [
            other
            for other in found.hills
            if other.direction == hill.direction
            and abs(other.start_m - hill.start_m) <= 40
            and abs(other.end_m - hill.end_m) <= 40
        ]
        assert len(near) == 1, hill
        assert abs(near[0].height_m.value) == pytest.approx(abs(hill.height_m), abs=1.5)


@EVERY
def test_each_hill_gives_back_what_it_truly_gave(seed, step_s):
    """5 % and 0.1 Wh (two per cent of a usual hill): the bounds of a hill are only known to some 20 m."""
    found, true = case(seed, step_s).answer, case(seed, step_s).true
    for hill in true.hills:
        near = min(found.hills, key=lambda other: abs(other.start_m - hill.start_m) + abs(other.end_m - hill.end_m))
        assert near.returned_wh.value == pytest.approx(hill.returned_wh, rel=0.05, abs=0.1)


@EVERY
def test_the_clock_of_the_track_is_found(seed, step_s):
    one = case(seed, step_s)
    assert one.ride.joins[1].trusted
    assert one.ride.joins[1].offset_s == pytest.approx(one.offset_s, abs=0.3)


def matched(true_events, events):
    """Pairs of events that share at least half of the time that they cover together, one to one."""
    free, pairs = list(events), []
    for event in true_events:

        def shared(other, event=event):
            both = min(event.end_s, other.end_s) - max(event.start_s, other.start_s)
            return both / (max(event.end_s, other.end_s) - min(event.start_s, other.start_s))

        best = max(free, key=shared, default=None)
        if best is not None and shared(best) >= 0.5:
            free.remove(best)
            pairs.append((event, best))
    return pairs


@pytest.mark.parametrize("step_s", STEPS_S)
def test_braking_events_are_found_and_told_apart(step_s):
    """F1 of at least 0.95 against all spans in which the brakes held back by more than 3 N; kinds as in the truth."""
    n_true = n_found = n_matched = n_kind = 0
    for seed in SEEDS:
        true, found = case(seed, step_s).true.events, case(seed, step_s).answer.braking.events
        pairs = matched(true, found)
        n_true, n_found, n_matched = n_true + len(true), n_found + len(found), n_matched + len(pairs)
        n_kind += sum(event.kind == other.kind for event, other in pairs)
    assert 2 * n_matched / (n_true + n_found) >= 0.95
    assert n_kind / n_matched >= 0.97


@EVERY
def test_what_braking_had_available_is_that_of_the_truth(seed, step_s):
    """Summed over all events of the ride.

    The track's height is off by 0.4 m and forgets that in 300 s, so over the T seconds of an event its drop errs by
    0.4·√(2·(1 − e^(−T/300))) m, and what was available by m·g times that; the errors of the events add up as squares,
    and three standard deviations are allowed.
    """
    true, found = case(seed, step_s).true.events, case(seed, step_s).answer.braking
    mass_kg = simulated(seed).scenario.machine.mass_kg
    drop_m = [0.4 * np.sqrt(2 * (1 - np.exp(-(event.end_s - event.start_s) / 300))) for event in true]
    expected = sum(event.available_wh for event in true)
    tolerance = 3 * mass_kg * 9.81 / 3600 * float(np.hypot.reduce(drop_m))
    assert found.available_wh.value == pytest.approx(expected, abs=tolerance)


def test_nothing_is_captured_that_was_not_available():
    for seed in SEEDS:
        assert 0 < case(seed, 0.2).answer.braking.captured_pct.value < 100


def test_a_road_ridden_back_pairs_its_hills():
    seed = next(seed for seed in SEEDS if len(case(seed, 0.2).true.hills) >= 8)
    answer = case(seed, 0.2).answer
    assert len(answer.hill_pairs) == len(answer.hills) / 2
    by_id = {hill.id: hill for hill in answer.hills}
    for pair in answer.hill_pairs:
        up, down = by_id[pair.up], by_id[pair.down]
        assert (up.direction, down.direction) == ("up", "down")
        assert up.height_m.value == pytest.approx(-down.height_m.value, abs=1.5)
        assert pair.recovered_pct.value == pytest.approx(100 * down.returned_wh.value / up.drawn_wh.value)


def test_the_ride_is_not_changed_by_being_measured():
    joined = case(0, 1.0).ride
    before = joined.series.copy(deep=True)
    measure(joined)
    pd.testing.assert_frame_equal(joined.series, before)


def test_an_electrical_log_alone_gives_the_share_and_its_events():
    ride = simulated(3)
    log = electrical_log(ride)[["time_s", "current_a", "voltage_v"]].copy()
    answer = measure(join_recordings([recording("log.csv", log, ride.scenario.start)]))
    true = truth(ride)
    assert answer.energy.recovered_pct.value == pytest.approx(true.recovered_wh_pct, abs=0.1)
    assert answer.hills == ()
    assert answer.ride.distance_m is None
    for event in (event for event in true.events if event.returned_wh > 0.02):
        assert any(found.start_s < event.end_s and found.end_s > event.start_s for found in answer.braking.events)
    in_events = sum(event.returned_wh.value for event in answer.braking.events)
    assert in_events == pytest.approx(true.returned_wh, rel=0.02)  # but for what flows below 0.2 A
    assert {event.kind for event in answer.braking.events} == {None}
    assert {"no-height", "no-speed"} <= {finding.code for finding in answer.findings}


def test_a_clipped_log_gives_no_share_and_says_so():
    ride = simulated(3)
    log = electrical_log(ride, clipped=True)[["time_s", "current_a", "voltage_v", "speed_mps"]].copy()
    answer = measure(join_recordings([recording("log.csv", log, ride.scenario.start)]))
    assert answer.to_dict()["energy"]["recovered_pct"] is None
    assert answer.energy.returned_wh is None
    assert answer.energy.drawn_wh.value == pytest.approx(truth(ride).drawn_wh, rel=0.01)
    assert "cannot-show-return" in [finding.code for finding in answer.findings]


def test_a_track_alone_says_that_nothing_electrical_is_known():
    ride = simulated(3)
    track = track_log(ride)[["time_s", "latitude_deg", "longitude_deg", "altitude_m"]].copy()
    answer = measure(join_recordings([recording("track.gpx", track, ride.scenario.start)]))
    assert answer.energy.drawn_wh is None
    assert len(answer.hills) >= len(truth(ride).hills)
    assert "no-battery-current" in [finding.code for finding in answer.findings]
