"""Where the uncertainty of the recovered share comes from."""

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.share_budget import recovered_budget
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection

FAULTLESS = {
    "current_zero_limit_a": 0.0,
    "current_gain_limit_pct": 0.0,
    "charge_gain_limit_pct": 0.0,
    "voltage_gain_limit_pct": 0.0,
    "standby_draw_a": 0.0,
}


def flow(*, gap=False, least_a=-4.0, **sensor):
    """8 A out for 40 s and 4 A in for 10 s, over and over, at 50 V, read five times a second: 12.5 % comes back."""
    time_s = np.arange(0, 3000, 0.2)
    current = np.where(time_s % 50 < 40, 8.0, least_a)
    frame = pd.DataFrame({"current_a": current, "voltage_v": 50.0}, index=pd.Index(time_s, name="time_s"))
    if gap:
        frame = frame[(frame.index < 1000) | (frame.index > 1012)]
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    return electrical_flow(recording, sensor=SensorSection(**{**FAULTLESS, **sensor}))


def names(budget):
    return [row.name for row in budget.rows]


def test_the_budget_is_that_of_the_share():
    budget = recovered_budget(flow(charge_gain_limit_pct=1.0), step_s=0.2)
    assert (budget.quantity, budget.unit) == ("recovered", "%")
    assert budget.value == pytest.approx(12.5, abs=0.1)
    assert budget.low95 < budget.value < budget.high95


def test_an_error_of_the_charge_gain_alone_is_nearly_all_of_it():
    """1 % rectangular on what returned: u = 12.5 × 0.01/√3 = 0.0722 of 100."""
    budget = recovered_budget(flow(charge_gain_limit_pct=1.0), step_s=0.2)
    largest = budget.largest
    assert "charge" in largest.name
    assert largest.u == pytest.approx(12.5 * 0.01 / np.sqrt(3), rel=0.03)
    assert largest.advice == "compare-both-directions"


def test_gains_that_both_directions_share_are_not_in_it():
    shared = recovered_budget(flow(current_gain_limit_pct=5.0, voltage_gain_limit_pct=5.0), step_s=0.2)
    assert shared is None or not any("gain" in name and "charge" not in name for name in names(shared))


def test_missing_samples_have_a_row_only_where_some_are_missing():
    whole = recovered_budget(flow(charge_gain_limit_pct=1.0), step_s=0.2)
    cut = recovered_budget(flow(gap=True, charge_gain_limit_pct=1.0), step_s=0.2)
    assert not any("missing" in name for name in names(whole))
    assert any("missing" in name for name in names(cut))


@pytest.mark.parametrize(("step_s", "advice"), [(1.0, "log-faster"), (0.1, "let-it-average")])
def test_the_advice_on_sampling_goes_by_the_step(step_s, advice):
    rows = recovered_budget(flow(charge_gain_limit_pct=0.1), step_s=step_s).rows
    assert advice in [row.advice for row in rows]


def test_without_a_share_there_is_no_budget():
    assert recovered_budget(electrical_flow(None), step_s=0.2) is None
    assert recovered_budget(flow(least_a=0.0), step_s=0.2) is None
