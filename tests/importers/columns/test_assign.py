"""Every column of a log decided on: what is read, left out and asked."""

import math

import numpy as np
import pytest

from ridelog.errors import InputError
from ridelog.importers.columns.assign import apply_entry, assign
from ridelog.importers.columns.column import Column
from ridelog.settings.column_map import ColumnEntry, ColumnMap
from ridelog.vocabulary.headers import understand
from ridelog.vocabulary.units import unit_named
from tests.importers.columns.logs import CURRENT_A, SPEED_MPS, TIME_S, VOLTAGE_V, column
from tests.importers.delimited.logs import WAVE_A, log, read


def with_cells_in(header, spelling, entry=None):
    """A column whose cells state their unit."""
    return Column(header, understand(header), entry, CURRENT_A, unit_named(spelling))


def test_each_column_becomes_its_channel_in_si():
    found = assign(
        [
            column("current (mA)", 1000 * CURRENT_A),
            column("U (V)", VOLTAGE_V),
            column("speed (km/h)", 3.6 * SPEED_MPS),
            column("heart rate", 120 + 0 * TIME_S),
        ],
        TIME_S,
        "b.csv",
    )
    assert set(found.channels) == {"current_a", "voltage_v", "speed_mps"}
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)
    assert found.channels["speed_mps"] == pytest.approx(SPEED_MPS)
    assert found.questions == []


def test_a_column_without_any_number_is_left_out():
    empty = column("motor temperature (°C)", np.full(len(TIME_S), np.nan))
    found = assign([column("current (A)", CURRENT_A), empty], TIME_S, "b.csv")
    assert set(found.channels) == {"current_a"}
    assert empty.is_empty


def test_a_map_leaves_a_column_out_or_says_what_it_is():
    left = column("current (A)", CURRENT_A, use=False)
    named = column("foo", 1000 * CURRENT_A, quantity="battery current", unit="mA", sign=-1)
    found = assign([left, named], TIME_S, "b.csv")
    assert found.channels["current_a"] == pytest.approx(-CURRENT_A)
    assert (left.quantity, left.reasons[-1]) == (None, "not used: the map says so")


@pytest.mark.parametrize(
    ("header", "unit", "what"),
    [
        ("current", "V", "its cells are in V, in which no battery current is measured"),
        ("current (A)", "mA", "the header says A, the rows say mA"),
    ],
)
def test_cells_in_a_unit_that_does_not_fit_are_refused_unless_the_map_decides(header, unit, what):
    with pytest.raises(InputError, match=what):
        apply_entry(with_cells_in(header, unit), "b.csv")
    apply_entry(with_cells_in(header, unit, ColumnEntry(header=header, unit="A")), "b.csv")


def test_a_log_of_the_motor_s_current_alone_says_that_no_charge_can_be_counted():
    found = assign([column("motor current (A)", CURRENT_A), column("speed (m/s)", SPEED_MPS)], TIME_S, "b.csv")
    assert [finding.code for finding in found.findings] == ["motor-current-only"]
    assert "current_a" not in found.channels


def test_a_log_whose_words_say_that_the_current_has_no_sign_cannot_show_a_return():
    assert assign([column("current abs (A)", abs(CURRENT_A))], TIME_S, "b.csv").can_show_return is False
    assert assign([column("current (A)", CURRENT_A)], TIME_S, "b.csv").can_show_return is None


def test_everything_that_a_log_may_hold_is_read_in_si():
    header = (
        "time (s),wheel rpm,wheel revolutions,distance (km),battery temp (°F),motor temp (°C),controller temp (°C),"
        "air temp (K),brake,throttle (%),cadence,rider power (W),SoC (%),Ah drawn,mAh returned,net Wh,cell 1 (mV),"
        "cell 2,latitude,longitude,altitude (ft)"
    )
    row = "100,7,1.5,68,40,30,283.15,on,25,70,90,80,1.25,250,40,3700,3.71,46.5,-32,1000"
    recording = read(log(header, lambda k: f"{k},{row}"))
    expected = {  # by hand from the definitions of the units
        "wheel_speed_rpm": 100,
        "wheel_revolutions": 7,
        "distance_m": 1500,
        "battery_temperature_c": 20,
        "motor_temperature_c": 40,
        "controller_temperature_c": 30,
        "air_temperature_c": 10,
        "brake_ratio": 1,
        "throttle_ratio": 0.25,
        "cadence_rpm": 70,
        "rider_power_w": 90,
        "state_of_charge_pct": 80,
        "drawn_counter_ah": 1.25,
        "returned_counter_ah": 0.25,
        "net_counter_wh": 40,
        "cell_01_v": 3.7,
        "cell_02_v": 3.71,
        "latitude_deg": 46.5,
        "longitude_deg": -32,
        "altitude_m": 304.8,
    }
    assert recording.frame.iloc[0].to_dict() == pytest.approx(expected)
    assert recording.role == "track"


def test_the_map_overrules_quantity_unit_and_sign():
    column_map = ColumnMap(
        column=(
            ColumnEntry(header="x", quantity="time", unit="ms"),
            ColumnEntry(header="y", quantity="battery current", unit="mA", sign=-1),
            ColumnEntry(header="speed (km/h)", unit="m/s"),
        )
    )
    recording = read(log("x,y,speed (km/h)", lambda k: f"{100 * k},{1000 * WAVE_A[k]:.0f},5"), column_map)
    assert recording.step_s == pytest.approx(0.1)
    assert recording.frame["current_a"].to_numpy() == pytest.approx(-WAVE_A)
    assert (recording.frame["speed_mps"] == 5).all()


def test_undefined_stays_undefined():
    recording = read(log("time (s),current (A),voltage (V)", lambda k: f"{k},{'n/a' if k == 3 else 5},50"))
    assert math.isnan(recording.frame["current_a"].iloc[3])


@pytest.mark.parametrize(
    ("headers", "header", "unit", "quantity"),
    [
        ("time (s),speed", "speed", "m", "speed"),
        ("time (s),throttle (%)", "throttle (%)", "m/s", "throttle"),
        ("time (s),charge counter (Ah)", "charge counter (Ah)", "V", "charge counter"),
        ("time (s),speed (km/h)", "time (s)", "km", "time"),
    ],
)
def test_a_unit_of_the_map_that_the_words_quantity_is_not_measured_in_is_refused(headers, header, unit, quantity):
    """It was taken at its word: a speed in m, 3.6 times too small without a sign of it."""
    text = log(headers, lambda k: f"{k},{k % 7}")
    with pytest.raises(InputError, match=f"the column map says {unit}, in which no {quantity} is measured") as caught:
        read(text, ColumnMap(column=(ColumnEntry(header=header, unit=unit),)))
    assert "say quantity" in caught.value.hint
