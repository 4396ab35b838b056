"""One vocabulary for every format: the same quantities and languages as column, FIT field and GPX element."""

from html import escape

import numpy as np
import pytest

from ridelog.importers import fit as fit_importer
from ridelog.importers import gpx as gpx_importer
from ridelog.importers.delimited import read as delimited
from ridelog.importers.fields import NativeField, columns_of, field_meaning, read_fields
from ridelog.settings.column_map import ColumnEntry, ColumnMap
from tests.importers.tracks import fit, gpx, point

N = 60
# name, unit, value in that unit -> channel, factor, offset, sign; factors by definition of the units
SAID = [
    ("battery current", "A", 3.0, "current_a", 1, 0, 1),
    ("current", "A", 3.0, "current_a", 1, 0, 1),
    ("Akkustrom", "mA", 3000.0, "current_a", 1e-3, 0, 1),
    ("courant batterie", "A", 3.0, "current_a", 1, 0, 1),
    ("stroom accu", "A", 3.0, "current_a", 1, 0, 1),
    ("corriente batería", "A", 3.0, "current_a", 1, 0, 1),
    ("Corrente batteria", "A", 3.0, "current_a", 1, 0, 1),
    ("regen current", "A", 3.0, "current_a", 1, 0, -1),
    ("Ladestrom", "A", 3.0, "current_a", 1, 0, -1),
    ("corriente de descarga", "A", 3.0, "current_a", 1, 0, 1),
    ("motor current", "A", 3.0, "motor_current_a", 1, 0, 1),
    ("Motorstrom", "mA", 3000.0, "motor_current_a", 1e-3, 0, 1),
    ("phase current", "A", 3.0, "motor_current_a", 1, 0, 1),
    ("battery voltage", "mV", 48000.0, "voltage_v", 1e-3, 0, 1),
    ("Batteriespannung", "V", 48.0, "voltage_v", 1, 0, 1),
    ("tension batterie", "V", 48.0, "voltage_v", 1, 0, 1),
    ("accuspanning", "V", 48.0, "voltage_v", 1, 0, 1),
    ("battery power", "W", 150.0, "power_w", 1, 0, 1),
    ("Akkuleistung", "kW", 0.15, "power_w", 1e3, 0, 1),
    ("state of charge", "%", 80.0, "state_of_charge_pct", 1, 0, 1),
    ("Ladezustand", "%", 80.0, "state_of_charge_pct", 1, 0, 1),
    ("état de charge", "%", 80.0, "state_of_charge_pct", 1, 0, 1),
    ("laadtoestand", "%", 80.0, "state_of_charge_pct", 1, 0, 1),
    ("SoC", "", 80.0, "state_of_charge_pct", 1, 0, 1),
    ("brake", "", 1.0, "brake_ratio", 1, 0, 1),
    ("Bremse", "", 1.0, "brake_ratio", 1, 0, 1),
    ("frein", "%", 50.0, "brake_ratio", 1e-2, 0, 1),
    ("Gasgriff", "%", 25.0, "throttle_ratio", 1e-2, 0, 1),
    ("cell 1", "mV", 3700.0, "cell_01_v", 1e-3, 0, 1),
    ("Zellspannung 12", "V", 3.7, "cell_12_v", 1, 0, 1),
    ("celda 3", "V", 3.7, "cell_03_v", 1, 0, 1),
    ("wheel speed", "rpm", 100.0, "wheel_speed_rpm", 1, 0, 1),
    ("Drehzahl Laufrad", "1/min", 100.0, "wheel_speed_rpm", 1, 0, 1),
    ("wheel revolutions", "", 7.0, "wheel_revolutions", 1, 0, 1),
    ("battery temperature", "°F", 68.0, "battery_temperature_c", 5 / 9, -32, 1),
    ("Température moteur", "°C", 40.0, "motor_temperature_c", 1, 0, 1),
    ("controller temp", "°C", 40.0, "controller_temperature_c", 1, 0, 1),
    ("Ah drawn", "", 1.2, "drawn_counter_ah", 1, 0, 1),
    ("mAh regenerated", "", 250.0, "returned_counter_ah", 1e-3, 0, 1),
    ("Energie entnommen", "Wh", 40.0, "drawn_counter_wh", 1, 0, 1),
    ("rider power", "W", 120.0, "rider_power_w", 1, 0, 1),
    ("Trittfrequenz", "1/min", 70.0, "cadence_rpm", 1, 0, 1),
]
OPEN = [  # name, unit, value: no evidence decides, in any format
    ("battery current", "", 3.0),
    ("current limit", "A", 3.0),
    ("battery current", "V", 3.0),
    ("motor power", "W", 150.0),
    ("remaining Ah", "", 10.0),
    ("RPM", "", 90.0),
    ("average speed", "m/s", 5.0),
    ("motor speed", "m/s", 5.0),
    ("air speed", "m/s", 5.0),
]


def by_column(name, unit, value):
    """The reading of a text log's column."""
    header = f"{name} ({unit})" if unit else name
    rows = "".join(f"{k},{value},{20 + k % 7}\n" for k in range(N))
    report = delimited.read_log(f"time (s),{header},air temperature (°C)\n{rows}".encode(), "log.csv", "").report
    return report.readings[1]


def by_fit_field(name, unit, value):
    """The reading of a developer field; beside a temperature, as a file needs one channel that is used."""
    records = [{"time_s": float(i), "air_temperature_c": 20.0, name: value} for i in range(N)]
    content = fit(records, developer_fields={name: unit})
    return fit_importer.read_log(content, "ride.fit", "").report.readings[-1]


def by_gpx_element(name, unit, value):
    """The reading of an extension; an element's name holds no blanks."""
    stated = f' unit="{escape(unit)}"' if unit else ""
    tag = name.replace(" ", "_")
    inner = f"<extensions><{tag}{stated}>{value}</{tag}></extensions>"
    content = gpx([point(i, inner=inner) for i in range(N)]).encode()
    return gpx_importer.read_log(content, "track.gpx", "").report.readings[-1]


PATHS = pytest.mark.parametrize("path", [by_column, by_fit_field, by_gpx_element])


@PATHS
@pytest.mark.parametrize(("name", "unit", "value", "channel", "factor", "offset", "sign"), SAID)
def test_a_quantity_is_understood_alike_in_every_format(path, name, unit, value, channel, factor, offset, sign):
    """Column, developer field and extension of one name and unit give one channel, factor, offset and sign."""
    reading = path(name, unit, value)
    assert (reading.channel, reading.sign) == (channel, sign), reading.why
    assert (reading.factor, reading.offset) == (pytest.approx(factor), offset)


@PATHS
@pytest.mark.parametrize(("name", "unit", "value"), OPEN)
def test_what_leaves_a_doubt_is_used_in_no_format(path, name, unit, value):
    """What words, unit and values leave open is left out alike, with the reason."""
    reading = path(name, unit, value)
    assert reading.channel is None
    assert reading.why


@pytest.mark.parametrize(
    ("name", "unit", "channel", "factor"),
    [
        ("power", None, "rider_power_w", 1),
        ("PowerInWatts", None, "rider_power_w", 1),
        ("Speed", "M/S", "speed_mps", 1),
        ("speedKmh", None, "speed_mps", 1 / 3.6),
        ("Distance", "Meters", "distance_m", 1),
        ("distance", None, "distance_m", 1),
        ("atemp", None, "air_temperature_c", 1),
        ("temperature", None, "air_temperature_c", 1),
        ("battery_temp_f", None, "battery_temperature_c", 5 / 9),
        ("cad", "", "cadence_rpm", 1),
        ("electric power", "W", "power_w", 1),
        ("regen power", "W", "power_w", 1),
        ("brake", "n/a", "brake_ratio", 1e-2),
    ],
)
def test_a_track_counts_in_the_units_of_its_format(name, unit, channel, factor):
    """Where a maker's field states no unit, or not whose power it is, the format's own habit decides."""
    reading = decided((name, unit or ""))
    assert (reading.channel, reading.factor) == (channel, pytest.approx(factor))


@pytest.mark.parametrize(
    ("name", "unit", "why"),
    [
        ("Battery Current", "parsec", "“parsec” is not a unit"),
        ("Form Power", "Watts", "“form”, which is not understood"),
        ("wind speed", "m/s", "says something about the quantity"),
        ("brake power", "W", "says brake and power at once"),
        ("Air Power", "W", "power against the air"),
        ("air speed", "m/s", "speed through the air"),
        ("skin current", "A", "“skin”, which is not understood"),
        ("battery_current_ma", "A", "its name says mA, and the unit beside it is A"),
        ("elapsed time", "s", "the time of a sample is the format's own"),
        ("pulse", "", "the words name nothing"),
        ("", "", "the words name nothing"),
    ],
)
def test_a_field_of_a_track_that_leaves_a_doubt_is_not_used(name, unit, why):
    """A track holds whatever a rider wears: every word of a field must be known."""
    meaning = field_meaning(name, unit)
    assert meaning.quantity is None
    assert why in meaning.why


def decided(*keys, natives=(), columns=None):
    """How the last of some makers' fields is understood, each with a value of 5 throughout."""
    extras = [dict.fromkeys(keys, 5.0) for _ in range(N)]
    found = read_fields(natives, columns_of(extras), np.arange(float(N)), source="x", why="native", columns=columns)
    return found.readings[-1]


def test_a_map_s_factor_counts_for_a_maker_s_field():
    told = ColumnMap(column=(ColumnEntry(header="akku", quantity="battery voltage", unit="V", factor=0.1),))
    found = read_fields(
        (), {("akku", ""): np.full(N, 481.0)}, np.arange(float(N)), source="x", why="native", columns=told
    )
    assert found.channels["voltage_v"] == pytest.approx(48.1)
    assert found.readings[0].factor == pytest.approx(0.1)


def test_a_native_field_wins_over_a_maker_s_field():
    """The format's own speed is kept where a maker's field is called speed as well."""
    own = NativeField("speed", "speed_mps", np.full(N, 4.0), "m/s")
    extras = [{("Speed", "m/s"): 5.0} for _ in range(N)]
    found = read_fields([own], columns_of(extras), np.arange(float(N)), source="x", why="native")
    assert found.channels["speed_mps"].tolist() == [4.0] * N
    assert [reading.channel for reading in found.readings] == ["speed_mps", None]


def test_samples_become_columns_with_gaps_where_a_sample_has_nothing():
    columns = columns_of([{"a": 1.0}, {"b": 2.0, "a": 3.0}])
    assert list(columns) == ["a", "b"]
    assert columns["a"].tolist() == [1.0, 3.0]
    assert np.isnan(columns["b"][0])
    assert columns["b"][1] == 2.0


def test_of_two_native_fields_the_later_wins_where_it_has_a_value():
    coarse = NativeField("speed", "speed_mps", np.full(3, 4.0), "m/s")
    fine = NativeField("enhanced_speed", "speed_mps", np.array([4.01, np.nan, 4.02]), "m/s")
    found = read_fields([coarse, fine], {}, np.arange(3.0), source="x", why="native")
    assert found.channels["speed_mps"].tolist() == [4.01, 4.0, 4.02]


def test_two_currents_of_a_track_leave_a_question_and_no_current():
    """Which of two is the battery's is asked as in a text log; the track is read without either."""
    extras = [{("current 1", "A"): float(k % 7), ("current 2", "A"): float(k % 5)} for k in range(N)]
    found = read_fields([], columns_of(extras), np.arange(float(N)), source="x", why="native")
    assert found.channels == {}
    assert "2 columns may be the battery current" in found.questions[0]
    assert [finding.code for finding in found.findings] == ["unused-field", "unused-field"]


def test_a_column_map_answers_for_a_track_too():
    entry = ColumnEntry(header="odd", quantity="battery current", unit="mA", sign=-1)
    reading = decided(("odd", ""), columns=ColumnMap(column=(entry,)))
    assert (reading.channel, reading.factor, reading.sign) == ("current_a", 1e-3, -1)


def test_the_sign_of_a_track_s_current_is_turned_on_evidence():
    """U = 50 V - 0.11 Ω · I by construction, with I recorded negated: as for a text log."""
    current_a = 5 + 6 * np.sin(0.7 * np.arange(N))
    extras = [{("battery current", "A"): -i, ("battery voltage", "V"): 50 - 0.11 * i} for i in current_a]
    found = read_fields([], columns_of(extras), np.arange(float(N)), source="x", why="native")
    assert found.channels["current_a"] == pytest.approx(current_a)
    assert [finding.code for finding in found.findings] == ["sign-reversed"]


def test_a_power_that_voltage_and_current_agree_to_is_the_battery_s():
    extras = [
        {("battery current", "A"): 1.0 + k % 7, ("battery voltage", "V"): 50.0, ("power", "W"): 50.0 * (1 + k % 7)}
        for k in range(N)
    ]
    found = read_fields([], columns_of(extras), np.arange(float(N)), source="x", why="native")
    assert found.readings[-1].channel == "power_w"
