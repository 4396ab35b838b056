"""The net benefit of regeneration: published vectors, closed forms, and a ride ridden again with a freewheel."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.flow import NO_FLOW
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.analysis.electrical.rest import Rest
from ridelog.analysis.measure import measure
from ridelog.analysis.road.drag import (
    DEFAULT_CIRCUMFERENCE_M,
    DRAG_TORQUE_NM,
    Drag,
    drag_facts,
    drag_of,
    wheel_radius_m,
)
from ridelog.analysis.worth.benefit import (
    BATTERY_EFFICIENCY,
    DRIVE_EFFICIENCY,
    benefit_record,
    break_even_drag_n,
    drag_cost_wh_per_km,
    dragged_range,
    unbraked_share,
    unpowered_limit_a,
    verdict_of,
)
from ridelog.recording import Recording, checked
from ridelog.settings.bike import Bike, BikeSection, MotorSection, RoadSection, SensorSection
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import Uncertain, evenly_between, exact
from sample_rides.loggers import electrical_log
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import simulate

ONE_KM = exact(1000.0)


def energy(drawn, returned):
    """Drawn and returned that are known exactly [Wh]."""
    return Throughput(exact(drawn), exact(returned))


def bike(kind=None, drag_n=None, circumference_m=None):
    return Bike(
        bike=BikeSection(wheel_circumference_m=circumference_m),
        motor=MotorSection(kind=kind),
        road=RoadSection(motor_drag_n=drag_n),
    )


# A drag torque at a wheel of 0.34 m: F = T/r, and 1 N over 1 km is 1000 J = 1/3.6 Wh (computed by hand, three digits).
@pytest.mark.parametrize(
    ("torque_nm", "force_n", "wh_per_km"),
    [(0.2, 0.588, 0.163), (0.5, 1.471, 0.408), (1.0, 2.941, 0.817), (1.5, 4.412, 1.225)],
)
def test_a_drag_torque_costs_its_work_at_the_rim(torque_nm, force_n, wh_per_km):
    assert torque_nm / 0.34 == pytest.approx(force_n, abs=5e-4)
    cost = drag_cost_wh_per_km(exact(torque_nm / 0.34), 1.0, drive_efficiency=exact(1.0))
    assert cost.value == pytest.approx(wh_per_km, abs=5.1e-4)


# 3.6 η E and times 0.34 m (computed by hand, three digits)
@pytest.mark.parametrize(
    ("returned", "efficiency", "force_n", "torque_nm"),
    [
        (0.2, 1.0, 0.72, 0.245),
        (0.5, 1.0, 1.8, 0.612),
        (1.0, 1.0, 3.6, 1.224),
        (0.2, 0.8, 0.576, 0.196),
        (0.5, 0.8, 1.44, 0.490),
        (1.0, 0.8, 2.88, 0.979),
    ],
)
def test_the_break_even_drag_is_that_of_the_worked_table(returned, efficiency, force_n, torque_nm):
    found_n = break_even_drag_n(exact(returned), 1.0, efficiency=exact(efficiency)).value
    assert found_n == pytest.approx(force_n, abs=5e-4)
    assert 0.34 * found_n == pytest.approx(torque_nm, abs=6e-4)


def test_at_the_break_even_drag_nothing_is_gained():
    """The one formula solved is the other's zero (algebra), trial by trial."""
    efficiency = exact(0.95 * 0.8)
    returned = Uncertain(0.7, np.array([0.5, 0.7, 0.9]))
    drag_n = break_even_drag_n(returned, 0.4, efficiency=efficiency)
    net = returned * 0.95 - drag_cost_wh_per_km(drag_n, 0.4, drive_efficiency=exact(0.8))
    assert net.value == pytest.approx(0.0, abs=1e-12)
    np.testing.assert_allclose(net.trials, 0.0, atol=1e-12)


def test_the_net_benefit_is_what_can_be_drawn_again_less_the_drag():
    """0.7 * 0.95 - 2 * 0.5 / (3.6 * 0.75) = 0.665 - 0.370370 = 0.294630 Wh/km at the middle of both rectangles."""
    found = benefit_record(energy(10.0, 0.7), ONE_KM, Drag(2.0, 2.0, "entered"), (0.5, 0.5), 0.34)
    assert (sum(BATTERY_EFFICIENCY) / 2, sum(DRIVE_EFFICIENCY) / 2) == pytest.approx((0.95, 0.75))
    assert found.net_wh_per_km.value == pytest.approx(0.294630, abs=1e-6)


def test_without_drag_the_interval_is_that_of_storing():
    """2 Wh/km times a rectangle: its 2.5 % and 97.5 % quantiles lie 2.5 % of its width inside.

    4000 trials place a quantile of 2.5 % within 0.25 % of the width (binomial standard deviation); three of these.
    """
    low, high = BATTERY_EFFICIENCY
    found = benefit_record(energy(10.0, 2.0), ONE_KM, Drag(0.0, 0.0, "entered"), (0.2, 0.8), 0.34)
    width = high - low
    assert found.net_wh_per_km.value == pytest.approx(low + high)
    assert found.net_wh_per_km.low95 == pytest.approx(2 * (low + 0.025 * width), abs=2 * 0.0075 * width)
    assert found.net_wh_per_km.high95 == pytest.approx(2 * (high - 0.025 * width), abs=2 * 0.0075 * width)
    assert found.verdict == "gains"


def test_without_return_the_interval_is_that_of_the_drive():
    """-F φ / (3.6 η) falls with η: the bounds are those of η's rectangle, 2.5 % of its width in; trials as above."""
    low, high = DRIVE_EFFICIENCY
    width = high - low
    found = benefit_record(
        energy(10.0, 0.0), ONE_KM, Drag(3.6, 3.6, "entered"), (0.5, 0.9), 0.34
    ).unpowered_net_wh_per_km
    bounds = [-0.5 / (low + 0.025 * width), -0.5 / (high - 0.025 * width)]
    assert found.low95 == pytest.approx(bounds[0], abs=0.5 / low**2 * 0.0075 * width)
    assert found.high95 == pytest.approx(bounds[1], abs=0.5 / low**2 * 0.0075 * width)


def test_the_interval_of_the_drag_reaches_from_what_rolls_unpowered_to_all_that_is_not_braked():
    """F φ / (3.6 η) with F exactly 2 N, φ 0.3 and 1, at the quantiles of η's rectangle, trials as above."""
    low, high = DRIVE_EFFICIENCY
    width = high - low
    found = benefit_record(energy(10.0, 0.0), ONE_KM, Drag(2.0, 2.0, "entered"), (0.3, 1.0), 0.34)
    cost, chance = found.drag_wh_per_km, 2 / 3.6 / low**2 * 0.0075 * width
    assert cost.low95 == pytest.approx(0.6 / 3.6 / (high - 0.025 * width), abs=chance)
    assert cost.high95 == pytest.approx(2 / 3.6 / (low + 0.025 * width), abs=chance)
    assert cost.value == pytest.approx(1.3 / 3.6 / (sum(DRIVE_EFFICIENCY) / 2))
    assert found.verdict == "loses"


def test_a_return_that_the_drag_may_have_eaten_cannot_be_told():
    """0.5 Wh/km came back; 2 N over all of the way cost 0.65 to 0.85 of it more, over none of it nothing."""
    found = benefit_record(energy(10.0, 0.5), ONE_KM, Drag(2.0, 2.0, "entered"), (0.0, 1.0), 0.34)
    assert found.net_wh_per_km.low95 < 0 < found.net_wh_per_km.high95
    assert found.verdict == "not-told"


def test_one_number_counts_only_what_rolls_unpowered_as_dragged():
    """3.6 N on a quarter of the way at the mean efficiency: 0.25 / η; the return as without drag (by hand)."""
    found = benefit_record(energy(10.0, 1.0), ONE_KM, Drag(3.6, 3.6, "entered"), (0.25, 0.9), 0.34)
    kept, driven = sum(BATTERY_EFFICIENCY) / 2, sum(DRIVE_EFFICIENCY) / 2
    assert found.unpowered_net_wh_per_km.value == pytest.approx(kept - 0.25 / driven)
    assert (found.unpowered_pct, found.unbraked_pct) == pytest.approx((25.0, 90.0))


def test_the_break_even_drag_is_that_of_all_the_way_that_is_not_braked():
    """3.6 η 1 Wh/km / 0.9, times 0.34 m; without such a way no drag costs anything."""
    found = benefit_record(energy(10.0, 1.0), ONE_KM, Drag(3.6, 3.6, "entered"), (0.25, 0.9), 0.34)
    efficiency = sum(BATTERY_EFFICIENCY) * sum(DRIVE_EFFICIENCY) / 4
    assert found.break_even_n.value == pytest.approx(4 * efficiency)
    assert found.break_even_nm.value == pytest.approx(0.34 * 4 * efficiency)
    assert benefit_record(energy(10.0, 1.0), ONE_KM, Drag(3.6, 3.6, "entered"), (0.0, 0.0), 0.34).break_even_n is None


def test_this_drive_and_a_freewheeling_one_differ_by_the_net_benefit():
    found = benefit_record(energy(10.0, 0.5), ONE_KM, Drag(1.0, 2.0, "entered"), (0.2, 0.8), 0.34)
    difference = found.freewheeling_wh_per_km.value - found.use_wh_per_km.value
    assert difference == pytest.approx(found.net_wh_per_km.value, abs=1e-12)
    assert found.distance_gained_m.value == pytest.approx(1000 * difference / found.use_wh_per_km.value, abs=1e-9)


def test_an_unsure_distance_widens_what_a_km_brought():
    """1 Wh over a rectangle whose 95 % are 950 to 1050 m: 1/1.05 to 1/0.95 Wh/km; trials as above, width 0.11."""
    distance = evenly_between(1000 - 50 / 0.95, 1000 + 50 / 0.95, np.random.default_rng(1))
    found = benefit_record(energy(10.0, 1.0), distance, Drag(0.0, 0.0, "entered"), (0.0, 1.0), 0.34)
    assert found.returned_wh_per_km.low95 == pytest.approx(1 / 1.05, abs=0.001)
    assert found.returned_wh_per_km.high95 == pytest.approx(1 / 0.95, abs=0.001)


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [(0.1, 0.4, "gains"), (-0.4, -0.1, "loses"), (-0.1, 0.4, "not-told"), (None, None, "not-told")],
)
def test_the_verdict_follows_from_the_interval(low, high, verdict):
    assert verdict_of(Quantity(0.1, low, high)) == verdict


@pytest.mark.parametrize("kind", ["geared-freewheel", "mid-drive"])
def test_a_drive_that_freewheels_does_not_drag(kind):
    found = drag_of(bike(kind, drag_n=2.0), returned_something=True)
    assert (found.low_n, found.high_n) == (0.0, 0.0)


def test_the_drag_of_the_bike_file_comes_before_any_assumption():
    """2 N ± 20 %."""
    found = drag_of(bike("direct-drive", drag_n=2.0), returned_something=True)
    assert (found.low_n, found.high_n) == pytest.approx((1.6, 2.4))
    assert found.source == "entered"


@pytest.mark.parametrize(("kind", "returned"), [("direct-drive", False), ("geared-locked", False), (None, True)])
def test_a_motor_that_turns_with_the_wheel_is_assumed_to_drag_and_says_so(kind, returned):
    """0.2 to 1 N m at a wheel of 2.0 m circumference, r = 2.0 / 2π (by hand: 0.628 to 3.14 N)."""
    found = drag_of(bike(kind, circumference_m=2.0), returned_something=returned)
    assert (found.low_n, found.high_n) == pytest.approx((0.2 * math.pi, 1.0 * math.pi))
    assert DRAG_TORQUE_NM == (0.2, 1.0)
    assert found.source == "assumed"
    assert drag_facts(found)["motor_drag_high_nm"] == 1.0


def test_a_motor_of_unknown_kind_that_returned_nothing_may_freewheel():
    assert drag_of(bike(), returned_something=False) is None


def test_the_wheel_has_the_radius_of_its_circumference():
    assert wheel_radius_m(bike(circumference_m=2.0)) == pytest.approx(1 / math.pi)
    assert wheel_radius_m(bike()) == pytest.approx(DEFAULT_CIRCUMFERENCE_M / (2 * math.pi))


def test_drag_counts_on_the_way_that_is_neither_braked_nor_stood():
    """Ten steps of 1 s: 2 at 5 m powered, 3 at 5 m rolling, 3 at 5 m braked, 2 at rest; 15 of 40 m roll (by hand)."""
    current = np.array([10, 10, 10, 0, 0, 0, -5, -5, -5, 0.0, 0.0])
    distance = np.concatenate(([0.0], np.cumsum([5.0] * 8 + [0.0] * 2)))
    braked = current < 0
    time_s = np.arange(11.0)
    # steps: 0-1, 1-2 powered; 2-3 half powered; 3-4, 4-5 roll; 5-6 to 8-9 braked at an end
    assert unbraked_share(time_s, distance, current, braked, most_a=0.1) == pytest.approx(10 / 40)
    assert unbraked_share(time_s, distance, current, braked) == pytest.approx(25 / 40)


def test_a_bike_that_never_moves_has_no_share():
    assert unbraked_share(np.arange(5.0), np.zeros(5), np.ones(5), np.zeros(5, dtype=bool)) is None
    assert unbraked_share(np.zeros(1), np.zeros(1), np.ones(1), np.zeros(1, dtype=bool)) is None


def test_steps_of_unknown_distance_are_left_out():
    """Three of four steps are known; one of them rolls."""
    distance = np.array([0.0, 5.0, 10.0, 15.0, np.nan])
    current = np.array([0.0, 0.0, 9.0, 9.0, 9.0])
    none = np.zeros(5, dtype=bool)
    assert unbraked_share(np.arange(5.0), distance, current, none, most_a=0.1) == pytest.approx(1 / 3)


def test_the_motor_is_unpowered_up_to_the_reading_at_rest_and_its_noise():
    rest = Rest(mean_a=0.08, n=100, duration_s=20.0, noise_a=0.05, resolution_a=0.01)
    assert unpowered_limit_a(replace(NO_FLOW, rest=rest), standby_a=None) == pytest.approx(0.08 + 4 * 0.05 + 0.01)


def test_without_a_reading_at_rest_the_standby_draw_of_the_bike_file_counts():
    assert unpowered_limit_a(NO_FLOW, standby_a=0.05) == pytest.approx(0.15)


def test_without_current_nothing_is_known_of_the_drag():
    assert dragged_range(NO_FLOW, np.arange(3.0), np.arange(3.0), np.zeros(3, dtype=bool), standby_a=None) is None


@pytest.mark.parametrize("seed", range(4))
def test_the_interval_holds_what_the_same_ride_saves_against_a_freewheel(seed):
    """The ride is simulated once more without regen and drag; what leaves the cells then less what left them before.

    The simulated drag acts in full under power too, which is one end of what the interval allows for.
    """
    scenario = random_scenario(np.random.default_rng(seed))
    machine = scenario.machine
    ride = simulate(scenario)
    freewheeling = simulate(
        replace(
            scenario,
            machine=replace(machine, motor_drag_n=0.0),
            motor=replace(scenario.motor, regen_nm=0.0),
        )
    )
    from_cells = [float((each.open_v * each.current_a).sum() * each.step_s / 3600) for each in (ride, freewheeling)]
    saved = (from_cells[1] - from_cells[0]) / (float(ride.distance_m[-1]) / 1000)
    log = electrical_log(ride, step_s=0.2, seed=seed)[["time_s", "current_a", "voltage_v", "speed_mps"]].copy()
    log.index = pd.Index(log.pop("time_s").to_numpy(), name="time_s")
    log.index = log.index - log.index[0]
    known = Bike(
        bike=BikeSection(total_mass_kg=machine.mass_kg),
        motor=MotorSection(kind="direct-drive"),
        sensor=SensorSection(standby_draw_a=scenario.pack.standby_a),
        road=RoadSection(cda_m2=machine.cda_m2, crr=machine.crr, motor_drag_n=machine.motor_drag_n),
    )
    recording = checked(Recording("log.csv", "a" * 64, "csv", log, scenario.start, "utc"))
    net = measure(join_recordings([recording], known)).worth.benefit.net_wh_per_km
    assert net.low95 < saved < net.high95
