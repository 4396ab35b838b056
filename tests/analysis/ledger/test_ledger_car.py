"""The ledger of a car on a drive cycle against an independent vehicle model, where that is installed.

`fastsim` (NREL; Apache-2.0) drives a battery car over the UDDS cycle and keeps what flowed in every part of it. The
ledger gets speed, battery power, mass, CdA, Crr and air density, and must find the rest. What differs by construction:
its g is 0.05 % smaller, and it takes air at the mean speed of each second.
"""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.scene import with_braking
from tests.analysis.ledger.test_entries import accounts, flow_of
from tests.analysis.scenes import scene_by_hand

fastsim = pytest.importorskip("fastsim", reason="the vehicle model fastsim is not installed (pip install .[car])")

VOLTS = 400.0
AIR_DENSITY = (
    fastsim.Air.get_density()
)  # what its drag goes by, 22 °C at 180 m; not the 1.2 that its table shows [kg/m³]


@pytest.fixture(scope="module")
def driven():
    """The drive as a table, a column a quantity, and the car's road load."""
    vehicle = fastsim.Vehicle.from_resource("2022_Renault_Zoe_ZE50_R135.yaml")
    vehicle.set_save_interval(1)
    drive = fastsim.SimDrive(vehicle, fastsim.Cycle.from_resource("udds.csv"))
    drive.run()
    table, body = drive.to_dataframe(), vehicle.to_dict()["chassis"]
    rotating_kg = body["num_wheels"] * body["wheel_inertia_kilogram_square_meters"] / body["wheel_radius_meters"] ** 2
    mass_kg = table["veh.history.mass_kilograms"].iloc[-1]
    load = RoadLoad(
        mass_kg,
        mass_kg + rotating_kg,
        body["drag_coef"] * body["frontal_area_square_meters"],
        body["wheel_rr_coef"],
        AIR_DENSITY,
    )
    return table, load


@pytest.fixture(scope="module")
def entry(driven):
    """The ledger of the whole drive."""
    table, load = driven
    time_s = table["veh.history.time_seconds"].to_numpy(dtype=float)
    speed = table["veh.history.speed_ach_meters_per_second"].to_numpy(dtype=float)
    level = np.zeros(len(time_s))
    power_w = table["veh.pt_type.BEV.res.history.pwr_out_electrical_watts"].to_numpy(dtype=float)
    flow = flow_of(time_s, power_w / VOLTS, VOLTS, current_zero_limit_a=0.0)
    scene = scene_by_hand(Motion(time_s, speed, level, level), load, flow=flow, braking=[])
    return accounts(with_braking(replace(scene, regen_mask=power_w < -VOLTS))).ride()


def joules(table, name):
    """What flowed over the whole drive by the model's own count, as Wh."""
    return float(table[f"veh.history.energy_{name}_joules"].iloc[-1]) / 3600


def split(table, name):
    """The positive and the negative part of a power over the drive's seconds [Wh]."""
    power_w = table[name].to_numpy(dtype=float)[1:]
    return float(power_w[power_w > 0].sum()) / 3600, float(-power_w[power_w < 0].sum()) / 3600


def test_air_and_rolling_are_those_of_the_vehicle_model(driven, entry):
    """0.2 %: trapezoids of v³ at one second against the cube of the mean, 0.1 % more; rolling by g to 0.07 %."""
    table, _ = driven
    assert entry.air_wh.value == pytest.approx(joules(table, "drag"), rel=2e-3)
    assert entry.rolling_wh.value == pytest.approx(joules(table, "rr"), rel=1e-3)
    assert entry.kinetic_wh.value == pytest.approx(joules(table, "accel"), abs=1e-3)


def test_the_battery_s_energy_is_that_of_the_vehicle_model(driven, entry):
    """Its powers are steady over the second that they end, which adds up to the same as trapezoids of a second."""
    table, _ = driven
    drawn, returned = split(table, "veh.pt_type.BEV.res.history.pwr_out_electrical_watts")
    assert entry.drawn_wh.value == pytest.approx(drawn, rel=0.01)
    assert entry.returned_wh.value == pytest.approx(returned, rel=0.02)


def test_what_braking_offered_and_missed_is_that_of_the_vehicle_model(driven, entry):
    """Offered against the wheels' negative work; 4 %: the events are cut at whole seconds, and drive at their edges.

    Nothing was braked by friction in this drive, so all that was missed was lost between wheel and battery.
    """
    table, _ = driven
    assert joules(table, "brake") == 0
    _, offered = split(table, "veh.history.pwr_tractive_watts")
    _, returned = split(table, "veh.pt_type.BEV.res.history.pwr_out_electrical_watts")
    assert entry.available_wh.value == pytest.approx(offered, rel=0.04)
    assert entry.missed_wh.value == pytest.approx(offered - returned, rel=0.15)


def test_work_at_the_wheel_and_rest_are_those_of_the_vehicle_model(driven, entry):
    """To the wheel: its positive work, 2 %. The rest: what driving and the auxiliaries lost, drawn less that work."""
    table, _ = driven
    driving, offered = split(table, "veh.history.pwr_tractive_watts")
    drawn, _ = split(table, "veh.pt_type.BEV.res.history.pwr_out_electrical_watts")
    assert joules(table, "tractive") == pytest.approx(driving - offered, rel=1e-3)
    assert entry.to_wheel_wh.value == pytest.approx(driving, rel=0.02)
    assert entry.unexplained_wh.value == pytest.approx(drawn - driving, rel=0.05)
