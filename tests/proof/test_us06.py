"""A real drive cycle, thinned: does the interval hold what the full log says?

US06 on an 18650 cell at about 10 Hz (DOI 10.17632/wykht8y7tg, CC BY 4.0), where it is at hand beside the project.
The 10 Hz answer is worked out here from the samples, by exact zero crossings of straight lines.
"""

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.measure import measure
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, SensorSection
from ridelog.timeline.ride import join_recordings
from tests.places import others_recording

# Only the sampling is in question: the full log comes from the same instrument with the same errors.
FAULTLESS = Bike(
    sensor=SensorSection(
        current_zero_limit_a=0.0,
        current_gain_limit_pct=0.0,
        charge_gain_limit_pct=0.0,
        voltage_gain_limit_pct=0.0,
    )
)


@pytest.fixture(scope="module")
def log() -> pd.DataFrame:
    """Time, current (positive drawn) and voltage of the full log."""
    from scipy.io import loadmat

    tester = loadmat(others_recording("batt/25degC_US06.mat"))["meas"][0, 0]
    time_s, current, volts = (np.asarray(tester[name], dtype=float).ravel() for name in ("Time", "Current", "Voltage"))
    first = np.concatenate(([True], np.diff(time_s) > 0))
    return pd.DataFrame({"time_s": time_s, "current_a": -current, "voltage_v": volts})[first].reset_index(drop=True)


def split(time_s: np.ndarray, flow: np.ndarray) -> tuple[float, float]:
    """Positive and negative area under straight lines between the samples, in hours."""
    before, after, step_h = flow[:-1], flow[1:], np.diff(time_s) / 3600
    turns = before * after < 0
    whole = (before + after) / 2 * step_h
    with np.errstate(divide="ignore", invalid="ignore"):
        first = np.where(turns, before * before / (before - after) / 2 * step_h, whole)
    second = np.where(turns, whole - first, 0.0)
    areas = np.concatenate((first, second))
    return float(areas[areas > 0].sum()), float(-areas[areas < 0].sum())


def thinned(log: pd.DataFrame, step_s: float, from_s: float) -> pd.DataFrame:
    """The samples nearest to every ``step_s``, beginning at ``from_s``."""
    time_s = log["time_s"].to_numpy()
    wanted = np.arange(time_s[0] + from_s, time_s[-1], step_s)
    after = np.clip(np.searchsorted(time_s, wanted), 1, len(time_s) - 1)
    nearest = np.where(wanted - time_s[after - 1] < time_s[after] - wanted, after - 1, after)
    return log.iloc[np.unique(nearest)]


def averaged(log: pd.DataFrame, step_s: float, from_s: float) -> pd.DataFrame:
    """Means over every ``step_s``, of straight lines between the samples; the first row only begins the first step."""
    time_s = log["time_s"].to_numpy()
    ends = np.arange(time_s[0] + from_s, time_s[-1], step_s)
    both = np.unique(np.concatenate((time_s, ends)))
    means = {"time_s": ends}
    for name in ("current_a", "voltage_v"):
        line = np.interp(both, time_s, log[name].to_numpy())
        area = np.concatenate(([0.0], np.cumsum((line[1:] + line[:-1]) / 2 * np.diff(both))))
        mean = np.diff(np.interp(ends, both, area)) / step_s
        means[name] = np.concatenate((mean[:1], mean))
    return pd.DataFrame(means)


def said_and_true(log: pd.DataFrame, part: pd.DataFrame, bike: Bike = FAULTLESS) -> list[tuple[str, object, float]]:
    """Each total of the thinned log with its interval, and what the full log says of the same span."""
    time_s = part["time_s"].to_numpy()
    frame = part[["current_a", "voltage_v"]].set_index(pd.Index(time_s - time_s[0], name="time_s"))
    answer = measure(join_recordings([Recording("us06.csv", "us06", "csv", frame, None, "elapsed")], bike))
    whole = log[(log["time_s"] >= time_s[0]) & (log["time_s"] <= time_s[-1])]
    full_s, current = whole["time_s"].to_numpy(), whole["current_a"].to_numpy()
    drawn_ah, returned_ah = split(full_s, current)
    drawn_wh, returned_wh = split(full_s, current * whole["voltage_v"].to_numpy())
    charge, energy = answer.charge, answer.energy
    return [
        ("drawn Ah", charge.drawn_ah, drawn_ah),
        ("returned Ah", charge.returned_ah, returned_ah),
        ("recovered Ah %", charge.recovered_pct, 100 * returned_ah / drawn_ah),
        ("drawn Wh", energy.drawn_wh, drawn_wh),
        ("returned Wh", energy.returned_wh, returned_wh),
        ("recovered Wh %", energy.recovered_pct, 100 * returned_wh / drawn_wh),
    ]


def test_the_full_log_is_read_as_its_provenance_states(log):
    """0.6274 Ah in and 3.2137 out, as stated with the data; half of the last digit."""
    drawn_ah, returned_ah = split(log["time_s"].to_numpy(), log["current_a"].to_numpy())
    assert drawn_ah == pytest.approx(3.2137, abs=5e-5)
    assert returned_ah == pytest.approx(0.6274, abs=5e-5)


@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0])
def test_the_interval_of_a_thinned_log_holds_the_answer_of_the_full_one(log, step_s):
    """Thinned from its first sample to 1, 2 and 5 s, every total's interval holds the 10 Hz answer."""
    for name, said, true in said_and_true(log, thinned(log, step_s, 0.0)):
        assert said.low95 <= true <= said.high95, name


MEANS = FAULTLESS.model_copy(update={"sensor": FAULTLESS.sensor.model_copy(update={"averaged": True})})


def phases_held(log: pd.DataFrame, step_s: float) -> int:
    """At how many of ten phases of the step all three intervals in Ah hold the 10 Hz answer."""
    starts_s = step_s * np.arange(0.0, 0.95, 0.1)
    totals = [said_and_true(log, averaged(log, step_s, float(start_s)), MEANS)[:3] for start_s in starts_s]
    return sum(all(said.low95 <= true <= said.high95 for _, said, true in three) for three in totals)


OPEN = pytest.mark.xfail(strict=True, reason="means over two whole seconds of a tester that is set anew every second")


@pytest.mark.parametrize("step_s", [0.5, 0.7, 1.3, pytest.param(2.0, marks=OPEN), 5.0])
def test_the_interval_of_an_averaged_log_holds_the_answer_of_the_full_one(log, step_s):
    """Means over a step, begun at each tenth of it."""
    assert phases_held(log, step_s) == 10


@pytest.mark.parametrize("step_s", [1.0, 2.0])
def test_means_over_the_very_second_of_the_tester_hold_the_answer_at_more_phases_than_not(log, step_s):
    """The tester was set anew every second: at steps of whole seconds each phase hides another amount, all log long.

    A rider has no such clock. The intervals hold six of the ten.
    """
    assert phases_held(log, step_s) >= 6


@pytest.mark.proof
@pytest.mark.parametrize("step_s", [1.0, 2.0, 5.0])
def test_wherever_the_thinning_begins_the_interval_holds_the_answer_90_times_in_100(log, step_s):
    """Begun at each tenth of a second of the step, the recovered share's interval holds the 10 Hz answer."""
    starts = np.arange(0.0, step_s - 0.05, 0.1)
    held = []
    for from_s in starts:
        _, said, true = said_and_true(log, thinned(log, step_s, float(from_s)))[2]
        held.append(said.low95 <= true <= said.high95)
    assert np.mean(held) >= 0.9
