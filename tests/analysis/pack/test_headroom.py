"""What must be free in the pack at the start for everything that comes back."""

import numpy as np
import pytest

from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.pack.headroom import headroom_q, highest_rise, start_charge_pct
from ridelog.recording import Recording
from tests.analysis.pack.pack_logs import SENSOR, stretches


def flow_of(*parts):
    import pandas as pd

    time_s, current_a = stretches(*parts, step_s=1.0)
    frame = pd.DataFrame({"current_a": current_a}, index=pd.Index(time_s, name="time_s"))
    recording = Recording("log.csv", "", "csv", frame, None, "elapsed", can_show_return=True)
    return electrical_flow(recording, sensor=SENSOR, speed_mps=np.full(len(time_s), 6.0))


def headroom(*parts):
    flow = flow_of(*parts)
    return headroom_q(flow.charge, flow.current_a, np.ones(len(flow.time_s) - 1, dtype=bool))


def test_the_highest_rise_is_the_most_that_was_ever_in_beyond_the_start():
    """−2 A for 1800 s: 1 Ah in; 3 A for 1800 s: 1.5 out; −4 A for 900 s: 1 in, which ends at 0.5. By hand: 1 Ah."""
    time_s, current_a = stretches((-2, 1800), (3, 1800), (-4, 900), step_s=1.0)
    rise_ah, at_s = highest_rise(time_s, current_a, np.ones(len(time_s) - 1, dtype=bool))
    assert rise_ah == pytest.approx(1.0, abs=0.002)  # two samples at the edge
    assert at_s == pytest.approx(1799, abs=1)


def test_a_ride_that_draws_first_needs_no_headroom():
    """3 A for 1800 s, then −2 A for 1800 s: never above the start, by hand."""
    found = headroom((3, 1800), (-2, 1800))
    assert found.value == 0
    assert found.high95 == 0


def test_headroom_comes_with_the_gain_of_the_current():
    """1 Ah in at ± 1 % and ± 0.2 %: sum of rectangles, 95 % within 1.2 − sqrt(2 · 0.05 · 0.2) = 1.059 % (by hand)."""
    found = headroom((-2, 1800), (3, 1800))
    assert found.value == pytest.approx(1.0, abs=0.002)
    assert found.high95 - found.value == pytest.approx(0.0106, abs=0.0012)
    assert found.value - found.low95 == pytest.approx(0.0106, abs=0.0012)


def test_the_start_charge_is_that_of_the_ride_that_asks_for_most():
    """Of 14 Ah, 1.2 Ah free leave 91.4 %: 91 in whole percent. 0.84 Ah are 6 %: leave at 94 %."""
    assert start_charge_pct([0.5, 1.2, 0.0], 14.0) == 91
    assert start_charge_pct([0.84], 14.0) == 94


def test_a_ride_that_returns_more_than_the_pack_holds_is_to_be_begun_empty():
    assert start_charge_pct([20.0], 14.0) == 0


@pytest.mark.parametrize(("rides", "capacity"), [([], 14.0), ([1.0], 0.0)])
def test_no_ride_or_no_capacity_is_refused(rides, capacity):
    with pytest.raises(ValueError, match="at least one ride"):
        start_charge_pct(rides, capacity)
