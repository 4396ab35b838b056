"""A recording: what is refused, and what it knows of itself."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from ridelog.errors import InputError
from ridelog.recording import ClockJoin, Recording, checked


def frame(n=200, **channels):
    return pd.DataFrame(channels, index=pd.Index(np.arange(float(n)), name="time_s"))


def recording(data):
    return Recording("a.csv", "0" * 64, "csv", data, datetime(2026, 5, 1, 8, tzinfo=UTC), "utc")


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


def test_battery_power_is_as_logged_or_else_voltage_times_current():
    """By hand: 3 A at 50 V are 150 W; a logged power goes before that, and one of the two alone makes none."""
    log = recording(frame(2, current_a=[3.0, np.nan], voltage_v=[50.0, 50.0]))
    assert log.power_w.tolist() == pytest.approx([150.0, np.nan], nan_ok=True)
    assert recording(frame(2, current_a=[3.0, 3.0], voltage_v=[50.0, 50.0], power_w=[140.0, 0.0])).power_w[0] == 140.0
    assert recording(frame(2, current_a=[3.0, 3.0])).power_w is None


def test_a_recording_is_called_by_its_file_without_folders():
    names = {"/data/a.zip/log.csv": "log.csv", "C:\\logs\\a.csv": "a.csv", "x/a.csv + y/b.csv": "a.csv + b.csv"}
    for name, called in names.items():
        assert replace(recording(frame(2, current_a=[1.0, 1.0])), name=name).called == called


def test_a_recording_without_wall_time_has_no_end_and_a_single_sample_no_step():
    log = replace(recording(frame(1, current_a=[1.0])), start=None, clock="elapsed")
    assert (log.end, log.step_s, log.duration_s) == (None, 0.0, 0.0)


@pytest.mark.parametrize(
    ("channels", "role"),
    [
        ({"power_w": 1.0}, "electrical"),
        ({"motor_current_a": 1.0, "latitude_deg": 1.0}, "both"),
        ({"voltage_v": 50.0}, "track"),
        ({"altitude_m": 1.0}, "track"),
    ],
)
def test_the_role_follows_from_the_channels(channels, role):
    assert recording(frame(1, **{name: [value] for name, value in channels.items()})).role == role


def test_columns_without_any_value_are_left_out():
    kept = checked(recording(frame(2, current_a=[1.0, 2.0], voltage_v=[np.nan, np.nan])))
    assert list(kept.frame) == ["current_a"]


def test_positions_without_a_fix_are_left_out_and_counted():
    """Latitude 0, longitude 0 is what a receiver without a fix writes; a height of 0 beside it is none either."""
    frame = pd.DataFrame(
        {
            "latitude_deg": [0.0, 0.0, 46.5, 46.5, 0.0],
            "longitude_deg": [0.0, 0.0, 11.3, 11.3, 11.3],
            "altitude_m": [0.0, 120.0, 0.0, 121.0, 122.0],
        },
        index=pd.Index(np.arange(5.0), name="time_s"),
    )
    found = checked(Recording("a.csv", "0" * 64, "csv", frame, None, "elapsed"))
    assert found.frame["latitude_deg"].isna().tolist() == [True, True, False, False, False]
    assert found.frame["altitude_m"].isna().tolist() == [True, False, False, False, False]
    assert [(item.code, item.facts["n_positions"], item.facts["n_all"]) for item in found.findings] == [
        ("no-fix", 2, 5)
    ]


def test_a_log_that_never_had_a_fix_has_no_positions():
    frame = pd.DataFrame(
        {"latitude_deg": np.zeros(5), "longitude_deg": np.zeros(5), "current_a": np.ones(5)},
        index=pd.Index(np.arange(5.0), name="time_s"),
    )
    found = checked(Recording("a.csv", "0" * 64, "csv", frame, None, "elapsed"))
    assert list(found.frame) == ["current_a"]
    assert found.role == "electrical"
