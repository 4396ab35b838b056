"""What the questions about the pack look at, from an electrical recording."""

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.pack.log import pack_log
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, PackSection, SensorSection
from tests.analysis.pack.pack_logs import pack_log_of

FAULTLESS = SensorSection(current_zero_limit_a=0.0, standby_draw_a=0.0, current_gain_limit_pct=0.0)


def log_of(*, braked=None, pack=None, n=60, **channels):
    """The pack's log of a recording at 1 Hz."""
    frame = pd.DataFrame(channels, index=pd.Index(np.arange(float(n)), name="time_s"), dtype=float)
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    series = pd.DataFrame({"speed_mps": np.full(n, 6.0)}, index=frame.index)
    if braked is not None:
        series["braking_mask"] = braked
    bike = Bike(pack=pack or PackSection(), sensor=FAULTLESS)
    return pack_log(recording, electrical_flow(recording, sensor=FAULTLESS), series, bike)


def test_current_is_power_over_voltage_where_only_these_are_logged():
    log = log_of(power_w=np.linspace(100, 400, 60), voltage_v=np.full(60, 50.0))
    assert log.current_a == pytest.approx(np.linspace(2, 8, 60), abs=1e-9)


def test_a_ride_without_current_has_no_log():
    assert log_of(voltage_v=np.full(60, 50.0)) is None
    assert pack_log(None, None, pd.DataFrame(), Bike()) is None


def test_samples_without_current_are_left_out_of_every_column():
    current = np.full(60, 5.0)
    current[10:20] = np.nan
    log = log_of(current_a=current, voltage_v=np.arange(60.0) + 20, braked=np.arange(60) > 30)
    assert len(log.time_s) == len(log.current_a) == len(log.speed_mps) == 50
    assert log.voltage_v[10] == 40.0
    assert log.braking_mask.sum() == 29
    assert log.counted.sum() == 48  # the step across the hole is a gap


def test_the_highest_cell_is_that_of_the_logged_ones_else_an_equal_share():
    volts = {"current_a": np.full(60, 5.0), "voltage_v": np.full(60, 52.0)}
    logged = log_of(**volts, cell_01_v=np.full(60, 4.01), cell_02_v=np.full(60, 4.05))
    assert (logged.cell_v[0], logged.n_cells_logged) == (4.05, 2)
    shared = log_of(**volts, pack=PackSection(cells_in_series=13))
    assert (shared.cell_v[0], shared.n_cells_logged) == (4.0, 0)
    assert np.isnan(log_of(**volts).cell_v).all()


def test_a_temperature_logged_now_and_then_holds_for_two_minutes_and_not_backwards():
    n = 300
    warm = np.full(n, np.nan)
    warm[50] = 18.0
    log = log_of(n=n, current_a=np.full(n, 5.0), battery_temperature_c=warm)
    known = np.flatnonzero(np.isfinite(log.temperature_c))
    assert (known[0], known[-1]) == (50, 170)


def test_charging_is_beyond_noise_and_zero_error_and_only_where_a_return_can_be_shown():
    """A zero known to 0.5 A and a noise of 0.1 A: 0.9 A into the battery is the least."""
    log = pack_log_of((-0.8, 10), (-1.0, 10), zero_half_a=0.5, noise_a=0.1)
    assert log.charging.sum() == 50
    assert not pack_log_of((-5.0, 10), shows_return=False).charging.any()
    assert not pack_log_of((-0.25, 10)).charging.any()


def test_a_time_is_counted_by_halves_of_steps_that_are_no_gap():
    """By hand: samples at 0, 0.2, 0.4, 0.6 s; true at the middle two, the step between them a gap: 0.1 + 0.1 s."""
    log = pack_log_of((5.0, 0.8), counted=np.array([True, False, True]))
    assert log.seconds(np.array([False, True, True, False])) == pytest.approx(0.2)
    assert log.step_s == pytest.approx(0.2)
