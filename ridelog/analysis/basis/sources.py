"""The recordings of a ride as the answer names them: what each is, and how its clock was joined."""

import numpy as np

from ridelog.answer.ride import Source
from ridelog.arrays import pause_steps, time_gaps
from ridelog.recording import ClockJoin, Recording
from ridelog.uncertain.gum import coverage_factor
from ridelog.uncertain.quantity import Quantity


def source_record(recording: Recording, join: ClockJoin) -> Source:
    """The record of one recording and its clock."""
    time_s = recording.time_s
    counted = ~(time_gaps(time_s) | pause_steps(time_s, recording.pauses_s))
    covered_s = float(np.diff(time_s)[counted].sum())
    own = Quantity(0.0, 0.0, 0.0)  # the reference against itself
    return Source(
        path=recording.name,
        sha256=recording.sha256,
        format=recording.format,
        role=recording.role,
        start=recording.start if recording.clock == "utc" else None,
        end=recording.end if recording.clock == "utc" else None,
        samples=len(recording.frame),
        step_s=recording.step_s,
        covered_pct=100 * covered_s / recording.duration_s if recording.duration_s else 0.0,
        clock_offset_s=own if join.method == "reference" else clock_offset_q(join),
        clock_drift_ppm=own if join.method == "reference" else clock_drift_q(join),
    )


def clock_offset_q(join: ClockJoin) -> Quantity | None:
    """Offset of a clock with its interval; ``None`` where it is not trusted or there is none [s]."""
    return _normal(join.offset_s, join.offset_u_s) if join.trusted else None


def clock_drift_q(join: ClockJoin) -> Quantity | None:
    """Drift of a clock with its interval; ``None`` where none was found or the join is not trusted [1e-6]."""
    return _normal(join.drift_ppm, join.drift_u_ppm) if join.trusted else None


def _normal(value: float | None, u: float | None) -> Quantity | None:
    if value is None:
        return None
    return (
        Quantity(value) if u is None else Quantity(value, value - coverage_factor() * u, value + coverage_factor() * u)
    )
