"""Times as text: durations, time since the start, dates."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from math import isfinite

from ridelog.tell.numbers import METRIC, UNKNOWN, Dial, Style, number


def duration(seconds: float | None, style: Style = METRIC) -> str:
    """``1 h 02 min``, ``12 min 05 s``, ``42 s`` or, below 10 s, ``4.2 s``."""
    if seconds is None or not isfinite(seconds):
        return UNKNOWN
    if 0 < abs(seconds) < 9.95:
        return f"{number(seconds, style, digits=2)} s"
    whole = round(seconds)
    if whole >= 3600:
        minutes = round(seconds / 60)
        return f"{minutes // 60} h {minutes % 60:02d} min"
    return f"{whole // 60} min {whole % 60:02d} s" if whole >= 60 else f"{whole} s"


def clock(seconds: float, style: Style = METRIC, *, decimals: int = 0) -> str:
    """An instant of a ride: since its start as "0:12:30", or on the style's clock as "08:52:30".

    Parameters
    ----------
    seconds : since the start
    style : its clock, and the sign of a time before the start
    decimals : of the seconds

    Returns
    -------
    text : hours, minutes and seconds
    """
    if style.dial is None:
        return elapsed(seconds, style, decimals=decimals)
    finest_us = 10 ** (6 - decimals)
    shown = style.dial.started + timedelta(seconds=seconds, microseconds=finest_us // 2)
    fraction = f"{style.point}{shown.microsecond // finest_us:0{decimals}d}" if decimals else ""
    return f"{shown:%H:%M:%S}{fraction}"


def elapsed(seconds: float, style: Style = METRIC, *, decimals: int = 0) -> str:
    """Time since the start as "0:12:30" (hours, minutes, seconds), whichever clock a style has.

    Parameters
    ----------
    seconds : since the start
    style : the sign of a time before it
    decimals : of the seconds

    Returns
    -------
    text : hours, minutes and seconds
    """
    ticks = round(abs(seconds) * 10**decimals)
    whole, rest = divmod(ticks, 10**decimals)
    fraction = f"{style.point}{rest:0{decimals}d}" if decimals else ""
    sign = style.minus if seconds < 0 and ticks else ""
    return f"{sign}{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}{fraction}"


def clock_span(start_s: float | None, end_s: float | None, style: Style = METRIC) -> str | None:
    """A time span: "at 0:12:30" or "0:12:30 to 0:13:00"; ``None`` for the whole ride.

    Parameters
    ----------
    start_s, end_s : since the start; ``None`` where it has none [s]
    style : the sign of a time before the start

    Returns
    -------
    text : one instant where both ends look the same
    """
    if start_s is None and end_s is None:
        return None
    if start_s is None or end_s is None or clock(start_s, style) == clock(end_s, style):
        return f"at {clock(start_s if start_s is not None else end_s or 0.0, style)}"
    return f"{clock(start_s, style)} to {clock(end_s, style)}"


def instant(when: datetime | None) -> str:
    """A date and time of the day in UTC: "2026-05-01 08:00:01 UTC"; a dash where it is not known."""
    return UNKNOWN if when is None else f"{on_the_clock(when.astimezone(UTC))} UTC"


def on_the_clock(when: datetime) -> str:
    """A date and time of the day as its clock shows it: "2026-05-01 08:00:01"."""
    return f"{when:%Y-%m-%d %H:%M:%S}"


def day_in_numbers(parts: Iterable[float]) -> str:
    """The numbers of a date in their order, whichever it is: "03/04/2026"."""
    return "/".join(f"{part:02.0f}" for part in parts)


def calendar(when: datetime) -> str:
    """A date and time of the day as one says it: "1 May 2026, 08:00 UTC"."""
    return f"{day_and_time(when.astimezone(UTC))} UTC"


def calendar_by(dial: Dial) -> str:
    """When a ride began as a clock showed it: "1 May 2026, 10:00 (Europe/Lisbon)"."""
    when = dial.started
    return calendar(when) if dial.name == "UTC" else f"{day_and_time(when)} ({dial.name})"


def day(when: datetime) -> str:
    """A date as one says it: "1 May 2026", in UTC."""
    when = when.astimezone(UTC)
    return f"{when.day} {when:%B %Y}"


def time_by(dial: Dial) -> str:
    """At which time of the day a ride began as a clock showed it: "08:00 UTC", "10:00 (the log's clock)"."""
    return f"{dial.started:%H:%M} {dial.name if dial.name == 'UTC' else f'({dial.name})'}"


def day_and_time(when: datetime) -> str:
    """A date and time of the day whose zone is not said: "1 May 2026, 08:00"."""
    return f"{when.day} {when:%B %Y, %H:%M}"


def month(when: datetime) -> str:
    """A month: "March 2026"."""
    return f"{when:%B %Y}"


def from_to(begin: datetime, end: datetime) -> str:
    """When something began and ended: "2026-05-01 08:00 to 09:12 UTC"; without a zone where it is not known."""
    last = f"{end:%H:%M}" if end.date() == begin.date() else f"{end:%Y-%m-%d %H:%M}"
    return f"{begin:%Y-%m-%d %H:%M} to {last}{' UTC' if begin.tzinfo is not None else ''}"
