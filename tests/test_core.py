"""Channels, recordings, the bike file and the answer's JSON: what every part relies on."""

import io
import json
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

import ridelog
from ridelog.channels import CHANNELS, channel, validate
from ridelog.errors import BikeFileError, Exit, InputError, UsageError
from ridelog.findings import Finding, gravest_first
from ridelog.recording import ClockJoin, Recording, checked
from ridelog.settings.bike import Bike, read_bike
from ridelog.uncertain.quantity import Quantity, quantity
from tests.places import REFERENCE


def frame(n=200, **channels):
    return pd.DataFrame(channels, index=pd.Index(np.arange(float(n)), name="time_s"))


def recording(data):
    return Recording("a.csv", "0" * 64, "csv", data, datetime(2026, 5, 1, 8, tzinfo=UTC), "utc")


def test_every_channel_carries_its_unit_in_its_name():
    endings = {
        "A": "_a", "V": "_v", "W": "_w", "m/s": "_mps", "1/min": "_rpm", "m": "_m", "°": "_deg", "°C": "_c",
        "%": "_pct", "Ah": "_ah", "Wh": "_wh", "1": ("_ratio", "_revolutions"),
    }  # fmt: skip
    for name, entry in CHANNELS.items():
        assert name.endswith(endings[entry.unit])
        assert entry.low < entry.high


def test_cells_are_channels_and_unknown_names_are_not():
    assert channel("cell_07_v").unit == "V"
    with pytest.raises(KeyError):
        channel("charge_efficiency")


def test_a_single_impossible_value_is_left_out_and_counted():
    values = np.ones(200)
    values[3] = 900
    clean, findings = validate(frame(current_a=values), "a.csv")
    assert np.isnan(clean["current_a"].iloc[3])
    assert clean["current_a"].notna().sum() == 199
    assert findings[0].message == "a.csv: current_a = 900 A at 3.000 s is outside -400..400 A; left out."


def test_a_column_full_of_impossible_values_is_refused():
    with pytest.raises(InputError, match=r"voltage_v = 48000 V at 0.000 s is outside 5..200 V, and so are 200 of 200"):
        validate(frame(voltage_v=np.full(200, 48000.0)), "a.csv")


def test_an_infinite_value_is_no_value():
    values = np.ones(200)
    values[9] = np.inf
    assert np.isnan(validate(frame(current_a=values), "a.csv")[0]["current_a"].iloc[9])


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (frame(0), "no sample"),
        (frame(current_a=np.full(200, np.nan)), "no value"),
        (pd.DataFrame({"current_a": [1.0, 2.0]}, index=[1.0, 1.0]), "do not increase"),
    ],
)
def test_a_recording_without_usable_samples_is_refused(data, what):
    with pytest.raises(InputError, match=what):
        checked(recording(data))


def test_a_recording_knows_its_role_step_and_end():
    both = checked(recording(frame(current_a=np.ones(200), altitude_m=np.ones(200))))
    assert (both.role, both.step_s, both.duration_s) == ("both", 1.0, 199.0)
    assert both.end == datetime(2026, 5, 1, 8, 3, 19, tzinfo=UTC)
    assert checked(recording(frame(speed_mps=np.ones(200)))).role == "track"


def test_a_clock_that_runs_fast_is_brought_back():
    """By hand: 1000 ppm fast, 1001 s on its own clock are 1000 s on the reference; first sample at 5 s."""
    join = ClockJoin("b.gpx", 5.0, 2.0, 1000.0, "speed", 0.9, 900.0, True)
    assert join.to_reference_s(np.array([0.0, 1001.0])) == pytest.approx([5.0, 1005.0])


def test_the_bike_file_of_the_contract_is_read():
    bike = read_bike(REFERENCE / "bike.toml")
    assert (bike.bike.total_mass_kg, bike.pack.cells_in_series, bike.motor.kind) == (112.0, 13, "direct-drive")
    assert (bike.sensor.current_zero_limit_a, bike.road.wind_mps, bike.cost.km_per_year) == (0.1, 0.0, 3000)
    assert read_bike(io.BytesIO(b"")) == Bike()


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[road]\n\ncrr = 0.5", "b.toml, line 3: road.crr = 0.5: a number from 0.001 to 0.1 is allowed"),
        ("[bike]\nmass = 3", "b.toml, line 2: unknown key bike.mass"),
        ("# mine\n[brakes]\nx = 1", "b.toml, line 2: unknown key brakes"),
        ("bike.total_mass_kg = 1", "b.toml, line 1: bike.total_mass_kg = 1: a number from 30 to 600 is allowed"),
        ('[bike]\ntotal_mass_kg = "110"', "b.toml, line 2: bike.total_mass_kg = '110': a number from 30 to 600"),
        ("[road]\ncrr = nan", "b.toml, line 2: road.crr = nan: a number from 0.001 to 0.1 is allowed"),
        ("[motor]\nkind = 'fast'", "b.toml, line 2: motor.kind = 'fast': allowed is 'direct-drive', 'geared-locked'"),
        ("[bike", "b.toml: is not TOML"),
        ("bike = 3", "b.toml, line 1: bike = 3: a table is allowed, headed [bike] on a line of its own"),
        ("[[bike]]", "b.toml, line 1: bike = [{}]: a table is allowed, headed [bike] on a line of its own"),
        ("[bike]\nname = 3", "b.toml, line 2: bike.name = 3: text in quotation marks is allowed"),
        ("[sensor]\naveraged = 'yes'", "b.toml, line 2: sensor.averaged = 'yes': true or false is allowed"),
    ],
)
def test_a_mistake_in_the_bike_file_is_named_with_its_line(text, line):
    with pytest.raises(BikeFileError) as caught:
        read_bike(io.BytesIO(text.encode()), name="b.toml")
    assert caught.value.lines()[0].startswith(line)


def test_a_bike_file_that_is_not_text_or_not_there_is_an_error_of_one_line(tmp_path):
    with pytest.raises(BikeFileError, match="is not UTF-8 text"):
        read_bike(io.BytesIO(b"\xff\xfe\x00"), name="b.toml")
    with pytest.raises(BikeFileError, match="no such file"):
        read_bike(tmp_path / "none.toml")


def test_errors_name_their_place_and_their_hint():
    error = InputError("b.csv", "current: '1,5' is not a number", place="line 2", hint="decimal comma?")
    assert error.lines() == ["b.csv, line 2: current: '1,5' is not a number", "hint: decimal comma?"]
    assert (error.exit_status, UsageError("no").exit_status) == (Exit.UNREADABLE, Exit.USAGE)


def test_findings_come_gravest_first_and_once():
    note, danger = Finding("gaps", "note", "A."), Finding("no-voltage", "danger", "B.")
    assert gravest_first([note, danger, note]) == (danger, note)


def test_what_is_not_a_number_is_no_quantity():
    assert quantity(None) is None
    assert quantity(float("nan")) is None
    assert quantity(2.0) == Quantity(2.0)
    assert json.dumps({"value": 2.0}) == json.dumps({"value": quantity(2).value})


def test_the_answer_as_plain_data_holds_python_s_own_numbers(tmp_path):
    """What users print or compare by type is a float, not one of numpy's."""
    log = tmp_path / "log.csv"
    rows = "".join(f"{k},{5 if k % 3 else -2},50,18\n" for k in range(120))
    log.write_text(f"time [s],battery current [A],battery voltage [V],speed [km/h]\n{rows}", encoding="utf-8")

    def numbers(node):
        for each in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
            yield from numbers(each)
        if isinstance(node, (float, int)):
            yield node

    answer = ridelog.measure(ridelog.load_ride([log])).to_dict()
    assert {type(number) for number in numbers(answer)} <= {float, int, bool}
