"""Rides measured against their truth, in parallel: each row is one number of one ride, as said and as it truly was."""

import os
import sys
import warnings
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict, dataclass, field
from multiprocessing import get_context
from typing import Any

import numpy as np

from ridelog.analysis.measure import measure
from ridelog.answer.braking import BrakingEvent
from ridelog.answer.ride import Answer
from ridelog.recording import ClockJoin
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.quantity import Quantity
from sample_rides.truth import TrueEvent, TrueHill, TruthSettings, truth
from tests.proof.bench import (
    QUANTITIES,
    Case,
    Log,
    TrueRide,
    electrical_recording,
    random_case,
    random_log,
    random_track,
    random_track_case,
)
from tests.proof.oracle import oracle_widths

ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}


@dataclass(frozen=True)
class Row:
    """One number: which, with which logger, what was said and what was true; ``oracle_width`` where it was drawn."""

    ride: int
    name: str
    value: float | None
    low: float | None
    high: float | None
    truth: float
    logger: dict[str, Any] = field(default_factory=dict)
    oracle_width: float | None = None

    @property
    def covered(self) -> bool:
        """Whether the interval holds the truth; a number without an interval holds nothing.

        A rounding error of 1e-9 Wh is no miss: where nothing came back, interval and truth are exactly 0.
        """
        if self.low is None or self.high is None:
            return False
        return self.low - 1e-9 <= self.truth <= self.high + 1e-9

    @property
    def width(self) -> float:
        """Of the interval; NaN without one."""
        return self.high - self.low if self.low is not None and self.high is not None else np.nan


@dataclass(frozen=True)
class Joined:
    """One joining of clocks: whether it was trusted, and how far off it is [s]."""

    ride: int
    trusted: bool
    method: str
    step_s: float
    offset_error_s: float | None
    worst_error_s: float
    seconds_apart: float


@dataclass(frozen=True)
class Plan:
    """What each ride of a study is used for: so many loggers, tracks, oracle draws, and loggers as the sharp one."""

    n_loggers: int = 6
    n_tracks: int = 3
    n_oracle: int = 2
    with_sharp: bool = True
    short_rides: bool = False


@dataclass
class Result:
    """What came of one ride, or of all."""

    rows: list[Row] = field(default_factory=list)
    joins: list[Joined] = field(default_factory=list)
    n_hills: int = 0
    n_hills_found: int = 0
    n_events: int = 0
    n_events_found: int = 0

    def add(self, other: "Result") -> None:
        """Takes in what came of another ride."""
        self.rows += other.rows
        self.joins += other.joins
        for name in ("n_hills", "n_hills_found", "n_events", "n_events_found"):
            setattr(self, name, getattr(self, name) + getattr(other, name))


SHARP = Case(step_s=0.2, zero_limit_a=0.1, gain_limit_pct=1.0, standby_known=True)


def measure_ride(seed: int, plan: Plan) -> Result:
    """One ride with all its loggers and tracks; the same seed and plan give the same result."""
    ride = TrueRide(seed, short=plan.short_rides)
    result = Result()
    for index in range(plan.n_loggers):
        rng = np.random.default_rng([seed, 2, index])
        case = random_case(rng)
        widths = oracle_widths(ride, case, seed=index) if index < plan.n_oracle else {}
        result.rows += electrical_rows(ride, case, random_log(ride, case, rng), widths)
    if plan.with_sharp:
        log = random_log(ride, SHARP, np.random.default_rng([seed, 3]))
        result.rows += electrical_rows(ride, SHARP, log, oracle_widths(ride, SHARP, seed=99), prefix="sharp ")
    for index in range(plan.n_tracks):
        _with_track(ride, np.random.default_rng([seed, 4, index]), result, always_5_hz=index == 0)
    return result


def electrical_rows(ride: TrueRide, case: Case, log: Log, widths: dict[str, float], *, prefix: str = "") -> list[Row]:
    """The totals of an electrical log alone."""
    answer = measure(join_recordings([electrical_recording(log)], case.bike(ride)))
    true = ride.truth(log.first_s, log.last_s)
    said = totals(answer)
    return [
        Row(ride.seed, prefix + name, *_bounds(said[name]), true[name], asdict(case), widths.get(name))
        for name in QUANTITIES
    ]


def totals(answer: Answer) -> dict[str, Quantity | None]:
    """The `QUANTITIES` of an answer."""
    charge, energy = answer.charge, answer.energy
    parts = (charge.drawn_ah, charge.returned_ah, charge.recovered_pct)
    return dict(zip(QUANTITIES, (*parts, energy.drawn_wh, energy.returned_wh, energy.recovered_pct), strict=True))


def _bounds(said: Quantity | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if said is None else (said.value, said.low95, said.high95)


def _with_track(ride: TrueRide, rng: np.random.Generator, result: Result, *, always_5_hz: bool) -> None:
    """Joins one track to one log, and holds clock, hills and braking events against the truth."""
    case = random_case(rng)
    if always_5_hz:
        case = Case(**{**asdict(case), "step_s": 0.2})
    log = random_log(ride, case, rng)
    track_case = random_track_case(rng, ride.duration_s)
    track, moments_s = random_track(ride, track_case, log, rng)
    electrical = electrical_recording(log, clock=track_case.electrical_clock)
    joined = join_recordings([electrical, track], case.bike(ride))
    answer = measure(joined)
    join = joined.joins[1]
    logger = {**asdict(case), **{f"track_{key}": value for key, value in asdict(track_case).items()}}
    true_offset_s = track_case.true_offset_s(float(moments_s[0]))
    result.joins.append(_join_error(ride.seed, case, join, true_offset_s, moments_s, track.time_s))
    if not join.trusted:
        return
    offset = answer.sources[1].clock_offset_s
    if offset is not None:
        result.rows.append(Row(ride.seed, "clock offset", *_bounds(offset), true_offset_s, logger))
    true = truth(ride.sim, TruthSettings(first_sample_s=log.first_s))
    _hills(ride, answer, true.hills, log, logger, result)
    _events(ride, answer, true.events, log, logger, result)


def _join_error(
    seed: int, case: Case, join: ClockJoin, offset_s: float, moments_s: np.ndarray, track_time_s: np.ndarray
) -> Joined:
    offset_error_s = None if join.offset_s is None else join.offset_s - offset_s
    worst_s = float(np.abs(join.to_reference_s(track_time_s) - moments_s).max())
    return Joined(seed, join.trusted, join.method, case.step_s, offset_error_s, worst_s, offset_s)


def overlap_share(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Common part of two spans over what both cover together."""
    common = min(first[1], second[1]) - max(first[0], second[0])
    whole = max(first[1], second[1]) - min(first[0], second[0])
    return max(common, 0.0) / whole if whole > 0 else 0.0


SAME_SPAN = 0.5  # two spans are of one hill or event if they share at least this part of what both cover


def _alike(span: tuple[float, float], others: Sequence[Any]) -> Any | None:
    """The one of ``others`` that covers about the same time, if one does."""
    best = max(others, key=lambda one: overlap_share(span, (one.start_s, one.end_s)), default=None)
    if best is None or overlap_share(span, (best.start_s, best.end_s)) < SAME_SPAN:
        return None
    return best


def _hills(
    ride: TrueRide, answer: Answer, hills: Iterable[TrueHill], log: Log, logger: dict[str, Any], result: Result
) -> None:
    """Each hill against the true hill that it is, and its height also against that of the stretch it covers."""
    for found in answer.hills:
        bounds_s = log.first_s + np.array([found.start_s, found.end_s])
        rise_m = float(np.diff(np.interp(bounds_s, ride.sim.time_s, ride.sim.height_m))[0])
        result.rows.append(Row(ride.seed, "hill height, own span", *_bounds(found.height_m), rise_m, logger))
    for hill in hills:
        same = [one for one in answer.hills if one.direction == hill.direction]
        alike = _alike((hill.start_s, hill.end_s), same)
        result.n_hills += 1
        if alike is None:
            continue
        result.n_hills_found += 1
        height_m = hill.height_m if hill.direction == "up" else -hill.height_m
        result.rows += [
            Row(ride.seed, f"hill returned {hill.direction}", *_bounds(alike.returned_wh), hill.returned_wh, logger),
            Row(ride.seed, f"hill drawn {hill.direction}", *_bounds(alike.drawn_wh), hill.drawn_wh, logger),
            Row(ride.seed, "hill height, true span", *_bounds(alike.height_m), height_m, logger),
        ]


def _events(
    ride: TrueRide, answer: Answer, events: Sequence[TrueEvent], log: Log, logger: dict[str, Any], result: Result
) -> None:
    """Each event twice: against the truth of the time that it counts, and against the true event that it is.

    What came back is counted from the sample before an event to the sample after it.
    """
    result.n_events += len(events)
    frame_s = log.frame["time_s"].to_numpy()
    said: list[BrakingEvent] = list(answer.braking.events)
    for event in said:
        before = frame_s[max(int(np.searchsorted(frame_s, event.start_s - 1e-6)) - 1, 0)]
        after = frame_s[min(int(np.searchsorted(frame_s, event.end_s + 1e-6)), len(frame_s) - 1)]
        start_s, end_s = (  # no sample is taken across a gap
            at if abs(at - bound) < 1.5 * logger["step_s"] else bound
            for at, bound in ((before, event.start_s), (after, event.end_s))
        )
        own_wh = float(ride.flows(log.first_s + start_s, log.first_s + end_s)[3])
        result.rows.append(Row(ride.seed, "event returned, own span", *_bounds(event.returned_wh), own_wh, logger))
    for true in events:
        found = _alike((true.start_s, true.end_s), said)
        if found is not None:
            result.n_events_found += 1
            row = Row(ride.seed, "event returned, true span", *_bounds(found.returned_wh), true.returned_wh, logger)
            result.rows.append(row)


def run_study(
    seeds: Iterable[int], plan: Plan, *, workers: int | None = None, task: Callable[[int, Plan], Result] = measure_ride
) -> Result:
    """All rides, in as many processes as there are cores, with progress on stderr; the order is that of the seeds.

    One worker is this process: a slice is ridden sooner than others have begun.
    """
    seeds, total = list(seeds), Result()
    workers = workers or os.cpu_count() or 1
    if workers == 1:
        for seed in seeds:
            total.add(task(seed, plan))
        return total
    before = {key: os.environ.get(key) for key in ONE_THREAD}
    os.environ.update(ONE_THREAD)  # before numpy is imported in a worker: one thread a process
    try:
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_strict) as pool:
            done = {pool.submit(task, seed, plan): seed for seed in seeds}
            results: dict[int, Result] = {}
            for future in as_completed(done):
                results[done[future]] = future.result()
                if len(results) % 20 == 0 or len(results) == len(seeds):
                    sys.stderr.write(f"\rrides measured: {len(results)} of {len(seeds)}")
                    sys.stderr.flush()
    finally:
        for key, value in before.items():
            os.environ.pop(key, None)
            if value is not None:
                os.environ[key] = value
    sys.stderr.write("\n")
    for seed in seeds:
        total.add(results[seed])
    return total


def _strict() -> None:
    """Warnings are errors in the workers too, as in the tests."""
    warnings.simplefilter("error")
