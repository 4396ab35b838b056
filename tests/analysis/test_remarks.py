"""What a rider must know of a ride as a whole: which findings, by what is missing."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.flow import NO_FLOW, electrical_flow
from ridelog.analysis.remarks import log_findings, motor_findings, scene_findings
from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.scene import scene_of
from ridelog.answer.braking import Braking
from ridelog.answer.ride import Charge, Energy
from ridelog.recording import ColumnReading, Recording
from ridelog.settings.bike import SensorSection
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.quantity import Quantity
from tests.analysis.scenes import scene_by_hand
from tests.timeline.simulated import controller_log, track_log, true_ride

TIME_S = np.arange(0, 1200, 0.2)
STATED = SensorSection(
    current_zero_limit_a=0.1, current_gain_limit_pct=1.0, charge_gain_limit_pct=0.2, voltage_gain_limit_pct=0.5
)


def scene(*, sensor=STATED, lost=slice(0, 0), current=True):
    """Twenty minutes at 6 m/s on the level."""
    n = len(TIME_S)
    frame = pd.DataFrame({"current_a": 5.0, "voltage_v": 50.0}, index=pd.Index(TIME_S, name="time_s"))
    frame = frame.drop(index=frame.index[lost])
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    flow = electrical_flow(recording, sensor=sensor) if current else NO_FLOW
    motion = Motion(TIME_S, np.full(n, 6.0), np.full(n, 20.0), np.zeros(n))
    return scene_by_hand(motion, RoadLoad(100.0, 100.0, 0.5, 0.008, 1.2), flow=flow)


def codes(findings):
    return [finding.code for finding in findings]


def test_a_ride_of_which_everything_is_known_has_no_remark():
    assert codes(scene_findings(scene())) == []


def test_what_was_assumed_of_sensor_and_bike_is_stated_with_its_limits():
    (finding,) = scene_findings(scene(sensor=SensorSection(current_zero_limit_a=0.1)))
    assert finding.code == "sensor-defaults"
    assert set(finding.facts) == {"current_gain_limit_pct", "charge_gain_limit_pct", "voltage_gain_limit_pct"}
    assumed = {"total_mass_kg": 110.0, "total_mass_limit_kg": 30.0}
    (finding,) = scene_findings(replace(scene(), assumed=assumed))
    assert (finding.code, finding.facts["total_mass_kg"]) == ("bike-defaults", 110.0)


def test_a_log_that_is_missing_for_five_minutes_of_twenty_says_how_much():
    (finding,) = scene_findings(scene(lost=slice(3000, 4500)))
    assert finding.code == "gaps"
    assert finding.facts["uncovered_pct"] == pytest.approx(25.0, abs=0.1)
    assert finding.facts["missing_s"] == pytest.approx(300, abs=1)


@pytest.mark.parametrize(("readings", "n_values"), [([np.nan] * 4, 0), ([np.nan, 5.0, np.nan, np.nan], 1)])
@pytest.mark.parametrize("channel", ["current_a", "power_w"])
def test_a_column_that_holds_too_little_is_told_from_none(readings, n_values, channel):
    """It stands in the file, so it is false that no file holds it; no flow is worked out of a single value."""
    frame = pd.DataFrame({channel: readings, "speed_mps": 5.0}, index=np.arange(4.0)).dropna(axis=1, how="all")
    columns = (ColumnReading("time", None, "time"), ColumnReading("I [A]", channel, "battery current", "A"))
    part = Recording("rides/a.csv", "", "csv", frame, None, "elapsed", columns=columns)
    (finding,) = scene_findings(scene(current=False), [part])
    assert finding.code == "no-battery-current"
    assert dict(finding.facts) == {"file": "a.csv", "column": "I [A]", "n_values": n_values}
    (finding,) = scene_findings(scene(current=False), [replace(part, columns=columns[:1])])
    assert set(finding.facts.values()) == {None}


def test_an_empty_column_is_told_from_one_that_was_left_out():
    """What the user does not want used may hold anything."""
    frame = pd.DataFrame({"speed_mps": 5.0}, index=np.arange(4.0))
    empty = ColumnReading("I [A]", None, "battery current", "A", is_empty=True)
    for reading, n_values in ((empty, 0), (replace(empty, is_empty=False), None)):
        part = Recording("a.csv", "", "csv", frame, None, "elapsed", columns=(reading,))
        (finding,) = scene_findings(scene(current=False), [part])
        assert finding.facts["n_values"] == n_values


def test_what_is_not_logged_is_named():
    whole = scene()
    assert codes(scene_findings(scene(current=False))) == ["no-battery-current"]
    assert codes(scene_findings(replace(whole, heights=None))) == ["no-height"]
    still = replace(whole, motion=replace(whole.motion, speed_mps=np.full(len(TIME_S), np.nan)))
    still = replace(still, flow=replace(still.flow, shows_return=True))
    (finding,) = [each for each in scene_findings(still) if each.code == "no-speed"]
    assert finding.facts["used_for"] == "braking"


def test_without_speed_and_without_a_current_that_shows_what_came_back_no_braking_is_found():
    """A track of heights alone, and a log that drops the sign."""
    unknown_mps = np.full(len(TIME_S), np.nan)
    for blind in (scene(current=False), replace(scene(), flow=replace(scene().flow, shows_return=False))):
        still = replace(blind, motion=replace(blind.motion, speed_mps=unknown_mps))
        (finding,) = [each for each in scene_findings(still) if each.code == "no-speed"]
        assert finding.facts["used_for"] == "nothing"


def record(recovered_pct, returned_wh):
    share = Quantity(recovered_pct, 0.9 * recovered_pct, 1.1 * recovered_pct)
    returned = Quantity(returned_wh, 0.9 * returned_wh, 1.1 * returned_wh)
    return Charge(Quantity(4.0), Quantity(0.2), share), Energy(Quantity(200.0), returned, share, None, None)


def test_a_motor_that_freewheels_cannot_have_returned_anything():
    found = motor_findings("geared-freewheel", replace(scene(), regen_mask=np.ones(len(TIME_S), bool)), *record(8, 16))
    assert len(found) == 1
    assert motor_findings("direct-drive", scene(), *record(8.0, 16.0)) == []


def test_a_share_that_no_bicycle_brings_back_on_the_level_is_doubted():
    (finding,) = motor_findings("direct-drive", scene(), *record(60.0, 120.0))
    assert (finding.code, finding.facts["recovered_pct"]) == ("recovered-unusually-high", 60.0)


def test_verdicts_on_a_log_need_a_log():
    truth = true_ride(5, 300.0)
    track = join_recordings([track_log(truth)])
    assert log_findings(track, scene_of(track), Braking(None, None, None, ()), track.series) == []
    ride = join_recordings([controller_log(truth)])
    found = log_findings(ride, scene_of(ride), Braking(None, None, None, ()), ride.series)
    assert "current-at-rest" in codes(found)
