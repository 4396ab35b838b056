"""The totals of a ride, worked by hand."""

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.flow import NO_FLOW, electrical_flow
from ridelog.analysis.scene import scene_of
from ridelog.analysis.summary import charge_record, distance_of, energy_record, summary_record
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.trials import UNKNOWN, exact
from tests.timeline.simulated import START, controller_log, track_log, true_ride


def an_hour():
    """8 A out for 50 s and 4 A in for 10 s, for an hour at 50 V: 6.67 Ah drawn, 0.67 Ah returned."""
    time_s = np.arange(0, 3600.1, 0.2)
    current = np.where(time_s % 60 < 50, 8.0, -4.0)
    frame = pd.DataFrame({"current_a": current, "voltage_v": 50.0}, index=pd.Index(time_s, name="time_s"))
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    return electrical_flow(recording, sensor=SensorSection(current_zero_limit_a=0.0, standby_draw_a=0.0))


def test_charge_is_what_flowed():
    charge = charge_record(an_hour())
    assert charge.drawn_ah.value == pytest.approx(8 * 50 / 60, rel=2e-3)
    assert charge.returned_ah.value == pytest.approx(4 * 10 / 60, rel=5e-3)
    assert charge.recovered_pct.value == pytest.approx(10.0, rel=5e-3)
    assert charge.recovered_pct.low95 < 10.0 < charge.recovered_pct.high95


def test_energy_per_kilometre_and_the_way_that_came_back():
    """300 Wh net over 20 km: 15 Wh/km, and 33.3 Wh returned are 2.22 km at that rate."""
    energy = energy_record(an_hour(), exact(20_000.0))
    assert energy.net_wh_per_km.value == pytest.approx(15.0, rel=3e-3)
    assert energy.distance_gained_m.value == pytest.approx(1000 * energy.returned_wh.value / 15.0, rel=3e-3)
    assert energy.descents_share_of_returned_pct is None


@pytest.mark.parametrize("distance", [UNKNOWN, exact(10.0)], ids=["not known", "hardly any"])
def test_without_a_way_nothing_is_told_per_kilometre(distance):
    energy = energy_record(an_hour(), distance)
    assert (energy.net_wh_per_km, energy.distance_gained_m) == (None, None)
    assert energy.drawn_wh is not None


def test_without_an_electrical_log_nothing_flowed_that_is_known():
    assert charge_record(NO_FLOW) == type(charge_record(NO_FLOW))(None, None, None)
    assert energy_record(NO_FLOW, exact(20_000.0)).drawn_wh is None


@pytest.fixture(scope="module")
def ridden():
    """A simulated ride of ten minutes, its scene and its truth."""
    truth = true_ride(5, 600.0)
    ride = join_recordings([controller_log(truth), track_log(truth)], name="To Quillmoor")
    return ride, scene_of(ride), truth


def test_the_summary_tells_the_ride_as_it_was(ridden):
    """Distance to 2 %; moving is above 0.5 m/s."""
    ride, scene, truth = ridden
    distance = distance_of(ride, scene)
    assert distance.value == pytest.approx(truth.distance_m[-1], rel=0.02)
    summary = summary_record(ride, scene, distance)
    assert (summary.name, summary.start) == ("To Quillmoor", START)
    assert summary.duration_s == pytest.approx(600, abs=1)
    assert summary.moving_s == pytest.approx(0.05 * (truth.speed_mps > 0.5).sum(), rel=0.03)
    true_m = np.diff(truth.altitude_m)
    assert summary.ascent_m.value == pytest.approx(true_m[true_m > 0].sum(), abs=6)
    assert summary.descent_m.value == pytest.approx(-true_m[true_m < 0].sum(), abs=6)


def test_a_log_without_a_way_and_without_wall_time_tells_neither():
    truth = true_ride(5, 300.0)
    ride = join_recordings([controller_log(truth, clock="elapsed", with_speed=False)])
    scene = scene_of(ride)
    assert not distance_of(ride, scene).known
    summary = summary_record(ride, scene, UNKNOWN)
    assert (summary.start, summary.distance_m, summary.moving_s, summary.ascent_m) == (None, None, None, None)
