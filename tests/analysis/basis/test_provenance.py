"""What an answer rests on: settings, the bike's values with their sources, columns, places, time zone."""

import io
from dataclasses import asdict

import pytest

import ridelog
from ridelog.analysis.basis.provenance import LIMIT_KEYS
from ridelog.analysis.braking.force import BrakingSettings
from ridelog.analysis.measure import measure
from ridelog.answer.provenance import NO_VALUE, BikeValue
from ridelog.settings.bike import Bike, BikeSection, MotorSection, PackSection, RoadSection, SensorSection
from ridelog.timeline.clock.settings import ClockSettings
from ridelog.timeline.ride import join_recordings
from tests.scenarios import sample_answer
from tests.timeline.simulated import controller_log, recording, track_log, true_ride


@pytest.fixture(scope="module")
def recordings():
    true = true_ride(7_299, 300.0)
    return controller_log(true, step_s=0.5), track_log(true)


def measured(recordings, bike=None, **settings):
    return measure(join_recordings(list(recordings), bike), **settings)


def test_every_key_of_the_bike_file_has_one_value_or_is_the_limit_of_one(recordings):
    used = measured(recordings).bike.values()
    keys = {
        f"{section}.{key}"
        for section, part in Bike.model_fields.items()
        for key in part.annotation.model_fields
        if key not in LIMIT_KEYS and (section, key) != ("bike", "name")
    }
    assert set(used) == keys


def test_an_empty_bike_file_gives_what_is_assumed(recordings):
    """Values and limits as the bike file's document states them."""
    used = measured(recordings).bike.values()
    assert used["bike.total_mass_kg"] == BikeValue(110.0, 30.0, "assumed")
    assert used["road.crr"] == BikeValue(0.0077, 0.0062, "assumed")
    assert used["sensor.current_zero_limit_a"] == BikeValue(0.15, None, "assumed")
    assert used["sensor.standby_draw_a"] == BikeValue(0.2, 0.2, "assumed")  # from 0 to 0.4 A
    assert used["sensor.averaged"] == BikeValue(False, None, "assumed")
    assert used["pack.full_cell_v"] == BikeValue(4.2, None, "assumed")
    assert used["pack.charge_path"] == BikeValue("unknown", None, "assumed")
    assert used["pack.capacity_ah"] == used["cost.currency"] == used["motor.kind"] == NO_VALUE


def test_the_air_pressure_is_that_of_the_standard_atmosphere_at_the_rides_height(recordings):
    """At 50 m or so, 1013.25 hPa less 0.12 hPa/m."""
    pressure = measured(recordings).bike.road["air_pressure_hpa"]
    assert pressure.value == pytest.approx(1013.25 - 0.12 * 50, abs=3)
    assert pressure.source == "assumed"


def test_what_was_entered_is_said_to_be_with_its_limit(recordings):
    bike = Bike(
        bike=BikeSection(name="Tern", total_mass_kg=100.0, wheel_circumference_m=2.1),
        pack=PackSection(full_cell_v=4.15, charge_path="unknown"),
        motor=MotorSection(kind="direct-drive"),
        sensor=SensorSection(standby_draw_a=0.05, averaged=False),
        road=RoadSection(cda_m2=0.5, cda_limit_m2=0.1, crr=0.01, motor_drag_n=2.0),
    )
    answer = measured(recordings, bike)
    used = answer.bike.values()
    assert answer.bike.name == "Tern"
    assert used["bike.total_mass_kg"] == BikeValue(100.0, pytest.approx(3.0), "entered")  # 3 % where no limit is given
    assert used["road.cda_m2"] == BikeValue(0.5, 0.1, "entered")
    assert used["road.crr"] == BikeValue(0.01, pytest.approx(0.004), "entered")  # 40 %
    assert used["road.motor_drag_n"] == BikeValue(2.0, pytest.approx(0.4), "entered")  # 20 %
    assert used["pack.full_cell_v"] == BikeValue(4.15, None, "entered")
    assert used["pack.charge_path"] == BikeValue("unknown", None, "entered")
    assert used["motor.kind"] == BikeValue("direct-drive", None, "entered")
    assert used["sensor.standby_draw_a"] == BikeValue(0.05, None, "entered")
    assert used["sensor.averaged"] == BikeValue(False, None, "entered")
    assert used["bike.wheel_circumference_m"].value == 2.1


def test_a_motor_that_freewheels_does_not_drag_as_its_kind_says(recordings):
    drag = measured(recordings, Bike(motor=MotorSection(kind="geared-freewheel"))).bike.road["motor_drag_n"]
    assert drag == BikeValue(0.0, 0.0, "entered")


def test_a_circumference_that_the_track_shows_is_measured():
    """The wheel turns once in 2.2 m."""
    true = true_ride(7_298, 420.0)
    log = controller_log(true, step_s=0.5, with_speed=False)
    turns_rpm = 60 * true.speed_mps[:: round(0.5 / 0.05)][: len(log.frame)] / 2.2
    counted = recording("controller.csv", log.time_s, wheel_speed_rpm=turns_rpm, **dict(log.frame))
    found = measured((counted, track_log(true))).bike.wheel_circumference_m
    assert found.source == "measured"
    assert found.value == pytest.approx(2.2, rel=0.03)
    assert found.limit == pytest.approx(0.015 * found.value)


def test_every_threshold_is_told_with_the_value_used(recordings):
    settings = measured(recordings, min_height_m=8.0, min_grade_pct=3.0).settings
    assert settings["hills"]["min_height_m"] == 8.0
    assert settings["hills"]["min_grade_pct"] == 3.0
    assert settings["braking"] == asdict(BrakingSettings())
    assert settings["clock"] == asdict(ClockSettings())
    assert settings["ledger"]["generator_efficiency"] == (0.45, 0.92)
    assert settings["height_coverage"]["partial_below_pct"] == 95.0


def test_hills_have_their_number_and_their_places():
    answer = sample_answer("commute")
    for hill in answer.hills:
        assert hill.id == f"{hill.number}-{hill.direction}"
        assert hill.name == f"Hill {hill.number}, {hill.direction}"
        assert hill.start is not None
        assert hill.end is not None
    up, down = (next(hill for hill in answer.hills if hill.id == id_) for id_ in (
        answer.hill_pairs[0].up, answer.hill_pairs[0].down))  # fmt: skip
    assert up.start.latitude_deg == pytest.approx(down.end.latitude_deg, abs=50 / 111_000)  # within 50 m
    assert up.start.longitude_deg == pytest.approx(down.end.longitude_deg, abs=50 / 76_000)


def test_heights_over_a_part_of_the_ride_are_told():
    """The track covers the last 60 %; nearly as much of the moving time, for stops are anywhere."""
    true = true_ride(7_297, 600.0)
    answer = measured((controller_log(true, step_s=0.5), track_log(true, start_s=240.0)))
    assert answer.ride.height_covered_pct == pytest.approx(60, abs=12)
    (finding,) = [each for each in answer.findings if each.code == "height-partial"]
    assert finding.severity == "warning"


def test_columns_are_told_as_they_were_understood():
    answer = sample_answer("commute")
    assert {column.channel for column in answer.sources[1].columns} >= {"latitude_deg", "longitude_deg", "altitude_m"}
    by_name = {column.column: column for column in answer.sources[0].columns}
    speed = by_name["wheel speed [km/h]"]
    assert (speed.quantity, speed.unit, speed.channel, speed.sign) == ("speed", "km/h", "speed_mps", 1)
    assert speed.factor == pytest.approx(1 / 3.6)
    assert speed.why


LOG = "time,battery current [A],battery voltage [V],gear\n" + "".join(
    f"2026-05-04 09:00:{second:02d},{2.0 if second % 3 else -1.0},48.{second % 10},3\n" for second in range(40)
)


def load(text=LOG, columns=None):
    files = [("log.csv", io.BytesIO(text.encode()))]
    return ridelog.load_ride(files, columns=None if columns is None else io.BytesIO(columns.encode()))


def test_a_column_that_is_not_used_has_no_factor_and_no_sign():
    columns = {column.column: column for column in measure(load()).sources[0].columns}
    gear = columns["gear"]
    assert (gear.channel, gear.factor, gear.sign, gear.offset) == (None, None, None, None)


def test_the_time_zone_is_the_one_that_the_map_names():
    assert measure(load(columns='[log]\ntime_zone = "Europe/Lisbon"\n')).ride.time_zone == "Europe/Lisbon"
    assert measure(load()).ride.time_zone is None
