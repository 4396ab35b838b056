"""Hills: each pass worked out once, numbered, paired and added up."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from ridelog.analysis.braking.events import measured_events
from ridelog.analysis.braking.hills import (
    _runs_on,
    both_ways_pct,
    cut_findings,
    descents_share_pct,
    hill_passes,
    hill_records,
    within,
)
from ridelog.analysis.scene import scene_of
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, SensorSection
from ridelog.timeline.ride import join_recordings
from sample_rides.loggers import electrical_log, track_log
from sample_rides.route import Route, Stop, Stretch
from sample_rides.simulation import Scenario, simulate

LEAST = {"min_height_m": 5.0, "min_grade_pct": 2.0}
ROAD = Route((Stretch(400.0), Stretch(500.0, grade_pct=5.0), Stretch(300.0)), stops=(Stop(1150.0, 10.0, 1.0),))


def recording(name, log, frame):
    columns = [column for column in log.columns if column != "time_s" and column in frame]
    channels = log.set_index("time_s")[columns]
    return Recording(name, name.ljust(64, "0"), "csv", channels, datetime(2026, 5, 1, 8, tzinfo=UTC), "utc")


@pytest.fixture(scope="module")
def there_and_back():
    """A hill of 25 m ridden up, over a level road, and down again; perfect logs."""
    ride = simulate(Scenario(ROAD.there_and_back()))
    log = electrical_log(ride)
    track = track_log(ride, position_error_m=0.3, altitude_error_m=0.1)
    electrical = recording("log.csv", log, ("current_a", "voltage_v", "speed_mps"))
    positions = recording("track.csv", track, ("latitude_deg", "longitude_deg", "altitude_m"))
    scene = scene_of(join_recordings([electrical, positions], Bike(sensor=SensorSection(standby_draw_a=0.06))))
    events = measured_events(scene)
    passes, pairs = hill_passes(scene, events, **LEAST)
    return ride, scene, events, passes, pairs


def test_a_hill_ridden_both_ways_is_one_hill_of_two_passes(there_and_back):
    _, scene, _, passes, pairs = there_and_back
    assert [(one.slope.direction, one.number) for one in passes] == [("up", 1), ("down", 1)]
    assert pairs == ((0, 1),)
    assert [one.name for one in passes] == ["Hill 1, up", "Hill 1, down"]
    hills, both = hill_records(scene, passes, pairs)
    assert [hill.id for hill in hills] == ["1-up", "1-down"]
    assert [(pair.up, pair.down) for pair in both] == [("1-up", "1-down")]
    assert both[0].recovered_pct.value == pytest.approx(both_ways_pct(passes[0], passes[1]).value)


def test_a_hill_has_the_height_and_grade_of_its_road(there_and_back):
    """500 m of 5 %: 24.97 m; what smoothing and a barometer of 0.1 m leave is below half a metre."""
    _, scene, _, passes, pairs = there_and_back
    (up, down), _ = hill_records(scene, passes, pairs)
    assert up.height_m.value == pytest.approx(24.97, abs=0.5)
    assert down.height_m.value == pytest.approx(-24.97, abs=0.5)
    assert up.height_m.low95 < 24.97 < up.height_m.high95
    assert up.length_m == pytest.approx(500, abs=25)
    assert up.mean_grade_pct.value == pytest.approx(5.0, abs=0.3)
    assert (up.recovered_pct is None, down.recovered_pct) == (False, None)


def test_what_came_back_going_down_is_the_share_of_all_that_came_back(there_and_back):
    _, scene, _, passes, pairs = there_and_back
    (_, down), _ = hill_records(scene, passes, pairs)
    whole = scene.flow.total.energy.returned
    assert down.share_of_returned_pct.value == pytest.approx(100 * down.returned_wh.value / whole.value)
    assert descents_share_pct(scene, passes).value == pytest.approx(down.share_of_returned_pct.value)
    assert descents_share_pct(scene, passes[:1]) is None


def test_energy_on_the_hill_is_that_of_the_truth(there_and_back):
    """Ends known to 8 m and a second: 2 % of what is drawn going up at a steady pace over 500 m."""
    ride, _, _, passes, _ = there_and_back
    on_it = (ride.distance_m > 400) & (ride.distance_m < 900)
    drawn_wh = np.maximum(ride.power_w, 0)[on_it].sum() * ride.step_s / 3600
    assert passes[0].energy.drawn.value == pytest.approx(drawn_wh, rel=0.03)


def test_braking_counts_on_a_hill_as_far_as_it_lies_on_it(there_and_back):
    _, scene, events, passes, _ = there_and_back
    first, last = passes[1].run
    counted, losing = within(scene, events, passes[1].run)
    assert counted == passes[1].counted
    assert all(first <= start < end <= last for start, end in (*counted, *losing))
    assert within(scene, events, (first, first)) == ([], [])


def test_a_hill_that_the_heights_do_not_hold_whole_is_said_to_be_cut(there_and_back):
    _, scene, _, passes, pairs = there_and_back
    hills, _ = hill_records(scene, passes, pairs)
    assert cut_findings(hills, passes) == []
    before = replace(passes[0], unseen=((0.0, 20.0, 100.0), (0.0, 0.0, 0.0)))
    (finding,) = cut_findings(hills[:1], [before])
    assert finding.code == "hill-cut"
    assert (finding.facts["goes_on_before"], finding.facts["goes_on_after"]) == (True, False)


def test_a_ride_without_heights_has_no_hills(there_and_back):
    _, scene, events, _, _ = there_and_back
    bare = replace(scene, heights=None)
    assert hill_passes(bare, events, **LEAST) == ((), ())
    assert hill_records(bare, (), ()) == ((), ())


def test_no_second_is_on_two_hills():
    """Ten metres a sample: hills that meet at 104 m, those that share nothing, and a short one between two others."""
    distance_m = np.arange(0.0, 400.0, 10.0)
    assert _runs_on(distance_m, [(20.0, 104.0), (104.0, 200.0)]) == [(2, 10), (10, 20)]
    assert _runs_on(distance_m, [(20.0, 100.0), (150.0, 205.0)]) == [(2, 10), (15, 21)]
    first, short, last = _runs_on(distance_m, [(20.0, 104.0), (104.0, 126.0), (126.0, 200.0)])
    assert (first[1], short[1]) == (short[0], last[0]) == (10, 13)
    assert _runs_on(distance_m, [(5.0, 7.0), (7.0, 9.0)]) == [(0, 1), (0, 1)]  # nothing lies between to part them


def test_which_distances_are_known_is_looked_for_once_a_ride_not_once_a_hill(monkeypatch):
    """On 52 hills of a long log at 100 Hz that took as long as reading a third of it."""
    distance_m, asked = 10.0 * np.arange(21), []
    once = np.isfinite
    monkeypatch.setattr(np, "isfinite", lambda values: asked.append(np.size(values)) or once(values))
    _runs_on(distance_m, [(20.0, 100.0), (150.0, 160.0), (170.0, 205.0)])
    assert asked.count(21) == 1
