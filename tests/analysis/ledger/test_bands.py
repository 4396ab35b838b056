"""Braking by speed against closed forms, and limits of the return against simulated motors that have one or none."""

import dataclasses
import math

import numpy as np
import pytest

from ridelog.analysis.braking.events import measured_events
from ridelog.analysis.ledger.bands import return_limit, speed_bands
from ridelog.analysis.ledger.record import limited
from ridelog.tell.findings import sentence
from sample_rides.loggers import electrical_log
from sample_rides.machine import Rider
from sample_rides.route import Route, Stop, Stretch
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Scenario, simulate
from tests.analysis.ledger.test_entries import BASELINE, accounts, flow_of, perfect, sloping


def stop(kmh=45.0, decel=1.0, current_a=-4.0, n=4501):
    """A steady stop on the level with a steady current at 48 V."""
    time_s = np.linspace(0, kmh / 3.6 / decel, n)
    flow = flow_of(time_s, np.full(n, current_a), current_zero_limit_a=0.01)
    speed = np.maximum(kmh / 3.6 - decel * time_s, 0.0)
    return sloping(time_s, speed, 0.0, flow=flow, braking=[(0, n - 1)])


def bands_of(scene, **more):
    return speed_bands(scene, measured_events(scene), **more)


def offered_wh(from_kmh, to_kmh, decel=1.0):
    """½ m_e (v1² - v0²) - A (v1² - v0²)/2a - B (v1⁴ - v0⁴)/4a of the baseline bicycle, by hand."""
    v1, v0 = from_kmh / 3.6, to_kmh / 3.6
    force, square = 0.0077 * 110 * 9.80665, 0.5 * 1.225 * 0.559
    squares, fourths = v1**2 - v0**2, v1**4 - v0**4
    joules = BASELINE.effective_mass_kg * squares / 2 - force * squares / (2 * decel) - square * fourths / (4 * decel)
    return joules / 3600


def test_a_stop_is_cut_into_bands_as_the_closed_form_says():
    """Each band loses speed at 1 m/s² and so lasts Δv; 4 A at 48 V return 192 W; 1e-3 for the steps of 3 ms."""
    bands = bands_of(stop())
    bounds = [(0, 10), (10, 20), (20, 30), (30, None)]
    assert [(band.low_kmh, band.high_kmh) for band in bands] == bounds
    for band, (low, upper) in zip(bands, bounds, strict=True):
        high = upper or 45
        seconds = (high - low) / 3.6
        assert band.time_s == pytest.approx(seconds, abs=0.006)
        assert band.available_wh.value == pytest.approx(offered_wh(high, low), abs=1e-3)
        assert band.returned_wh.value == pytest.approx(192 * seconds / 3600, abs=1e-3)
        assert band.missed_wh.value == pytest.approx(band.available_wh.value - band.returned_wh.value, abs=1e-12)
        share = 100 * band.returned_wh.value / band.available_wh.value
        if share > 100:  # 192 W at walking pace is more than the wheel has to give
            assert band.captured_pct is None
        else:
            assert band.captured_pct.value == pytest.approx(share, rel=1e-9)


def test_bands_are_where_the_keyword_puts_them():
    bands = bands_of(stop(), edges_kmh=(25,))
    assert [(band.low_kmh, band.high_kmh) for band in bands] == [(0, 25), (25, None)]
    assert bands[0].available_wh.value == pytest.approx(offered_wh(25, 0), abs=1e-3)


@pytest.mark.parametrize("edges", [(20, 10), (0, 10), (10, 10)])
def test_edges_that_do_not_increase_are_refused(edges):
    with pytest.raises(ValueError, match="increase"):
        bands_of(stop(), edges_kmh=edges)


def test_bands_add_up_to_the_ride():
    """What came back is that of the ride's braking to 1e-6; what was available to 1 %: single events are cut at 0."""
    scene, _, _ = perfect(71)
    bands, entry = bands_of(scene), accounts(scene).ride()
    caught = entry.available_wh.value - entry.missed_wh.value
    assert math.fsum(band.returned_wh.value for band in bands) == pytest.approx(caught, rel=1e-6)
    assert math.fsum(band.available_wh.value for band in bands) == pytest.approx(entry.available_wh.value, rel=0.01)


def test_what_a_band_cannot_have_given_is_taken_off_the_others():
    """Three amperes: more comes back below 10 km/h than was there, and the ride still had what it had."""
    scene = stop(kmh=20.0, n=2001, current_a=-3.0)
    (event,) = measured_events(scene)
    bands = bands_of(scene)
    assert bands[0].returned_wh.value > 0.97 * offered_wh(10, 0)
    told = math.fsum(band.available_wh.value for band in bands)
    assert told <= event.available_wh.value * (1 + 1e-9)
    for band in bands:
        assert band.available_wh.low95 <= band.available_wh.value <= band.available_wh.high95


def test_a_band_is_of_the_braking_whose_heights_are_known():
    """Two like stops, the second without a height: available and captured are the first's, the return is both's."""
    whole = stop(n=901)
    time_s = np.concatenate((whole.time_s, whole.time_s + whole.time_s[-1] + 0.01))
    speed = np.tile(whole.motion.speed_mps, 2)
    flow = flow_of(time_s, np.full(1802, -4.0), current_zero_limit_a=0.01)
    both = sloping(time_s, speed, 0.0, flow=flow, braking=[(0, 900), (902, 1801)])
    unseen = np.where(np.arange(1802) > 901, np.nan, both.force.state_j)
    scene = dataclasses.replace(both, force=dataclasses.replace(both.force, state_j=unseen))
    for band, alone, twice in zip(bands_of(scene), bands_of(whole), bands_of(both), strict=True):
        assert band.available_wh.value == pytest.approx(alone.available_wh.value, abs=1e-3)
        assert band.returned_wh.value == pytest.approx(twice.returned_wh.value)
        assert band.returned_wh.value > 1.9 * alone.returned_wh.value
        assert (band.captured_pct is None) == (alone.captured_pct is None)
        assert band.missed_wh.value == pytest.approx(alone.missed_wh.value, abs=2e-3)


def limited_ride(scenario, motor_changes, **log_changes):
    """The log of a ride whose motor is changed, as a flow, and its speed."""
    changed = dataclasses.replace(scenario, motor=dataclasses.replace(scenario.motor, **motor_changes))
    log = electrical_log(simulate(changed), **log_changes)
    time_s = log["time_s"].to_numpy()
    return (
        flow_of(time_s, log["current_a"].to_numpy(), log["voltage_v"].to_numpy()),
        time_s,
        log["speed_mps"].to_numpy(),
    )


STRONG = {"torque_constant": 1.2, "resistance_ohm": 0.15, "regen_nm": 40.0}
STOPS = tuple(Stop(float(at_m), 6.0, 1.2) for at_m in range(250, 2900, 250))
TOWN = Scenario(Route((Stretch(3000.0),), stops=STOPS), rider=Rider(cruise_mps=7.2, coast_s=0.5))


@pytest.mark.parametrize("limit_a", [2.0, 3.0, 4.0])
@pytest.mark.parametrize("noise_a", [0.0, 0.05])
def test_a_limit_of_the_controller_is_found_at_its_current(limit_a, noise_a):
    """Eleven stops from 26 km/h by a motor that could brake harder than its current allows.

    The simulation limits the power to ``regen_limit_a`` times the open voltage: at the terminals that is up to 1.5 %
    less current, and 0.06 A of standby less; and its torque follows in 0.25 s, so that it stays up to 8 % behind.
    """
    found = return_limit(*limited_ride(TOWN, {**STRONG, "regen_limit_a": limit_a}, current_noise_a=noise_a))
    assert found is not None
    assert 0.90 * limit_a - 0.06 <= found.current_a.value <= limit_a
    assert found.current_a.low95 < found.current_a.value < found.current_a.high95
    assert found.n_events >= 6
    (finding,) = limited(found)
    assert (finding.facts["limit_a"], finding.facts["above_mps"]) == (found.current_a.value, found.above_mps)
    assert "raise" not in sentence(finding)


@pytest.mark.parametrize("seed", range(83, 89))
def test_a_motor_without_a_limit_of_its_current_shows_none(seed):
    """Its torque alone is limited: the current follows the speed."""
    scenario = random_scenario(np.random.default_rng(seed), n_hills=3)
    for each in (scenario, dataclasses.replace(TOWN, seed=seed)):
        assert return_limit(*limited_ride(each, {"regen_limit_a": 60.0})) is None
    assert limited(None) == []


def test_a_steady_current_at_a_steady_speed_is_no_limit():
    """Five descents held at 25 km/h with a lever that rests at 4 A."""
    time_s = np.arange(0, 300, 0.2)
    current = np.where((time_s % 60) < 20, -4.0, 5.0)
    assert return_limit(flow_of(time_s, current), time_s, np.full(len(time_s), 25 / 3.6)) is None
    braking = np.where((time_s % 60) < 20, 9 - 0.2 * (time_s % 60), 6.0)  # the same current while the speed falls
    assert return_limit(flow_of(time_s, current), time_s, braking).current_a.value == pytest.approx(4.0)
