"""Rides in step are held against the fine simulation, against the machine's own formulas and against closed forms."""

import dataclasses
import math

import numpy as np
import pytest

from sample_rides import quillmoor
from sample_rides.fleet.ceilings import SpeedCeilings
from sample_rides.fleet.lockstep import ride_all, stacked
from sample_rides.fleet.motors import battery_w, largest_drive_n, largest_regen_n
from sample_rides.machine import GRAVITY_MPS2, Machine, Motor, Rider
from sample_rides.route import Bend, Road, Route, Stop, Stretch
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Scenario, simulate
from sample_rides.truth import truth
from sample_rides.weather import Weather


@pytest.fixture(scope="module")
def scenarios():
    rng = np.random.default_rng(20)
    return [quillmoor.no_return(), *(random_scenario(rng) for _ in range(2))]


@pytest.fixture(scope="module")
def rides(scenarios):
    return ride_all(scenarios, [Road(scenario.route) for scenario in scenarios])


def test_a_ride_in_step_is_that_of_the_fine_simulation(scenarios, rides):
    # Steps five times as long move each lag by about half a step of 0.1 s and the moment a brake is touched by one
    # step: 0.1 s of at most 250 W is 0.007 Wh at each of some 20 brakings, of 1 to 3 Wh returned and 25 drawn.
    for scenario, ride in zip(scenarios, rides, strict=True):
        fine = truth(simulate(scenario))
        assert ride.duration_s == pytest.approx(fine.duration_s, abs=1.0)
        assert ride.distance_m[-1] == pytest.approx(fine.distance_m, abs=1.0)
        assert ride.totals["drawn_wh"] == pytest.approx(fine.drawn_wh, rel=0.005)
        assert ride.totals["drawn_ah"] == pytest.approx(fine.drawn_ah, rel=0.005)
        assert ride.totals["returned_wh"] == pytest.approx(fine.returned_wh, abs=0.08)
        assert ride.totals["returned_ah"] == pytest.approx(fine.returned_ah, abs=0.08 / 36)
        assert ride.totals["rider_wh"] == pytest.approx(fine.ledger.rider_wh, rel=0.005)
        assert ride.totals["friction_wh"] == pytest.approx(fine.ledger.friction_wh, rel=0.02)
        assert ride.totals["available_wh"] == pytest.approx(sum(e.available_wh for e in fine.events), rel=0.05)


def test_the_energy_at_the_wheel_balances(scenarios, rides):
    # Standing at both ends: all that was put in went into brakes, losses and height. The midpoint rule leaves an error
    # of the order of (step / time constant)², and resistance is taken in the middle of each step: 1 in 10,000.
    for scenario, ride in zip(scenarios, rides, strict=True):
        total = ride.totals
        first, last = ride.road.height_m(ride.distance_m[[0, -1]])
        lost = sum(total[f"{name}_wh"] for name in ("motor_brake", "friction", "air", "rolling", "motor_drag"))
        potential_wh = scenario.machine.mass_kg * GRAVITY_MPS2 * (last - first) / 3600
        put_in = total["rider_wh"] + total["motor_drive_wh"]
        assert put_in == pytest.approx(lost + potential_wh, rel=1e-4)


def test_counts_by_second_end_at_the_totals(rides):
    for ride in rides:
        for name in ("drawn_wh", "returned_wh", "available_wh"):
            counted = getattr(ride, name)
            assert np.all(np.diff(counted) >= 0)
            assert counted[-1] == pytest.approx(ride.totals[name], abs=0.01)  # the last second stands, drawing 0.1 A


def test_a_rides_numbers_do_not_depend_on_who_rides_beside_it(scenarios, rides):
    ride, scenario = min(zip(rides, scenarios, strict=True), key=lambda pair: pair[0].duration_s)
    alone = ride_all([scenario], [Road(scenario.route)])[0]
    assert alone.totals == ride.totals
    np.testing.assert_array_equal(alone.current_a, ride.current_a)


def test_cruising_on_the_level_draws_what_the_closed_form_says():
    # At a steady v without rider: P = (F v + I²R) / η with I = F r / k and F = ½ρ CdA v² + Crr m g + drag. The motor's
    # current times the terminal voltage is not exactly its share: R_p · standby = 0.008 V of 50 V is left out here.
    machine = Machine(mass_kg=100.0, cda_m2=0.5, crr=0.008, motor_drag_n=1.0)
    rider = Rider(power_w=0.0, push_n=0.0, cruise_mps=6.0, waver=0.0)
    scenario = Scenario(Route((Stretch(1500.0),)), machine=machine, rider=rider)
    ride = ride_all([scenario], [Road(scenario.route)])[0]
    speed = float(ride.speed_mps[150])
    force = 0.5 * 1.225 * 0.5 * speed**2 + 0.008 * 100 * GRAVITY_MPS2 + 1.0
    loss = (force * (2.15 / (2 * math.pi)) / 1.1) ** 2 * 0.22
    power = (force * speed + loss) / 0.96
    assert speed == pytest.approx(6.0, abs=0.01)
    motor_w = float((ride.current_a[150] - 0.06) * ride.voltage_v[150])
    assert motor_w == pytest.approx(power, rel=1e-3)


def test_the_formulas_for_many_motors_are_those_for_one():
    rng = np.random.default_rng(3)
    motors = [Motor(regen_nm=float(rng.uniform(5, 30)), regen_limit_a=float(rng.uniform(0, 9))) for _ in range(200)]
    speed, pack_v, force = rng.uniform(0, 12, 200), rng.uniform(30, 58, 200), rng.uniform(-120, 140, 200)
    many = stacked(motors)
    drive, regen = largest_drive_n(many, speed, pack_v), largest_regen_n(many, speed, pack_v)
    power, loss = battery_w(many, force, speed)
    for index, motor in enumerate(motors):
        assert drive[index] == pytest.approx(motor.largest_drive_n(speed[index], pack_v[index]), rel=1e-12)
        assert regen[index] == pytest.approx(motor.largest_regen_n(speed[index], pack_v[index]), rel=1e-12, abs=1e-12)
        assert (power[index], loss[index]) == pytest.approx(motor.battery_w(force[index], speed[index]), rel=1e-12)


def test_the_ceiling_falls_evenly_to_stops_and_bends():
    # v² = v_end² + 2 a s: by hand, 20 m before a stop at 1.2 m/s² and 10 m before a bend of 5 m/s at 1 m/s².
    route = Route((Stretch(800.0),), (Stop(300, 5, 1.2),), (Bend(500, 5.0, 15.0, 1.0),))
    tables = SpeedCeilings([Scenario(route, rider=Rider(descent_mps=8.0))], [Road(route)])

    def at(metre):
        ceiling2, decel = tables.at(np.array([float(metre)]))
        return float(ceiling2[0]), float(decel[0])

    assert at(100) == (64.0, 0.0)
    assert at(280) == (pytest.approx(48.0), 1.2)
    assert at(490) == (pytest.approx(45.0), 1.0)
    assert at(508) == (25.0, 0.0)
    assert at(520) == (64.0, 0.0)


@pytest.mark.parametrize(
    "changes",
    [
        {"weather": Weather(mean_mps=2.0)},
        {"start_mps": 3.0, "lead_s": 0.0},
        {"pack": dataclasses.replace(quillmoor.commute().pack, trip_cell_v=4.25)},
    ],
)
def test_what_rides_in_step_cannot_do_is_refused(changes):
    scenario = dataclasses.replace(quillmoor.commute(), **changes)
    with pytest.raises(ValueError, match="no weather"):
        ride_all([scenario], [Road(scenario.route)])


def test_a_ride_that_does_not_end_is_refused():
    scenario = Scenario(Route((Stretch(900.0),)))
    with pytest.raises(ValueError, match="not over after 60 s"):
        ride_all([scenario], [Road(scenario.route)], longest_s=60.0)
