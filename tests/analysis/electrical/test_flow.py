"""What flowed in a span of time that the electrical log covers only in part."""

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.recording import Recording


def test_a_span_that_begins_before_the_first_known_current_counts_from_there():
    """Current is known from 10 s on and is 2 A: from 2 to 20 s 20 A·s are drawn, 20/3600 Ah."""
    time_s = np.arange(0.0, 101.0)
    current = np.where(time_s < 10, np.nan, np.where(time_s > 90, -1.0, 2.0))
    frame = pd.DataFrame({"current_a": current}, index=pd.Index(time_s, name="time_s"))
    flow = electrical_flow(Recording("log.csv", "log", "csv", frame, None, "elapsed"))
    drawn = flow.between(2.0, 20.0).charge.drawn_q()
    assert drawn.value == pytest.approx(20 / 3600)
    assert drawn.low95 < 20 / 3600 < drawn.high95
