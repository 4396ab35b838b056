"""The simulation is what other tests trust, so it is held against closed forms and against itself."""

import dataclasses
import gzip
import itertools
import json
import math
import xml.etree.ElementTree as ET
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pyproj import Geod

from sample_rides import make, quillmoor
from sample_rides.loggers import Clock, electrical_log, track_log
from sample_rides.machine import Machine, Motor, Pack, PackState, Rider
from sample_rides.route import Bend, Road, Route, Stop, Stretch
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Scenario, simulate
from sample_rides.truth import truth
from sample_rides.writers import Column, iso_text, write_csv, write_gpx

SAMPLES = Path(make.__file__).parent
G = 9.80665
KMH = 1 / 3.6

# The bicycle of the worked tables: 110 kg, wheels of 0.14 kg m² together at 0.311 m (Martin et al. 1998).
MASS, EFFECTIVE, CRR, CDA, DENSITY = 110.0, 110.0 + 0.14 / 0.311**2, 0.0077, 0.559, 1.225
BARE = Machine(MASS, EFFECTIVE - MASS, CDA, CRR, DENSITY, motor_drag_n=0.0)
# lets the bike roll; below 1.2 m/s he pedals on to the end
IDLE = Rider(power_w=40.0, push_n=40.0, cruise_mps=1.0, motor_share=0.0, descent_mps=60.0)


@pytest.fixture(scope="module")
def commute():
    return simulate(quillmoor.commute())


def rolling(route, speed_mps, **changes):
    return simulate(Scenario(route, BARE, rider=IDLE, start_mps=speed_mps, lead_s=0.0, tail_s=1.0, **changes))


def test_a_rolling_bike_loses_speed_as_the_closed_form_says():
    # m dv/dt = -(A + B v²): v = v_c tan(φ0 - t/τ), x = (m/B) ln(cos(φ0 - t/τ)/cos φ0), evaluated by hand for the
    # bicycle above from 25 km/h. The table has six digits; the midpoint rule at 0.02 s is finer than that.
    table = {0: (6.944444, 0), 5: (5.936593, 32.11973), 10: (5.097490, 59.64581), 20: (3.754020, 103.60094),
             30: (2.690309, 135.64797), 40: (1.790164, 157.94749)}  # fmt: skip
    ride = rolling(Route((Stretch(190.0),)), 25 * KMH, step_s=0.02)
    for time_s, (speed, distance) in table.items():
        index = round(time_s / 0.02)
        assert ride.time_s[index] == pytest.approx(time_s, abs=1e-9)
        assert ride.speed_mps[index] == pytest.approx(speed, abs=1e-5)
        assert ride.distance_m[index] == pytest.approx(distance, abs=1e-4)


@pytest.mark.parametrize(("grade_pct", "kmh"), [(3, 30.17), (5, 41.53), (8, 54.25)])
def test_a_bike_let_go_on_a_slope_settles_at_the_terminal_speed(grade_pct, kmh):
    # v = sqrt((m g sinθ - Crr m g cosθ)/(½ρ CdA)), worked out to 0.01 km/h; over 2.2 km the approach, which fades
    # by e in m_e/(ρ CdA) = 163 m, is over.
    route = Route((Stretch(2200.0, -grade_pct), Stretch(300.0)), start_height_m=300.0)
    ride = rolling(route, 0.9 * kmh * KMH)
    at_end = np.searchsorted(ride.distance_m, 2180.0)
    assert ride.speed_mps[at_end] / KMH == pytest.approx(kmh, abs=0.006)


@pytest.mark.parametrize(
    ("kmh", "decel", "available_wh"),
    [(15, 0.5, 0.2143), (15, 1, 0.2415), (15, 2, 0.2551), (25, 0.5, 0.5246), (25, 1, 0.6355), (25, 2, 0.6910),
     (32, 1, 0.9834), (45, 0.5, 0.8971), (45, 2, 2.0382)],
)  # fmt: skip
def test_a_stop_offers_its_kinetic_energy_less_what_air_and_rolling_take(commute, kmh, decel, available_wh):
    # ½ m v0² - A v0²/(2a) - B v0⁴/(4a), to four digits. The stop is drawn, not ridden, so that its deceleration is
    # exactly constant.
    n, step = math.floor(kmh * KMH / decel / 0.01) + 1, 0.01
    time_s = step * np.arange(n + 100)
    braked = time_s < kmh * KMH / decel
    speed = np.maximum(kmh * KMH - decel * time_s, 0.0)
    distance = np.concatenate(([0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * step)))
    still = ("height_m", "current_a", "motor_w", "motor_n", "rider_n", "head_wind_mps")
    flat = {name: np.zeros_like(time_s) for name in still}
    drawn = dataclasses.replace(
        commute,
        scenario=Scenario(Route((Stretch(1000.0),)), BARE, step_s=step),
        road=Road(Route((Stretch(1000.0),))),
        time_s=time_s,
        speed_mps=speed,
        distance_m=distance,
        friction_n=100.0 * braked,
        voltage_v=np.full_like(time_s, 48.0),
        open_v=np.full_like(time_s, 48.0),
        winding_loss_w=np.zeros_like(time_s),
        shelter_ratio=np.ones_like(time_s),
        **flat,
    )
    (event,) = truth(drawn).events
    assert event.kind == "stop"
    assert event.available_wh == pytest.approx(available_wh, abs=1e-4)


def test_a_ridden_stop_offers_what_its_mean_deceleration_predicts():
    # The same closed form; the hand needs a moment to reach the full force, so 2 % is asked for.
    route = Route((Stretch(60.0),), stops=(Stop(24.0, 5.0, 1.0),))
    ride = rolling(route, 25 * KMH, motor=Motor(regen_nm=0.0))
    event = truth(ride).events[0]
    mean = event.start_speed_mps**2 / 2 / 24.0
    force, square = CRR * MASS * G, 0.5 * DENSITY * CDA
    v2 = event.start_speed_mps**2
    closed_form_wh = (EFFECTIVE * v2 / 2 - force * v2 / (2 * mean) - square * v2**2 / (4 * mean)) / 3600
    assert event.kind == "stop"
    assert event.available_wh == pytest.approx(closed_form_wh, rel=0.02)


@pytest.mark.parametrize(
    ("kmh", "largest_w", "at_10_a", "at_20_a"),
    [(5, 30, 0.592, 0.184), (10, 120, 0.796, 0.592), (15, 270, 0.864, 0.728), (25, 751, 0.918, 0.837)],
)
def test_the_motor_generates_as_the_equivalent_direct_current_machine(kmh, largest_w, at_10_a, at_20_a):
    # P = E I - I²R with E = k v/r, k 1.2 N m/A, R 0.2 ohm, r 0.34 m; the table has three digits.
    motor = Motor(1.2, 0.2, 1.0, 0.34, regen_nm=1000.0, regen_limit_a=1000.0, fade_mps=0.1)
    speed = kmh * KMH
    for amps, share in ((10, at_10_a), (20, at_20_a)):
        force = 1.2 * amps / 0.34
        assert -motor.battery_w(-force, speed)[0] / (force * speed) == pytest.approx(share, abs=6e-4)
    strongest = motor.largest_regen_n(speed, 48.0)
    assert -motor.battery_w(-strongest, speed)[0] == pytest.approx(largest_w, abs=0.7)
    assert -motor.battery_w(-1.02 * strongest, speed)[0] < -motor.battery_w(-strongest, speed)[0]


def test_the_battery_current_limit_of_regen_is_kept():
    motor = Motor(regen_nm=100.0, regen_limit_a=4.0)
    force = motor.largest_regen_n(9.0, 50.0)
    assert -motor.battery_w(-force, 9.0)[0] == pytest.approx(4.0 * 50.0, rel=1e-9)


@pytest.mark.parametrize("motor_w", [-400.0, 0.0, 700.0])
def test_the_pack_serves_power_at_open_circuit_voltage_less_resistive_drop(motor_w):
    pack = Pack(resistance_ohm=0.15, standby_a=0.05)
    current, volts = PackState(pack).serve(motor_w, 0.02)
    assert volts == pytest.approx(pack.open_v(pack.start_soc) - 0.15 * current, abs=1e-12)
    assert (current - 0.05) * volts == pytest.approx(motor_w, abs=1e-9)


def test_mechanical_energy_closes_to_a_thousandth(commute):
    # Every term anew from speed, height and force, by trapezoids, not from the simulation's own sums.
    machine, dt = commute.scenario.machine, commute.step_s
    v = commute.speed_mps

    def work_j(force_n):
        return float(np.sum(force_n[:-1] * (v[1:] + v[:-1]) / 2 * dt))

    sine = np.gradient(commute.road.height_m(np.arange(0.0, commute.road.route.length_m, 0.5)), 0.5)
    cosine = np.sqrt(1 - np.interp(commute.distance_m, 0.5 * np.arange(len(sine)), sine) ** 2)
    gained = work_j(commute.rider_n) + work_j(np.maximum(commute.motor_n, 0))
    air = float(np.trapezoid(0.5 * machine.air_density * machine.cda_m2 * v**3, dx=dt))
    rolling_j = float(np.trapezoid(machine.crr * machine.mass_kg * G * cosine * v, dx=dt))
    drag = machine.motor_drag_n * float(np.trapezoid(v, dx=dt))
    brakes = work_j(commute.friction_n) + work_j(np.maximum(-commute.motor_n, 0))
    climbed = machine.mass_kg * G * (commute.height_m[-1] - commute.height_m[0])
    assert v[0] == v[-1] == 0
    assert air + rolling_j + drag + brakes + climbed == pytest.approx(gained, rel=1e-3)
    told = truth(commute).ledger
    for part, known in ((air, told.air_wh), (rolling_j, told.rolling_wh), (drag, told.motor_drag_wh)):
        assert known == pytest.approx(part / 3600, rel=1e-3)


def test_electrical_energy_and_charge_close(commute):
    told, pack = truth(commute), commute.scenario.pack
    ledger = told.ledger
    losses = ledger.controller_loss_wh + ledger.winding_loss_wh + ledger.standby_wh
    at_wheel = ledger.motor_drive_wh - ledger.motor_brake_wh
    assert told.drawn_wh - told.returned_wh == pytest.approx(at_wheel + losses, rel=1e-6)
    assert min(ledger.controller_loss_wh, ledger.winding_loss_wh, ledger.pack_heat_wh) > 0
    used_ah = pack.capacity_ah * (pack.start_soc - float(commute.soc_ratio[-1]))
    assert told.drawn_ah - told.returned_ah == pytest.approx(used_ah, rel=1e-6)


def test_a_step_half_as_long_changes_the_recovered_share_by_less_than_0_005_points(commute):
    finer = simulate(dataclasses.replace(commute.scenario, step_s=commute.step_s / 2))
    assert truth(finer).recovered_wh_pct == pytest.approx(truth(commute).recovered_wh_pct, abs=0.005)
    assert len(truth(finer).events) == len(truth(commute).events)


def test_a_hill_reaches_from_its_authored_foot_to_its_authored_top(commute):
    # Long Hill by hand: 260 m at 4.5 %, 330 at 6.5, 120 at 4, as sines; rounding foot and top over 20 m takes
    # 20/8 of the change of slope at either end.
    sines = [math.sin(math.atan(grade / 100)) for grade in (0.2, 4.5, 6.5, 4.0, -0.3)]
    height = 260 * sines[1] + 330 * sines[2] + 120 * sines[3]
    height -= 20 / 8 * (sines[1] - sines[0] + sines[3] - sines[4])
    up, down = (hill for hill in truth(commute).hills if hill.height_m > 30)
    assert (up.direction, up.start_m, up.end_m) == ("up", 1820.0, 2530.0)
    assert up.height_m == pytest.approx(height, abs=1e-6)
    assert (down.direction, down.height_m) == ("down", pytest.approx(up.height_m, abs=1e-9))
    for hill in (up, down):
        for time_s, along_m in ((hill.start_s, hill.start_m), (hill.end_s, hill.end_m)):
            assert np.interp(time_s, commute.time_s, commute.distance_m) == pytest.approx(along_m, abs=0.2)
    assert up.drawn_wh > 10 > up.returned_wh == 0
    assert down.returned_wh > 1 > down.drawn_wh


def test_small_and_gentle_slopes_are_no_hills():
    gentle = Route((Stretch(300.0), Stretch(600.0, 1.9), Stretch(300.0), Stretch(150.0, 5.0), Stretch(300.0)))
    assert truth(simulate(Scenario(gentle))).hills == ()


def test_the_way_back_is_the_way_out_reversed(commute):
    road, turn = commute.road, 4210.0
    ahead = np.arange(0.0, turn, 10.0)
    out, back = (np.stack(road.plan_m(at)) for at in (ahead, 2 * turn - ahead))
    assert np.abs(out - back).max() < 0.01
    assert np.abs(road.height_m(ahead) - road.height_m(2 * turn - ahead)).max() < 1e-4


def test_positions_are_as_far_apart_as_the_road_is_long(commute):
    # Geodesic lengths by pyproj on WGS 84; the local radii err by less than 0.05 % within 3 km.
    along = np.arange(0.0, 4200.0, 2.0)
    latitude, longitude = commute.road.position_deg(along)
    level = np.hypot(np.diff(along), 0) ** 2 - np.diff(commute.road.height_m(along)) ** 2
    assert Geod(ellps="WGS84").line_length(longitude, latitude) == pytest.approx(np.sqrt(level).sum(), rel=5e-4)


def test_kinds_of_braking_follow_their_definition(commute):
    # "holding" where more height than speed was lost; mass cancels but for the rotating 2 %
    events = truth(commute).events
    assert {event.kind for event in events} == {"stop", "slowing", "holding"}
    for event in events:
        kinetic = (event.start_speed_mps**2 - event.end_speed_mps**2) / 2 * 1.0204
        expected = "stop" if event.end_speed_mps < 1 else "holding" if G * event.drop_m > kinetic else "slowing"
        assert event.kind == expected
        assert 0 <= event.returned_wh < event.available_wh
    stops = [event for event in events if event.kind == "stop"]
    assert len(stops) == len(commute.scenario.route.stops) + 1  # and the one at the end
    assert all(b.start_s - a.end_s > 1.5 for a, b in itertools.pairwise(events))


def test_braking_for_a_bend_is_slowing():
    route = Route((Stretch(600.0),), bends=(Bend(300.0, 3.5),))
    slowing, stop = truth(simulate(Scenario(route))).events
    assert (slowing.kind, stop.kind) == ("slowing", "stop")
    assert slowing.end_speed_mps == pytest.approx(3.5, abs=0.4)


def test_the_battery_may_refuse_charge_until_current_was_drawn():
    ride = simulate(quillmoor.winter())
    cell_v = ride.voltage_v / ride.scenario.pack.cells_in_series
    opened = int(np.flatnonzero(cell_v > 4.27)[-1]) + 1
    refused = slice(opened, int(np.searchsorted(ride.distance_m, 1380.0)))
    assert cell_v[:opened].max() > 4.2
    assert ride.current_a[:opened].min() < -5
    assert ride.current_a[refused].min() >= 0
    assert ride.speed_mps[refused].max() < 7.5  # the friction brake holds the bike instead
    assert ride.friction_n[refused].mean() > 30
    assert ride.current_a[refused.stop :].min() < -2  # later it takes charge again


def test_a_hill_too_steep_is_reported():
    wall = Route((Stretch(50.0), Stretch(500.0, 35.0), Stretch(50.0)))
    with pytest.raises(ValueError, match="not over after 120 s"):
        simulate(Scenario(wall), longest_s=120.0)


@pytest.mark.parametrize("at_m", [-5.0, 0.0, 99.0, 1000.0])
def test_a_stop_off_the_road_is_refused(at_m):
    with pytest.raises(ValueError, match="between the start of the road and 98 m"):
        simulate(Scenario(Route((Stretch(100.0),), stops=(Stop(at_m),))))


def test_a_log_of_means_keeps_the_charge_and_one_of_instants_the_waveform(commute):
    exact = truth(commute)
    averaged = electrical_log(commute, step_s=1.0, averaged=True, current_resolution_a=0.0)
    total_ah = averaged["current_a"].iloc[1:].sum() / 3600  # all whole seconds; the last part of one holds only standby
    assert total_ah == pytest.approx(exact.drawn_ah - exact.returned_ah, abs=0.06 * 1.0 / 3600)
    instants = electrical_log(commute, step_s=0.5)
    assert np.abs(instants["current_a"] - commute.current_a[:: round(0.5 / commute.step_s)]).max() <= 0.005 + 1e-9
    assert instants["time_s"].diff().dropna().round(9).eq(0.5).all()


def test_sensor_errors_are_those_asked_for(commute):
    clean = electrical_log(commute, step_s=1.0, current_resolution_a=0.0)["current_a"]
    wrong = electrical_log(
        commute, step_s=1.0, current_resolution_a=0.0, current_gain=1.01, charge_gain=1.02, current_zero_a=-0.1
    )["current_a"]
    expected = np.where(clean < 0, 1.01 * 1.02, 1.01) * clean - 0.1
    assert np.abs(wrong - expected).max() < 1e-9
    assert electrical_log(commute, clipped=True)["current_a"].min() == 0
    noise = electrical_log(commute, current_resolution_a=0.0, current_noise_a=0.2)["current_a"]
    level = noise - electrical_log(commute, current_resolution_a=0.0)["current_a"]
    assert level.std() == pytest.approx(0.2, rel=0.05)  # 8780 samples know their deviation to 0.8 %


def test_a_track_is_stamped_by_its_own_clock(commute):
    clock = Clock(offset_s=3.7, drift_ppm=5000.0)
    track = track_log(commute, clock=clock, position_error_m=0.0, altitude_error_m=0.0, altitude_resolution_m=0.0)
    assert (track["time_s"] % 1 == 0).all()
    assert np.abs(track["time_s"] - 3.7 - 1.005 * track["moment_s"]).max() < 1e-9
    where = np.interp(track["moment_s"], commute.time_s, commute.distance_m)
    latitude, _ = commute.road.position_deg(where)
    assert np.abs(track["latitude_deg"] - latitude).max() < 1e-12
    assert np.abs(track["altitude_m"] - commute.road.height_m(where)).max() < 1e-8


def test_track_errors_are_slow_and_as_large_as_asked_for(commute):
    track = track_log(commute, position_error_m=2.0, position_memory_s=20.0, altitude_resolution_m=0.2)
    latitude, _ = commute.road.position_deg(np.interp(track["moment_s"], commute.time_s, commute.distance_m))
    error_m = (track["latitude_deg"] - latitude).to_numpy() * 111_158  # metres in a degree at 46.5° (WGS 84)
    assert error_m.std() == pytest.approx(2.0, rel=0.35)  # 1750 s hold some 45 independent errors
    assert np.corrcoef(error_m[1:], error_m[:-1])[0, 1] > 0.9
    steps = track["altitude_m"] / 0.2
    assert np.abs(steps - steps.round()).max() < 1e-6


def test_logs_are_written_with_any_delimiter_and_decimal_sign(tmp_path):
    log = pd.DataFrame({"time_s": [0.0, 0.2], "current_a": [1.5, -0.25]})
    columns = [
        Column("Zeit", "time_s", text=iso_text(datetime(2026, 5, 4, 7, tzinfo=UTC))),
        Column("mA", "current_a", 0, 1e3),
    ]
    write_csv(tmp_path / "a.csv", log, columns, delimiter=";", decimal=",", comments=["two samples"])
    write_csv(tmp_path / "b.csv", log, [Column("A", "current_a")], decimal=",")
    lines = ["# two samples", "Zeit;mA", "2026-05-04T07:00:00.0Z;1500", "2026-05-04T07:00:00.2Z;-250"]
    assert (tmp_path / "a.csv").read_text().splitlines() == lines
    assert (tmp_path / "b.csv").read_text().splitlines() == ["A", "1,50", "-0,25"]


def test_tracks_are_written_as_gpx(tmp_path):
    track = pd.DataFrame({"time_s": [59.0], "latitude_deg": [46.5], "longitude_deg": [-32.0], "altitude_m": [12.2]})
    write_gpx(tmp_path / "t.gpx", track, datetime(2026, 5, 4, 7, tzinfo=UTC))
    space = "{http://www.topografix.com/GPX/1/1}"
    (point,) = ET.parse(tmp_path / "t.gpx").getroot().iter(f"{space}trkpt")
    assert point.attrib == {"lat": "46.500000", "lon": "-32.000000"}
    assert [child.text for child in point] == ["12.2", "2026-05-04T07:00:59Z"]


@pytest.mark.parametrize("seed", range(6))
def test_rides_by_chance_end_and_recover_a_usual_share(seed):
    scenario = random_scenario(np.random.default_rng(seed))
    assert random_scenario(np.random.default_rng(seed)) == scenario
    told = truth(simulate(scenario))
    assert 0.5 < told.recovered_wh_pct < 20
    assert all(hill.height_m >= 8 for hill in told.hills)
    assert len(told.events) >= 3


def test_the_committed_sample_rides_are_what_the_script_makes(tmp_path, capsys):
    make.main(["--folder", str(tmp_path)])
    assert len(capsys.readouterr().out.splitlines()) == len(make.SAMPLES) + 1
    made = {path.relative_to(tmp_path): unpacked(path) for path in tmp_path.rglob("*") if path.is_file()}
    assert (
        len(made) == 5 * len(make.SAMPLES) + 29
    )  # the campaign: two logs a ride, two bike files, two lists of rides, one truth
    differing = [str(name) for name, content in made.items() if unpacked(SAMPLES / name) != content]
    assert differing == []
    assert max(len(content) for content in made.values()) < 450_000


def unpacked(path):
    """What a file holds; the same text may be packed into other bytes by another library."""
    return gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()


@pytest.mark.parametrize(("slug", "low", "high"), [("commute", 7.5, 8.5), ("errand", 4, 6)])
def test_the_sample_rides_recover_what_their_words_promise(slug, low, high):
    told = json.loads((SAMPLES / slug / "truth.json").read_text())
    assert low < told["recovered_wh_pct"] < high
    assert told["log_shows_return"]


def test_the_commute_has_hills_both_ways_and_a_long_rest_between():
    told = json.loads((SAMPLES / "commute" / "truth.json").read_text())
    there, back = ([hill for hill in told["hills"] if (hill["start_m"] > 4210) == way] for way in (False, True))
    assert min(len(there), len(back)) >= 3
    assert all(8 <= hill["height_m"] <= 40 for hill in there + back)
    assert 180 < told["duration_s"] - told["moving_s"] < 420
    assert 25 * 60 - 120 < told["moving_s"] < 35 * 60
