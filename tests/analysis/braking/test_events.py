"""Braking events as records: where they are counted, and how they add up."""

import pickle
import weakref
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.braking.events import (
    braking_record,
    kind_of,
    losing_run,
    measured_events,
    offered_anew,
    widened,
)
from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.motion import Motion
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, SensorSection
from ridelog.uncertain.trials import N_TRIALS, Uncertain, exact
from tests.analysis.scenes import scene_by_hand

TIME_S = np.arange(0, 120, 0.5)
LOAD = RoadLoad(100.0, 100.0, cda_m2=0.5, crr=0.008, density=1.2)


def stops(*, current=True, unlogged_s=(0.0, 0.0)):
    """Two stops from 8 m/s within 8 s, at 30 and at 90 s, level road; 4 A into the battery at 50 V meanwhile."""
    speed = np.interp(TIME_S, [0, 30, 38, 60, 70, 90, 98, 120], [8, 8, 0, 0, 8, 8, 0, 0])
    n = len(TIME_S)
    slows = ((TIME_S > 30) & (TIME_S < 38)) | ((TIME_S > 90) & (TIME_S < 98))
    frame = pd.DataFrame(
        {"current_a": np.where(slows, -4.0, 3.0), "voltage_v": 50.0}, index=pd.Index(TIME_S, name="time_s")
    )
    sensor = SensorSection(current_zero_limit_a=0.0, standby_draw_a=0.0)
    frame.loc[(unlogged_s[0] < TIME_S) & (unlogged_s[1] > TIME_S), "current_a"] = np.nan
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    flow = electrical_flow(recording if current else None, sensor=sensor)
    motion = Motion(TIME_S, speed, np.full(n, 20.0), np.zeros(n), None, 0.0, 0.0)
    return scene_by_hand(motion, LOAD, flow=flow, bike=Bike())


@pytest.mark.parametrize(("gap_at", "expected"), [(None, (2, 7)), (2, (3, 7)), (6, (2, 6)), (4, (2, 7))])
def test_a_run_is_counted_from_the_sample_before_it_to_the_one_after_it_unless_a_gap_lies_there(gap_at, expected):
    gaps = np.zeros(9, dtype=bool)
    if gap_at is not None:
        gaps[gap_at] = True
    assert widened((3, 6), gaps) == expected


def test_a_run_at_the_end_of_the_log_stays_inside_of_it():
    assert widened((0, 9), np.zeros(9, dtype=bool)) == (0, 9)


def test_what_was_available_is_counted_over_the_ends_that_gave_energy_up():
    """A state of 5, 6, 4, 2, 1, 3 J: both steps beside the run (2, 3) lose, those beside (1, 4) gain."""
    force = replace(stops().force, state_j=np.array([5.0, 6.0, 4.0, 2.0, 1.0, 3.0]))
    assert losing_run((2, 3), (1, 4), force) == (1, 4)
    assert losing_run((1, 4), (0, 5), force) == (1, 4)


def test_two_stops_are_two_events_that_add_up():
    """By hand: each returns 4 A · 50 V for some 8 s, 0.44 Wh, and gives up ½ · 100 kg · 64 m²/s² = 0.89 Wh at most."""
    scene = stops()
    events = measured_events(scene)
    record = braking_record(scene, events)
    assert [kind_of(scene, event) for event in events] == ["stop", "stop"]
    assert [(e.start_speed_mps, e.end_speed_mps) for e in record.events] == [
        (pytest.approx(8, abs=0.6), pytest.approx(0, abs=0.6))
    ] * 2
    for one in record.events:
        assert one.returned_wh.value == pytest.approx(4 * 50 * 8 / 3600, rel=0.1)
        assert 0.7 * 0.889 < one.available_wh.value < 0.889
    assert record.returned_wh.value == pytest.approx(sum(one.returned_wh.value for one in record.events))
    assert record.available_wh.value == pytest.approx(sum(one.available_wh.value for one in record.events))
    assert record.captured_pct.value == pytest.approx(
        100 * record.returned_wh.value / record.available_wh.value, rel=0.02
    )


def test_two_events_that_share_a_sample_count_every_step_once():
    """4 A at 50 V flow back for 7 s, and clipped trapezoids add half a step at either end; cut in two, as much."""
    scene = stops()
    whole = scene.braking[0]
    parts = [(whole[0], 68), (68, whole[1])]
    one, two = (measured_events(replace(scene, braking=runs)) for runs in ([whole], parts))
    assert [each.counted for each in two] == [(one[0].counted[0], 68), (68, one[0].counted[1])]
    returned = [event.returned_wh.value for event in (*two, *one)]
    assert returned[0] + returned[1] == pytest.approx(returned[2])
    assert returned[2] == pytest.approx(4 * 50 * 7.5 / 3600)


def test_an_event_gives_back_no_less_than_nothing_by_its_best_value_and_its_trials_stay():
    """What missing samples hide may be reckoned as less than nothing: events told as 0 still add up to the whole."""
    scene = stops()
    less = Uncertain(-0.01, np.resize([-0.02, 0.0], N_TRIALS))
    flow = SimpleNamespace(
        charges=lambda spans_s: [Throughput(exact(0.5), less)] * len(spans_s),
        energies=lambda spans_s: [Throughput(exact(18.0), 36 * less)] * len(spans_s),
    )
    for event in measured_events(replace(scene, flow=flow)):
        assert event.returned_wh.value == 0
        assert event.returned_wh.trials.min() == pytest.approx(-0.72)
        assert event.came_back.ah.value == 0


def test_the_kinds_hold_every_event_and_add_up_to_the_whole():
    scene = stops()
    record = braking_record(scene, measured_events(scene))
    kinds = {each.kind: each for each in record.kinds}
    assert list(kinds) == ["stop", "slowing", "holding", "unknown"]
    assert [each.events for each in record.kinds] == [2, 0, 0, 0]
    assert kinds["stop"].returned_wh.value == pytest.approx(record.returned_wh.value)
    assert kinds["stop"].missed_wh.value == pytest.approx(record.available_wh.value - record.returned_wh.value)


def test_without_braking_there_are_no_rows():
    scene = replace(stops(), braking=[])
    record = braking_record(scene, measured_events(scene))
    assert (record.events, record.kinds, record.returned_wh) == ((), (), None)


def test_without_an_electrical_log_only_what_was_available_is_known():
    scene = stops(current=False)
    record = braking_record(scene, measured_events(scene))
    assert record.available_wh is not None
    assert (record.returned_wh, record.captured_pct) == (None, None)


def test_a_stop_during_which_no_current_was_logged_says_nothing_of_what_came_back():
    """The second of two like stops has no current logged: its return is not 0, and the share is the first's."""
    scene, logged = stops(unlogged_s=(62.0, 119.0)), stops()
    record, whole = (braking_record(each, measured_events(each)) for each in (scene, logged))
    first, second = record.events
    assert second.returned_wh is None
    assert second.captured_pct is None
    offered, bounded = second.available_wh, whole.events[1].available_wh
    assert offered.value == bounded.value
    assert offered.low95 < bounded.low95  # what came back would have bounded it from below
    assert record.returned_wh.value == pytest.approx(first.returned_wh.value)
    assert record.captured_pct.value == pytest.approx(first.captured_pct.value)


def test_of_an_event_no_more_trials_are_held_than_those_of_two_numbers():
    """130 stops in 1500 samples took more than 100 MB: what was drawn in each is asked for once, and not held."""
    events = measured_events(stops())
    trials_bytes = 8 * N_TRIALS
    assert all(event.available_wh.known for event in events)
    assert len(pickle.dumps((events._held, events._returned))) / len(events) < 2.5 * trials_bytes


def trials_of(event):
    return [event.available_wh.trials, event.returned_wh.trials]


def test_trials_of_the_first_events_are_held_and_those_of_the_others_are_the_same_when_asked_for_again(monkeypatch):
    """Held by the thousand, 0.07 MB each, they took gigabytes of a small file; none is held here but the last."""
    scene = stops()
    held = [trials_of(event) for event in measured_events(scene)]
    monkeypatch.setattr("ridelog.analysis.braking.events.MOST_AT_ONCE", 1)
    monkeypatch.setattr("ridelog.analysis.braking.events.MOST_HELD", 0)
    events = measured_events(scene)
    for several in (events, offered_anew(scene, events)):
        for place in (1, 0, 1):
            for again, before in zip(trials_of(several[place]), held[place], strict=True):
                np.testing.assert_array_equal(again, before)
        first, last = weakref.ref(several[0].available_wh), weakref.ref(several[1].available_wh)
        assert (first() is None, last() is None) == (True, False)
    record, whole = braking_record(scene, events), braking_record(scene, measured_events(scene))
    assert record == whole
