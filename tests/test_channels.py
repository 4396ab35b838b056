"""The one table of channels, and what does not fit into it."""

import numpy as np
import pandas as pd
import pytest

from ridelog.channels import CHANNELS, channel, validate
from ridelog.errors import InputError


def frame(n=200, **channels):
    return pd.DataFrame(channels, index=pd.Index(np.arange(float(n)), name="time_s"))


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


def test_a_column_full_of_impossible_values_is_refused():
    with pytest.raises(InputError, match=r"voltage_v = 48000 V at 0.000 s is outside 5..200 V, and so are 200 of 200"):
        validate(frame(voltage_v=np.full(200, 48000.0)), "a.csv")


def test_an_infinite_value_is_no_value():
    values = np.ones(200)
    values[9] = np.inf
    assert np.isnan(validate(frame(current_a=values), "a.csv")[0]["current_a"].iloc[9])


def test_the_given_frame_stays_as_it_was():
    values = np.ones(200)
    values[3] = 900
    given = frame(current_a=values)
    validate(given, "a.csv")
    assert given["current_a"].iloc[3] == 900


def test_how_many_impossible_values_are_too_many_can_be_said():
    """3 of 200 are 1.5 %."""
    values = np.where(np.arange(200) < 3, 900.0, 1.0)
    with pytest.raises(InputError, match="3 of 200"):
        validate(frame(current_a=values), "a.csv")
    clean, findings = validate(frame(current_a=values), "a.csv", largest_bad_share=0.02)
    assert clean["current_a"].notna().sum() == 197
    assert findings[0].facts["n_values"] == 3
