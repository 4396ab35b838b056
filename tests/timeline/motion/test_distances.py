"""Distance along the ride: the best source, and what fills its holes."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.recording import ClockJoin
from ridelog.timeline.joined import JoinedRecording
from ridelog.timeline.motion.distances import DistanceCandidate, combined_distance_m, distance_candidates
from ridelog.timeline.motion.speeds import Motion
from ridelog.timeline.ride import join_recordings
from tests.timeline.said import facts
from tests.timeline.simulated import Truth, controller_log, recording, track_log


def test_a_hole_in_the_best_distance_takes_the_course_of_the_next() -> None:
    """Best knows 0..3 and 7..9 s at 5 m/s; the next one has its own zero and reads 10 % more."""
    at_s = np.arange(10.0)
    best_m = np.where((at_s > 3) & (at_s < 7), np.nan, 5 * at_s)
    got = combined_distance_m(at_s, [best_m, 100 + 5.5 * at_s])
    assert got is not None
    assert got[[0, 3, 7, 9]].tolist() == [0.0, 15.0, 35.0, 45.0]
    assert got[4:7] == pytest.approx(5 * at_s[4:7])


def test_ends_that_the_best_distance_does_not_reach_come_from_the_next() -> None:
    at_s = np.arange(10.0)
    best_m = np.where((at_s < 2) | (at_s > 7), np.nan, 5 * at_s)
    got = combined_distance_m(at_s, [best_m, 6 * at_s])
    assert got is not None
    assert got[0] == 0.0
    assert np.diff(got) == pytest.approx([6.0, 6.0, 5.0, 5.0, 5.0, 5.0, 5.0, 6.0, 6.0])


def test_a_distance_never_falls_and_unknown_stays_unknown() -> None:
    at_s = np.arange(100.0)
    values = 5 * at_s
    values[13] = 59.8  # back by 0.2 m
    values[50:60] = np.nan
    got = combined_distance_m(at_s, [values])
    assert got is not None
    assert got[12:15].tolist() == [60.0, 60.0, 70.0]
    assert np.flatnonzero(np.isnan(got)).tolist() == list(range(50, 60))
    assert combined_distance_m(at_s, []) is None


def test_a_counted_distance_that_contradicts_the_positions_is_not_used(truth: Truth) -> None:
    log = controller_log(truth)
    counted_m = 1.3 * np.interp(log.time_s, truth.time_s, truth.distance_m)
    ride = join_recordings([replace(log, frame=log.frame.assign(distance_m=counted_m)), track_log(truth)])
    told = facts(ride, "distances-disagree")
    assert told["other_file"] == "track.gpx"
    assert told["off_pct"] > 20
    assert ride.series["distance_m"].iloc[-1] == pytest.approx(truth.distance_m[-1], rel=0.01)


def test_a_counter_of_tenths_of_a_kilometre_does_not_tell_where_on_the_way(truth: Truth) -> None:
    log = controller_log(truth)
    counted_m = np.floor(np.interp(log.time_s, truth.time_s, truth.distance_m) / 100) * 100
    ride = join_recordings([replace(log, frame=log.frame.assign(distance_m=counted_m))])
    assert np.diff(ride.series["distance_m"]).max() < 5.0


def offering(name: str, *, lag_s: float = 0.0, **distances_m: np.ndarray) -> JoinedRecording:
    """A recording of 1 Hz with given distances."""
    n = len(next(iter(distances_m.values())))
    log = recording(name, np.arange(float(n)), altitude_m=np.zeros(n))
    method = "speed" if lag_s else "reference"
    join = ClockJoin(name, lag_s, -lag_s, None, method, None, float(n), True)  # type: ignore[arg-type]
    return JoinedRecording(log, join, Motion(distances_m=distances_m))  # type: ignore[arg-type]


def named(everyone: list[JoinedRecording]) -> list[tuple[str, str]]:
    candidates, _ = distance_candidates(everyone)
    return [(candidate.joined.recording.name, candidate.source) for candidate in candidates]


WAY_M = 5.0 * np.arange(201.0)


def test_a_fine_counter_comes_first_and_a_coarse_one_last() -> None:
    log = offering("c.csv", device=WAY_M, wheel=WAY_M, speed=WAY_M)
    track = offering("t.gpx", positions=WAY_M, device=np.floor(WAY_M / 100) * 100)
    assert named([log, track]) == [
        ("c.csv", "device"), ("t.gpx", "positions"), ("c.csv", "wheel"), ("c.csv", "speed"), ("t.gpx", "device"),
    ]  # fmt: skip


@pytest.mark.parametrize(("ratio", "used"), [(1.049, True), (1.051, False), (0.951, True), (0.949, False)])
def test_a_counter_more_than_5_per_cent_off_the_positions_is_told_and_not_used(ratio: float, used: bool) -> None:
    track, log = offering("t.gpx", positions=WAY_M), offering("c.csv", device=ratio * WAY_M)
    candidates, findings = distance_candidates([log, track])
    assert ("device" in [candidate.source for candidate in candidates]) == used
    assert [finding.code for finding in findings] == [] if used else ["distances-disagree"]


def test_less_than_200_metres_are_too_few_to_contradict_a_counter() -> None:
    """39 steps of 5 m are 195 m."""
    track, log = offering("t.gpx", positions=WAY_M[:40]), offering("c.csv", device=1.5 * WAY_M[:40])
    assert named([log, track])[0] == ("c.csv", "device")


def test_a_distance_known_at_one_sample_only_is_none() -> None:
    once_m = np.where(np.arange(201) == 7, 1.0, np.nan)
    assert named([offering("t.gpx", positions=once_m)]) == []


def test_a_wheel_whose_circumference_was_found_gives_a_distance_after_all_others() -> None:
    """200 steps of 1 s at 4 m/s: 800 m."""
    log = offering("c.csv", speed=WAY_M)
    candidates, _ = distance_candidates([log], np.full(201, 4.0))
    assert [candidate.source for candidate in candidates] == ["speed", "wheel"]
    assert candidates[1].distance_m[-1] == 800.0


def test_an_offer_is_read_on_the_references_clock() -> None:
    candidate = DistanceCandidate(offering("t.gpx", lag_s=3.0, positions=WAY_M), "positions", WAY_M)
    assert candidate.at(np.array([2.0, 3.5, 10.0]))[1:].tolist() == [2.5, 35.0]
