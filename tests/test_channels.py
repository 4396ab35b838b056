"""The one table of channels, and what does not fit into it."""

import numpy as np
import pandas as pd
import pytest

from ridelog import channels
from ridelog.channels import CHANNELS, channel
from ridelog.errors import InputError


def validate(given, source, **how):
    """What stays of channels with a sample a second, as a frame, and the findings."""
    clean, findings = channels.validate(given, np.arange(200.0), source, **how)
    return pd.DataFrame(clean), findings


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
    clean, findings = validate({"current_a": values}, "a.csv")
    assert np.isnan(clean["current_a"].iloc[3])
    assert clean["current_a"].notna().sum() == 199
    assert findings[0].facts == {
        "file": "a.csv",
        "channel": "current_a",
        "current_a": 900.0,
        "lowest_current_a": -400.0,
        "highest_current_a": 400.0,
        "unit": "A",
        "n_values": 1,
        "first_s": 3.0,
    }


def test_a_current_of_impossible_values_refuses_the_log():
    told = r"current_a = 9000 A at 0.000 s is outside -400..400 A, and so are 200 of 200"
    with pytest.raises(InputError, match=told):
        validate({"current_a": np.full(200, 9000.0), "voltage_v": np.full(200, 48.0)}, "a.csv")
    with pytest.raises(InputError, match="power_w = 90000 W"):
        validate({"power_w": np.full(200, 90_000.0)}, "a.csv")


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("voltage_v", 48_000.0),
        ("throttle_ratio", 105.0),
        ("motor_temperature_c", -65.0),
        ("state_of_charge_pct", 112.0),
        ("altitude_m", -600.0),
        ("power_w", 90_000.0),  # beside a current
        ("air_temperature_c", -np.inf),
    ],
)
def test_any_other_channel_of_impossible_values_is_left_out_and_told(name, value):
    """The rest of the file stays as it is."""
    current = np.linspace(-5, 20, 200)
    clean, findings = validate(dict(**{"current_a": current, name: np.full(200, value)}), "a.csv")
    assert clean[name].isna().all()
    assert (clean["current_a"] == current).all()
    assert [(finding.code, finding.severity) for finding in findings] == [("channel-left-out", "warning")]
    assert findings[0].facts["n_values"] == findings[0].facts["n_all"] == 200
    assert findings[0].facts[name] == (value if np.isfinite(value) else None)


def test_a_larger_vehicles_pack_is_taken_with_a_note():
    """393 V and 450 A; at a bicycle's voltage such a current is a misread column."""
    current = np.linspace(-300, 450, 200)
    clean, findings = validate({"current_a": current, "voltage_v": np.full(200, 393.0)}, "a.csv")
    assert clean["current_a"].notna().all()
    assert [(finding.code, finding.severity) for finding in findings] == [("no-bicycle", "note")]
    assert (findings[0].facts["voltage_v"], findings[0].facts["highest_voltage_v"]) == (393.0, 200.0)
    with pytest.raises(InputError, match=r"is outside -400\.\.400 A"):
        validate({"current_a": current, "voltage_v": np.full(200, 48.0)}, "a.csv")


def test_a_pack_that_passes_a_bicycles_voltage_now_and_then_is_a_larger_vehicles():
    """195 V at rest and 206 V while charged, one value in eight; single spikes of 900 V at 48 V stay impossible."""
    volts = np.where(np.arange(200) % 8 == 0, 206.0, 195.0)
    clean, findings = validate({"current_a": np.linspace(-150, 100, 200), "voltage_v": volts}, "a.csv")
    assert (clean["voltage_v"] == volts).all()
    assert [finding.code for finding in findings] == ["no-bicycle"]
    spikes = np.where(np.arange(200) % 100 == 50, 900.0, 48.0)
    clean, findings = validate({"current_a": np.ones(200), "voltage_v": spikes}, "a.csv")
    assert [finding.code for finding in findings] == ["impossible-values"]
    assert clean["voltage_v"].isna().sum() == 2


def test_an_infinite_value_is_no_value():
    values = np.ones(200)
    values[9] = np.inf
    clean, findings = validate({"current_a": values}, "a.csv")
    assert np.isnan(clean["current_a"].iloc[9])
    assert (findings[0].code, findings[0].facts["current_a"]) == ("impossible-values", None)


@pytest.mark.parametrize("ends", [(np.inf, -np.inf), (np.inf, np.inf), (1e308, -1e308)])
def test_endless_voltages_are_no_larger_vehicles_and_warn_of_nothing(ends):
    """The way from one to the next is no number, or too large for one; a FIT file can hold both."""
    volts = np.where(np.arange(200) < 100, *ends)
    clean, findings = validate({"voltage_v": volts, "speed_mps": np.ones(200)}, "a.fit")
    assert clean["voltage_v"].isna().all()
    assert [finding.code for finding in findings] == ["channel-left-out"]


def test_the_given_values_stay_as_it_was():
    values = np.ones(200)
    values[3] = 900
    given = {"current_a": values}
    validate(given, "a.csv")
    assert given["current_a"][3] == 900


def test_how_many_impossible_values_are_too_many_can_be_said():
    """3 of 200 are 1.5 %."""
    values = np.where(np.arange(200) < 3, 900.0, 1.0)
    with pytest.raises(InputError, match="3 of 200"):
        validate({"current_a": values}, "a.csv")
    clean, findings = validate({"current_a": values}, "a.csv", largest_bad_share=0.02)
    assert clean["current_a"].notna().sum() == 197
    assert findings[0].facts["n_values"] == 3
