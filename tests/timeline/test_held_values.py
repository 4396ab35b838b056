"""Values that stand in several rows count once, and what looks alike is left as it is."""

import numpy as np
import pandas as pd
import pytest

import ridelog
from ridelog.recording import Recording
from ridelog.timeline.held_values import LONGEST_HELD_S, fresh_readings, without_held_values
from ridelog.timeline.ride import join_recordings
from tests.places import others_recording

ROW_S, DURATION_S = 0.2, 900.0


def moments(row_s: float = ROW_S) -> np.ndarray:
    return np.arange(0.0, DURATION_S, row_s)


def current(at_s: np.ndarray, seed: int = 3) -> np.ndarray:
    """A current that wanders, smooth over a second, by filtered noise of its own [A]."""
    rng = np.random.default_rng(seed)
    fine_s = np.arange(0.0, DURATION_S + 1, 0.1)
    noise = np.convolve(rng.standard_normal(len(fine_s)), np.hanning(60), mode="same")
    result: np.ndarray = np.interp(at_s, fine_s, 6 + 9 * noise / noise.std())
    return result


def held(at_s: np.ndarray, every_s: float, phase_s: float = 0.0) -> np.ndarray:
    """The moment at which the value of each row was read: at the first row of each span [s]."""
    begins_s = np.floor((at_s + phase_s) / every_s + 1e-9) * every_s - phase_s
    result: np.ndarray = at_s[np.searchsorted(at_s, begins_s - 1e-9)]
    return result


@pytest.mark.parametrize("every_s", [0.4, 1.0, 1.1, 3.0])
@pytest.mark.parametrize("phase_s", [0.0, 0.3])
def test_the_rows_where_a_value_is_new_are_the_readings(every_s, phase_s):
    at_s = moments()
    read_s = held(at_s, every_s, phase_s)
    readings = fresh_readings(at_s, current(read_s), longest_s=5.0)
    truly = np.concatenate(([True], np.diff(read_s) > 0))
    assert readings.stands_s == pytest.approx(every_s, abs=0.21)
    assert np.mean(readings.fresh == truly) > 0.995
    assert np.mean(readings.fresh[truly]) == 1.0


def test_at_uneven_stamps_as_well():
    rng = np.random.default_rng(8)
    at_s = np.cumsum(rng.uniform(0.1, 0.6, 2000))
    at_s = at_s[at_s < DURATION_S]
    read_s = held(at_s, 1.0)
    readings = fresh_readings(at_s, current(read_s), longest_s=5.0)
    assert readings.stands_s == pytest.approx(1.0, abs=0.2)
    assert np.mean(readings.fresh == np.concatenate(([True], np.diff(read_s) > 0))) > 0.9
    assert not fresh_readings(at_s, current(at_s), longest_s=5.0).stands_s


@pytest.mark.parametrize(
    "values",
    [
        pytest.param(current(moments()), id="read anew in each row"),
        pytest.param(np.round(current(moments()), 0), id="whole amperes"),
        pytest.param(np.round(current(moments()) * 2) / 2 + (moments() % 60 > 40) * 3, id="half amperes"),
        pytest.param(np.where(moments() % 8 < 5, 12.0, -6.0), id="switched between two levels"),
        pytest.param(np.full(len(moments()), 4.0), id="steady"),
        pytest.param(np.where(moments() % 100 < 50, 0.0, current(moments())), id="rests half of the time"),
        pytest.param(np.full(len(moments()), np.nan), id="nothing"),
    ],
)
def test_what_only_looks_like_it_stays(values):
    readings = fresh_readings(moments(), values, longest_s=5.0)
    assert readings.stands_s == 0
    assert (readings.fresh == np.isfinite(values)).all()


def test_a_value_that_does_not_change_at_a_reading_is_read_all_the_same():
    at_s = moments()
    read_s = held(at_s, 1.0)
    values = np.where(read_s % 90 < 30, 0.0, current(read_s))
    readings = fresh_readings(at_s, values, longest_s=5.0)
    assert np.diff(at_s[readings.fresh]).max() == pytest.approx(1.0)


def recording(frame: pd.DataFrame) -> Recording:
    return Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")


def log(read_a: np.ndarray, read_v: np.ndarray) -> Recording:
    """Amperes and volts as they were at some moments, in a row every 0.2 s; 60 V less 0.15 ohm times the current."""
    volts = 60.0 - 0.15 * current(read_v)
    index = pd.Index(moments(), name="time_s")
    return recording(pd.DataFrame({"current_a": current(read_a), "voltage_v": volts}, index=index))


def test_current_and_voltage_that_stand_are_told_and_hold_the_truth():
    """A current read each second and a voltage each three: the answer of a log that reads both in every row is held."""
    at_s = moments()
    bike = {"current_zero_limit_a": 0.0, "current_gain_limit_pct": 0.0, "charge_gain_limit_pct": 0.0}
    exact = ridelog.settings.bike.Bike(
        sensor=ridelog.settings.bike.SensorSection(**bike, voltage_gain_limit_pct=0.0, standby_draw_a=0.0)
    )
    full = ridelog.measure(join_recordings([log(at_s, at_s)], exact))
    stands = ridelog.measure(join_recordings([log(held(at_s, 1.0), held(at_s, 3.0))], exact))
    assert [finding.facts["channel"] for finding in stands.findings if finding.code == "values-held"] == [
        "current_a",
        "voltage_v",
    ]
    assert "values-held" not in [finding.code for finding in full.findings]
    for block in ("charge", "energy"):
        for name in vars(getattr(full, block)):
            true, told = (getattr(getattr(answer, block), name) for answer in (full, stands))
            if hasattr(told, "low95"):
                assert told.low95 <= true.value <= told.high95, name


def test_what_is_not_known_stays_so_and_other_columns_stay_as_they_are():
    at_s = moments()
    part = log(held(at_s, 1.0), at_s)
    part.frame.loc[100.0:120.0, "current_a"] = np.nan
    blanked = without_held_values(part)
    known = blanked.frame["current_a"].notna().to_numpy()
    assert not known[(at_s >= 100.0) & (at_s <= 120.0)].any()
    assert known.sum() == pytest.approx((DURATION_S - 20), abs=3)
    pd.testing.assert_series_equal(blanked.frame["voltage_v"], part.frame["voltage_v"])
    assert set(LONGEST_HELD_S) == {"current_a", "power_w", "voltage_v"}


@pytest.mark.parametrize("trip", ["v1", "v5", "v10"])
def test_real_logs_whose_rows_come_more_often_than_their_values(trip):
    """Three trips of the Vehicle Energy Dataset: rows every 0.4 to 0.8 s, amperes each second, volts each five."""
    log = pd.read_csv(others_recording(f"real/car-irregular-{trip}.csv"))
    at_s = log["Timestamp(s)"].to_numpy(dtype=float)
    for column, stands_s, longest_s in (("HV Battery Current[A]", 1.0, 5.0), ("HV Battery Voltage[V]", 5.0, 30.0)):
        readings = fresh_readings(at_s, log[column].to_numpy(dtype=float), longest_s=longest_s)
        assert readings.stands_s == pytest.approx(stands_s, rel=0.05), column
        assert readings.fresh.sum() == pytest.approx((at_s[-1] - at_s[0]) / stands_s, rel=0.2), column
