"""The common series: rows of the reference, nothing invented across gaps and pauses."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from ridelog.recording import ClockJoin
from ridelog.timeline.joined import JoinedRecording
from ridelog.timeline.motion.speeds import Motion
from ridelog.timeline.series import EPOCH, common_series, wall_start
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


def _beside(name: str, **columns: np.ndarray) -> JoinedRecording:
    """A recording of 1 Hz that began 1 s before the reference."""
    log = recording(name, np.arange(12.0), **columns)
    return JoinedRecording(log, ClockJoin(name, -1.0, 1.0, None, "speed", 0.9, 10.0, True), Motion())


def test_rows_are_the_references_and_the_others_fill_in_what_is_missing_in_their_order() -> None:
    """The reference at 0, 0.5, 1 s; the first other counts 0, 1, 2 … from 1 s before, the second ten times that."""
    own = recording("c.csv", np.array([0.0, 0.5, 1.0]), current_a=np.array([1.0, 2.0, 3.0]))
    first = _beside("t.gpx", altitude_m=np.arange(12.0), current_a=np.zeros(12))
    second = _beside("u.gpx", altitude_m=10 * np.arange(12.0), air_temperature_c=10 * np.arange(12.0))
    frame = common_series(own, [first, second], START, {})
    assert list(frame) == ["elapsed_s", "current_a", "altitude_m", "air_temperature_c"]
    assert frame["current_a"].tolist() == [1.0, 2.0, 3.0]
    assert frame["altitude_m"].tolist() == [1.0, 1.5, 2.0]
    assert frame["air_temperature_c"].tolist() == [10.0, 15.0, 20.0]
    assert (frame.index[1] - START).total_seconds() == 0.5


def test_a_brake_of_another_recording_holds_and_a_longitude_goes_the_short_way() -> None:
    own = recording("c.csv", np.array([0.0, 0.5]), current_a=np.ones(2))
    east = np.where(np.arange(12) < 2, 179.9, -179.9)
    frame = common_series(
        own, [_beside("t.gpx", brake_ratio=(np.arange(12.0) < 2).astype(float), longitude_deg=east)], START, {}
    )
    assert frame["brake_ratio"].tolist() == [1.0, 1.0]
    assert abs(frame["longitude_deg"].iloc[1]) == pytest.approx(180.0)


def test_motion_is_chosen_and_never_copied_and_power_is_filled_in() -> None:
    own = recording(
        "c.csv", np.arange(2.0), current_a=np.full(2, 3.0), voltage_v=np.full(2, 50.0), speed_mps=np.ones(2)
    )
    frame = common_series(own, [], START, {"distance_m": np.array([0.0, 7.0])})
    assert list(frame) == ["elapsed_s", "current_a", "voltage_v", "power_w", "distance_m"]
    assert frame["power_w"].tolist() == [150.0, 150.0]


def test_times_to_the_microsecond_do_not_add_up_rounding() -> None:
    """0.1 s is no binary fraction: ten million steps of it are a million seconds to the microsecond."""
    own = recording("c.csv", np.arange(0, 10_000_001, 10_000_000) * 0.1, current_a=np.ones(2))
    frame = common_series(own, [], START, {})
    assert frame.index[1] - frame.index[0] == timedelta(seconds=1_000_000)


def test_columns_are_shared_with_the_recording_until_one_is_written_to() -> None:
    own = recording("c.csv", np.arange(3.0), current_a=np.ones(3), speed_mps=np.full(3, 5.0))
    speed_mps = own.frame["speed_mps"].to_numpy()
    frame = common_series(own, [], START, {"speed_mps": speed_mps, "distance_m": np.arange(3.0)})
    for name in ("current_a", "speed_mps"):
        assert np.shares_memory(frame[name].to_numpy(), own.frame[name].to_numpy())
    for name in frame:
        frame.loc[frame.index[0], name] = 9.0
    assert frame.iloc[0].tolist() == [9.0] * 4
    assert (own.frame["current_a"] == 1.0).all()
    assert (own.frame["speed_mps"] == 5.0).all()
    assert own.time_s.tolist() == [0.0, 1.0, 2.0]
