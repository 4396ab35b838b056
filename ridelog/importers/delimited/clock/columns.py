"""Which columns of a log tell the time, in what form, and the sample times that they give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from ridelog.errors import ColumnQuestionError
from ridelog.findings import Finding
from ridelog.importers.columns.column import entry_table
from ridelog.importers.delimited.body import Body
from ridelog.importers.delimited.clock.steps import steady
from ridelog.importers.delimited.clock.summer_time import utc_from_local_s
from ridelog.importers.delimited.clock.wall_time import (
    WallTexts,
    epoch_s,
    iso_epoch_s,
    order_of_date,
    take_apart,
    time_of_day_s,
)
from ridelog.importers.sample_times import SettledTimes, believable_start
from ridelog.lazy import dataclass
from ridelog.recording import Clock
from ridelog.tell.reasons import clocks as reasons
from ridelog.tell.refusals.columns import date_order_open, time_unit_open
from ridelog.tell.refusals.logs import no_column_tells_time, unreadable_times
from ridelog.vocabulary.headers import HeaderMeaning
from ridelog.vocabulary.units import UNITS, Unit

if TYPE_CHECKING:
    from ridelog.settings.column_map import DateOrder, LogSettings

_EPOCH_RANGE_S = (946_684_800.0, 4_102_444_800.0)  # the years 2000 to 2100
_DAY_S = 86_400.0
_COUNTER_RANGES = (2.0**16, 2.0**32)  # where unsigned counters of a device start again


@dataclass(frozen=True)
class ClockReading:
    """The sample times of a log.

    Attributes
    ----------
    steady : times and the rows that they belong to
    start : wall time of the first sample kept, UTC; ``None`` for an elapsed clock
    clock_s : what an elapsed clock shows at the first sample kept; 0 for any other [s]
    why : column number -> how it was understood
    units : column number -> unit
    used : numbers of the columns used
    """

    steady: SettledTimes
    start: datetime | None
    clock: Clock
    why: dict[int, str] = field(default_factory=dict)
    units: dict[int, str] = field(default_factory=dict)
    used: frozenset[int] = frozenset()
    findings: tuple[Finding, ...] = ()
    clock_s: float = 0.0


@dataclass
class _Times:
    """One way to read the time from the file's columns."""

    columns: tuple[int, ...]
    times_s: np.ndarray
    wall: bool
    zoned: bool
    why: str
    unit: str
    base_s: float = 0.0
    wraps_s: tuple[float, ...] = ()
    rank: int = 0

    @property
    def n_distinct(self) -> int:
        return int(np.count_nonzero(np.diff(self.times_s[np.isfinite(self.times_s)]) > 0))


def read_clock(
    body: Body,
    meanings: Sequence[HeaderMeaning],
    log: LogSettings | None,
    name: str,
    same_as_before: np.ndarray | None = None,
) -> ClockReading:
    """Find the time columns of a log and read them.

    Parameters
    ----------
    body : the rows; time and date columns must be among those read, and their texts are let go
    meanings : of every column
    log : what the map states: time zone, order of a date
    name : of the file, for messages
    same_as_before : whether a row repeats all values of the row above it, shape (n,)

    Returns
    -------
    Sample times with the rows that they belong to, and how each column of time was understood.

    Raises
    ------
    InputError : times that do not increase
    ColumnQuestionError : no column tells the time, or one that can be read in two ways
    """
    if log is not None and log.step_s is not None:
        return _counted(body, meanings, log.step_s, name)
    ways, questions = _ways(body, meanings, log, name)
    body.texts.clear()  # nothing else reads them, and they take more than all numbers
    usable = [way for way in ways if np.isfinite(way.times_s).sum() >= 0.5 * body.n_rows]
    if usable:
        return _reading(_choice(usable), usable, body, log, (name, same_as_before))
    if questions:
        raise questions[0]
    if ways:
        headers = [body.dialect.headers[index] for index in ways[0].columns]
        raise unreadable_times(name, body.line_of(0), headers)
    raise no_column_tells_time(name, body.dialect.header_line)


def _counted(body: Body, meanings: Sequence[HeaderMeaning], step_s: float, name: str) -> ClockReading:
    """Rows that are so many seconds apart, as the map says; rows left out for their width count as well."""
    body.texts.clear()
    rows = np.arange(body.n_rows, dtype=float)
    if body.n_wrong and len(body.kept.numbers) == body.n_rows:
        lines = np.array(body.kept.numbers, dtype=float)
        rows = lines - lines[0]
    finding = Finding("rows-counted", "warning", {"file": name, "step_s": step_s, "n_rows": body.n_rows})
    settled = SettledTimes(np.arange(body.n_rows), rows * step_s, 0.0, (finding,))
    timely = [index for index, meaning in enumerate(meanings) if meaning.quantity in ("time", "date")]
    return ClockReading(
        settled, None, "elapsed", dict.fromkeys(timely, reasons.rows_counted(step_s)), findings=(finding,)
    )


def _ways(
    body: Body, meanings: Sequence[HeaderMeaning], log: LogSettings | None, name: str
) -> tuple[list[_Times], list[ColumnQuestionError]]:
    """Every way to read the time, and the questions of columns that can be read in two."""
    ways: list[_Times] = []
    questions: list[ColumnQuestionError] = []
    dates = [i for i, meaning in enumerate(meanings) if meaning.quantity == "date" and i in body.texts]
    for index, meaning in enumerate(meanings):
        if meaning.quantity not in ("time", "date"):
            continue
        try:
            if index in body.numbers and meaning.quantity == "time":
                ways.append(_of_numbers(body.numbers[index], index, meaning, body, name))
            elif index in body.texts:
                ways += _of_texts(body, index, meaning, dates, log, name)
        except ColumnQuestionError as question:
            questions.append(question)
    return ways, questions


@dataclass(frozen=True)
class _Choice:
    """The way that gives the steps, and another that gives the wall time of the start, where it needs one."""

    steps: _Times
    anchor: _Times | None

    @property
    def wall(self) -> _Times | None:
        """The one that tells wall time."""
        return self.steps if self.steps.wall else self.anchor


def _choice(ways: list[_Times]) -> _Choice:
    """The best way: wall time before elapsed time, whole before partial, finer before coarser."""
    chosen = min(ways, key=lambda way: (way.rank, not way.wall, -way.n_distinct))
    if not chosen.wall:
        return _Choice(chosen, next((way for way in ways if way.wall), None))
    elapsed = [way for way in ways if not way.wall and way.rank == 0]
    finer = max(elapsed, key=lambda way: way.n_distinct, default=None)
    if finer is not None and finer.n_distinct > 1.2 * chosen.n_distinct:
        return _Choice(finer, chosen)
    return _Choice(chosen, None)


def _reading(
    choice: _Choice,
    ways: list[_Times],
    body: Body,
    log: LogSettings | None,
    about: tuple[str, np.ndarray | None],
) -> ClockReading:
    """The sample times by the ways chosen."""
    name, same_as_before = about
    time_zone = log.time_zone if log else None
    choice = _in_utc(choice, time_zone)
    steps, anchor, wall = choice.steps, choice.anchor, choice.wall
    times = steady(steps.times_s, name, body.line_of, wraps_s=steps.wraps_s, same_as_before=same_as_before)
    why = {i: reasons.ANOTHER_TELLS for way in ways for i in way.columns}
    why |= dict.fromkeys(steps.columns, steps.why)
    units = dict.fromkeys(steps.columns, steps.unit)
    used = set(steps.columns)
    if anchor is not None:
        why |= dict.fromkeys(anchor.columns, reasons.gives_start(anchor.why))
        units |= dict.fromkeys(anchor.columns, anchor.unit)
        used |= set(anchor.columns)
    start, findings = None, times.findings
    zoned = bool(wall and (wall.zoned or time_zone))
    if wall is not None:
        start, doubts = believable_start(_start(choice, times, None if wall.zoned else time_zone), name)
        findings = (*findings, *doubts)
    clock: Clock = "elapsed" if start is None else "utc" if zoned else "local"
    clock_s = steps.base_s + times.first_s if clock == "elapsed" else 0.0
    return ClockReading(times, start, clock, why, units, frozenset(used), findings, clock_s)


def _in_utc(choice: _Choice, time_zone: str | None) -> _Choice:
    """The choice with local times of a named zone in UTC, where they give the steps."""
    steps = choice.steps
    if time_zone is None or not steps.wall or steps.zoned:
        return choice
    base_s, times_s = utc_from_local_s(steps.base_s, steps.times_s, time_zone)
    return replace(choice, steps=replace(steps, base_s=base_s, times_s=times_s, zoned=True))


def _start(choice: _Choice, times: SettledTimes, time_zone: str | None) -> datetime:
    """Wall time of the first sample kept."""
    steps, anchor = choice.steps, choice.anchor
    first_s = steps.base_s + times.first_s
    if anchor is not None:
        # A coarse stamp is cut off, so the largest difference is nearest to the truth.
        shown = anchor.times_s[times.rows] - times.time_s
        shown = shown[:200] if np.isfinite(shown[:200]).any() else shown
        first_s = anchor.base_s + float(np.nanmax(shown))
    start = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=first_s)
    return start.replace(tzinfo=ZoneInfo(time_zone)).astimezone(UTC) if time_zone else start


def _of_numbers(values: np.ndarray, index: int, meaning: HeaderMeaning, body: Body, name: str) -> _Times:
    """Numbers: elapsed time or the count since 1970, in the unit stated or the one that the steps show."""
    unit = body.cell_units.get(index) or meaning.unit
    header = body.dialect.headers[index]
    why = reasons.elapsed_in(unit.name) if unit else ""
    if unit is None or unit.dimension != "time":
        unit, why = _unit_by_size(values, header, name)
    times_s = values * unit.factor
    known = times_s[np.isfinite(times_s)]
    wall = bool(len(known)) and bool(_EPOCH_RANGE_S[0] < np.median(known) < _EPOCH_RANGE_S[1])
    if wall:
        why = reasons.since_1970(unit.name)
    base_s = float(np.floor(known[0])) if wall else 0.0
    times_s = (values - base_s / unit.factor) * unit.factor
    ranges = tuple(r * unit.factor for r in _COUNTER_RANGES) if unit.factor < 0.1 and not wall else ()
    rank = meaning.rank if len(known) else 9
    return _Times((index,), times_s, wall, wall, why, unit.name, base_s, ranges, rank)


def _unit_by_size(values: np.ndarray, header: str, name: str) -> tuple[Unit, str]:
    """The unit of a time column that states none, from the size of its values and steps."""
    known = values[np.isfinite(values)]
    steps = np.diff(known)
    steps = steps[steps > 0]
    if len(known) and not len(steps):
        return UNITS["s"], reasons.SINGLE_VALUE
    middle, step = (float(np.median(known)), float(np.median(steps))) if len(known) else (0.0, 0.0)
    for factor, spelling in ((1.0, "s"), (1e-3, "ms"), (1e-6, "µs")):
        if _EPOCH_RANGE_S[0] < middle * factor < _EPOCH_RANGE_S[1] and step * factor <= 60:
            return UNITS[spelling], ""
    whole = bool((known == np.round(known)).all())
    if 0.002 <= step <= 15:
        return UNITS["s"], reasons.seconds_by_steps(step)
    if whole and 90 <= step <= 5000:
        return UNITS["ms"], reasons.unit_by_whole_steps(step, "ms")
    if whole and 9000 <= step <= 5e6:
        return UNITS["µs"], reasons.unit_by_whole_steps(step, "µs")
    raise time_unit_open(name, header, step, entry_table(header, "time", "s"))


def _of_texts(
    body: Body, index: int, meaning: HeaderMeaning, dates: Sequence[int], log: LogSettings | None, name: str
) -> list[_Times]:
    """Texts: a date with a time, a date whose time stands in another column, or a time alone."""
    texts = body.texts[index]
    header = body.dialect.headers[index]
    if (iso := iso_epoch_s(texts)) is not None:
        why = reasons.iso_time(zoned=iso[2])
        return [_Times((index,), iso[1], True, iso[2], why, "", iso[0], rank=meaning.rank)]
    apart = take_apart(texts)
    if apart is not None:
        if not apart.has_time:
            return []  # read together with the column of the time of day
        order, why = _order(apart, log, header, name)
        base_s, times_s = epoch_s(apart, order)
        why = reasons.wall_time(why)
        return [_Times((index,), times_s, True, apart.has_zone, why, "", base_s, rank=meaning.rank)]
    if meaning.quantity == "date":
        return []
    seconds, has_zone, two_parts = time_of_day_s(texts)
    for date in dates:
        day = take_apart(body.texts[date])
        if day is None or day.has_time:
            continue
        if two_parts:
            seconds = seconds * 60
        order, why = _order(day, log, body.dialect.headers[date], name)
        base_s, days_s = epoch_s(day, order)
        times_s = days_s + seconds
        columns = (date, index)
        why = reasons.date_and_time(why)
        return [_Times(columns, times_s, True, has_zone, why, "", base_s, (_DAY_S,), meaning.rank)]
    form = "m:ss" if two_parts else "h:mm:ss"
    return [_Times((index,), seconds, False, False, reasons.no_date(form), form, 0.0, (_DAY_S,), meaning.rank)]


def _order(wall: WallTexts, log: LogSettings | None, header: str, name: str) -> tuple[DateOrder, str]:
    """The order of a date, by the map or by what the dates themselves show."""
    if log and log.date_order:
        return log.date_order, reasons.order_by_map(log.date_order)
    order, why = order_of_date(wall)
    if order is None:
        first = wall.parts[np.isfinite(wall.parts).all(axis=1)][0]
        raise date_order_open(name, header, first.tolist())
    return order, reasons.order_because(order, why)
