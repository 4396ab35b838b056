"""The common series: rows of the reference, nothing invented across gaps and pauses."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from ridelog.recording import ClockJoin
from ridelog.timeline.joined import JoinedRecording
from ridelog.timeline.motion.speeds import Motion
from ridelog.timeline.series import EPOCH, wall_start
from tests.timeline.simulated import START, recording


def _joined(name: str, method: str, lag_s: float, **options: object) -> JoinedRecording:
    log = recording(name, np.arange(10.0), current_a=np.ones(10), **options)  # type: ignore[arg-type]
    join = ClockJoin(name, lag_s, None, None, method, None, 10.0, True)  # type: ignore[arg-type]
    return JoinedRecording(log, join, Motion())


def test_the_reference_tells_the_time_of_day_if_it_knows_it() -> None:
    own = _joined("c.csv", "reference", 0.0)
    assert wall_start(own.recording, [_joined("t.gpx", "speed", 5.0, start=START + timedelta(hours=9))]) == (START, ())


@pytest.mark.parametrize("clock", ["local", "elapsed"])
def test_a_joined_track_tells_the_time_of_day_if_the_reference_does_not_know_it(clock: str) -> None:
    own = _joined("c.csv", "reference", 0.0, clock=clock)
    start, findings = wall_start(own.recording, [_joined("t.gpx", "speed", 5.5)])
    assert start == START - timedelta(seconds=5.5)
    assert findings == ()


def test_an_unknown_time_zone_and_an_unknown_time_are_findings() -> None:
    own = _joined("c.csv", "reference", 0.0, clock="local")
    start, (finding,) = wall_start(own.recording, [])
    assert (start, finding.code) == (START, "time-zone-unknown")
    own = _joined("c.csv", "reference", 0.0, clock="elapsed")
    start, (finding,) = wall_start(own.recording, [_joined("t.gpx", "speed", 60.0, clock="local")])
    assert (start, finding.code) == (START - timedelta(seconds=60), "time-zone-unknown")
    start, (finding,) = wall_start(own.recording, [])
    assert (start, finding.code) == (EPOCH, "no-wall-time")
    assert datetime(1970, 1, 1, tzinfo=UTC) == EPOCH
