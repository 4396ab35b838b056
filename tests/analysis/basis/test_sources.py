"""How sure clocks are, as the answer tells it."""

import pytest

from ridelog.analysis.basis.sources import clock_drift_q, clock_offset_q
from ridelog.recording import ClockJoin


def test_clocks_give_their_normal_interval_or_none():
    join = ClockJoin("a.gpx", -3.0, 3.0, 20.0, "speed", 0.9, 900.0, True, offset_u_s=0.1, drift_u_ppm=5.0)
    offset, drift = clock_offset_q(join), clock_drift_q(join)
    assert (offset.low95, offset.high95) == pytest.approx((3 - 0.195996, 3 + 0.195996), abs=1e-6)
    assert (drift.low95, drift.high95) == pytest.approx((20 - 9.79982, 20 + 9.79982), abs=1e-5)
    unknown = ClockJoin("a.gpx", 0.0, None, None, "none", None, 0.0, False)
    assert clock_offset_q(unknown) is None
    assert clock_drift_q(unknown) is None
