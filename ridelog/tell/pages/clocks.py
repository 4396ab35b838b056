"""The clocks that the times of a ride can be told by, as far as its files tell them; nothing is looked up elsewhere."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from ridelog.answer.ride import Answer
from ridelog.tell.numbers import Dial
from ridelog.tell.tables import is_reference

ZONE_STEP_S = 900.0  # time zones are whole quarters of an hour
CLOCKS = (
    ("start", "Since the start"),
    ("log", "The log's clock"),
    ("utc", "UTC"),
    ("place", "Local time of the place"),
)
CLOCK_NAMES = tuple(name for name, _ in CLOCKS)


def dials(answer: Answer) -> dict[str, Dial]:
    """The clocks that a ride's times can be told by, by the names of `CLOCKS`.

    Times since the start need none. The log's clock is that of the recording that all times count on, as it stood:
    where it told no zone and was joined to a recording that did, what that one showed less the offset between them. How
    many quarters of an hour the two are apart is then the zone that the log was set to. Of the place there is what the
    column map says, else that zone.

    Parameters
    ----------
    answer : of the ride

    Returns
    -------
    Clocks; none where no file tells the time of the day.
    """
    start = answer.ride.start
    if start is None:
        return {}
    if any(finding.code == "time-zone-unknown" for finding in answer.findings):
        return {"log": Dial(start, "the log's clock")}
    found = {"utc": Dial(start.astimezone(UTC), "UTC")}
    ahead = _log_ahead(answer)
    if ahead is not None:
        found["log"] = Dial(start.astimezone(UTC) + ahead, "the log's clock")
    place = _by_zone(start, answer.ride.time_zone)
    quarters = round(ahead.total_seconds() / ZONE_STEP_S) if ahead else 0
    if place is None and quarters:
        zone = timezone(timedelta(seconds=quarters * ZONE_STEP_S))
        place = Dial(start.astimezone(zone), f"{zone}, as the log was set")
    return found if place is None else {**found, "place": place}


def dials_by(start: datetime, zone: str | None = None, *, told: bool = True) -> dict[str, Dial]:
    """The clocks that are known by a ride's start alone, by the names of `CLOCKS`.

    Parameters
    ----------
    start : of the ride
    zone : of the place, where it is known
    told : the files say which zone their times are of

    Returns
    -------
    Clocks; that of the log where it is the only one.
    """
    if not told or start.tzinfo is None:
        return {"log": Dial(start, "the log's clock")}
    place = _by_zone(start, zone)
    return {"utc": Dial(start.astimezone(UTC), "UTC"), **({} if place is None else {"place": place})}


def begin_by(clocks: Mapping[str, Dial], chosen: str) -> Dial | None:
    """The clock by which it is told when a ride began.

    Parameters
    ----------
    clocks : as `dials` gives them
    chosen : name of a clock

    Returns
    -------
    The one that was chosen, else UTC, else the log's; ``None`` where no file tells the time.
    """
    return clocks.get(chosen) or clocks.get("utc") or clocks.get("log")


def _by_zone(start: datetime, zone: str | None) -> Dial | None:
    if zone is None:
        return None
    try:
        return Dial(start.astimezone(ZoneInfo(zone)), zone)
    except (ZoneInfoNotFoundError, ValueError):  # an answer of another computer, which knew more zones
        return None


def _log_ahead(answer: Answer) -> timedelta | None:
    """By how much the clock of the log is ahead of UTC; ``None`` where it shows no time of the day."""
    reference = next((each for each in answer.sources if is_reference(each)), None)
    if reference is None or reference.start is not None:  # one that is UTC, or the only file
        return timedelta()
    joined = next((each for each in answer.sources if each.start is not None and each.clock_offset_s is not None), None)
    if joined is None or joined.clock_offset_s is None:
        return None
    by_walls = any(
        finding.code == "clock-joined"
        and (finding.facts.get("wall_clocks") is True or finding.facts.get("method") == "wall clock")
        for finding in answer.findings
    )
    return timedelta(seconds=-joined.clock_offset_s.value) if by_walls else None
