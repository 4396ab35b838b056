"""An audit in words and tables: what each bike gives, what stands out since when, what could not be measured."""

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from ridelog.findings import Severity
from ridelog.fleet.history.one_way import OneWay
from ridelog.fleet.record import Audit, BikeAudit
from ridelog.lazy import dataclass
from ridelog.tell.fleet.standing_out import IN_SHORT, remark
from ridelog.tell.kinds import CONSUMPTION, DISTANCE, HEIGHT, PERCENTAGE, TEMPERATURE
from ridelog.tell.numbers import METRIC, Style, amount, count, counted
from ridelog.tell.table import Column, Table
from ridelog.tell.times import day, month
from ridelog.uncertain.quantity import Quantity

HISTORY_NOTE = (
    "Each dot is a ride and what it gave back of what it drew, the line through it its 95 % interval. "
    "A cross is a ride of which that is not known. A dashed line marks the first ride of what stands out."
)


@dataclass(frozen=True)
class Remark:
    """What stands out of one bike: ``who``, by what and since when, and how, in a sentence or a few."""

    who: str
    severity: Severity
    code: str
    words: str


def headline(audit: Audit) -> str:
    """What was looked at, how many bikes stand out, and how much could not be measured."""
    n_rides = sum(bike.rides for bike in audit.bikes)
    looked_at = f"{counted(n_rides, 'ride')} of {counted(len(audit.bikes), 'bike')}"
    standing = sum(bike.gravest is not None for bike in audit.bikes)
    out = "no bike stands out" if not standing else f"{counted(standing, 'bike stands', 'bikes stand')} out"
    failed = (
        f"; {counted(len(audit.failed), 'ride or file', 'rides or files')} could not be measured"
        if audit.failed
        else ""
    )
    return f"{looked_at}: {out}{failed}."


def work_done(audit: Audit) -> str:
    """What was measured now, and what had been before."""
    return f"Measured now: {count(audit.measured)}; measured before and unchanged: {count(audit.unchanged)}."


def remarks(audit: Audit, style: Style = METRIC) -> Iterator[Remark]:
    """What stands out, bike by bike, gravest first.

    Parameters
    ----------
    audit : of some bikes
    style : units, digits and separators

    Yields
    ------
    One remark each.
    """
    for bike in audit.bikes:
        for one in bike.stands_out:
            since = "" if one.since is None else f" since {day(one.since)}"
            who = f"{bike.bike}: {IN_SHORT[one.code]}{since}"
            yield Remark(who, one.severity, one.code, remark(one.code, one.evidence, style))


def bikes(audit: Audit, style: Style = METRIC) -> Table:
    """One row a bike.

    Parameters
    ----------
    audit : of some bikes
    style : units, digits and separators

    Returns
    -------
    Names, how far and how often it was ridden, its own figures with their intervals, and what stands out, in short.
    """
    columns = (
        Column("bike", "Bike", align="left"),
        Column("rides", "Rides"),
        Column("distance_sum", "Distance", align="right"),
        Column("recovered_mean", "Recovered", PERCENTAGE),
        Column("spread", "Ride to ride ±", PERCENTAGE, decimals=1),
        Column("captured_mean", "Captured", PERCENTAGE),
        Column("use", "Used", CONSUMPTION),
        Column("stands_out", "Stands out", align="left"),
    )
    rows = tuple(
        (
            bike.bike, bike.rides, amount(bike.distance_m, DISTANCE, style), bike.recovered_pct, bike.ride_to_ride_sd,
            bike.captured_pct, bike.net_wh_per_km, ", ".join(IN_SHORT[one.code] for one in bike.stands_out),
        )
        for bike in audit.bikes
    )  # fmt: skip
    known = any(
        each is not None for bike in audit.bikes for each in (bike.recovered_pct, bike.captured_pct, bike.net_wh_per_km)
    )
    note = "Figures are means over rides; their intervals hold how much rides differ as well." if known else ""
    return Table("bikes", "Bikes", columns, rows, note)


def parts(bike: BikeAudit, style: Style = METRIC) -> Table:
    """A bike's own figure by month, by air temperature, and by direction on roads that it rode both ways.

    Parameters
    ----------
    bike : of an audit
    style : units, digits and separators

    Returns
    -------
    One row a part that has a figure; none where all rides are of one month, one band and one direction.
    """
    columns = (
        Column("part", "Of the rides", align="left"),
        Column("recovered_mean", "Recovered", PERCENTAGE),
        Column("captured_mean", "Captured", PERCENTAGE),
    )
    told: list[tuple[str, Quantity | None, Quantity | None]] = [
        *((month(datetime.fromisoformat(f"{name}-01")), mean, None) for name, mean in bike.by_month.items()),
        *((_band(band, style), mean, None) for band, mean in bike.by_air_c.items()),
        *((_way(way, style), way.recovered_pct, way.captured_pct) for way in bike.by_direction),
    ]
    rows = tuple(
        (part, _seen(recovered), _seen(captured)) for part, recovered, captured in told if recovered is not None
    )
    note = "Parts of which fewer than three rides know it are left out." if len(rows) < len(told) else ""
    return Table("parts", "By month, air temperature and direction", columns, rows, note)


def rides(bike: BikeAudit) -> Table:
    """A bike's rides one by one, as they are drawn."""
    columns = (
        Column("ride", "Ride", align="left"),
        Column("start", "Day", align="left"),
        Column("recovered", "Recovered", PERCENTAGE),
        Column("captured", "Captured", PERCENTAGE),
    )
    rows = tuple(
        (one.name, "" if one.start is None else day(one.start), one.recovered_pct, one.captured_pct)
        for one in bike.history
    )
    return Table("rides", f"The {counted(len(rows), 'ride')} of {bike.bike}", columns, rows)


def _seen(share_pct: Quantity | None, *, least_pct: float = 0.01) -> Quantity | None:
    """A share of which nothing would be seen is 0."""
    if share_pct is None or share_pct.high95 is None or share_pct.high95 >= least_pct:
        return share_pct
    return Quantity(0.0)


def _band(band: str, style: Style) -> str:
    """A band of air temperature, as "10..20" has it in °C."""
    low, high = (amount(float(end), TEMPERATURE, style, decimals=0) if end else "" for end in band.split(".."))
    if not low:
        return f"air below {high}"
    return f"air of {low} to {high}" if high else f"air from {low}"


def _way(way: OneWay, style: Style) -> str:
    """One way of a road, by what it climbs and falls and by its first ride."""
    heights = [
        f"{word} {amount(metres, HEIGHT, style, decimals=0)}"
        for word, metres in (("up", way.ascent_m), ("down", way.descent_m))
        if metres is not None
    ]
    first = way.name if way.first is None else f"{way.name} ({day(way.first)})"
    return f"road {way.road} {way.way}, {', '.join([*heights, counted(way.rides, 'ride', style=style)])}: as {first}"


def hills(audit: Audit, *, most: int = 20) -> Table:
    """The hills that were passed most often.

    Parameters
    ----------
    audit : of some bikes
    most : rows

    Returns
    -------
    One row a hill and direction.
    """
    columns = (
        Column("hill", "Hill", align="left"),
        Column("passes", "Passes"),
        Column("bikes", "Bikes"),
        Column("recovered_mean", "Recovered", PERCENTAGE),
        Column("captured_mean", "Captured", PERCENTAGE),
    )
    rows = tuple((hill.name, hill.passes, hill.bikes, hill.recovered_pct, hill.captured_pct) for hill in audit.hills)
    note = f"The {most} of {len(rows)} hills that were passed most often." if len(rows) > most else ""
    return Table("hills", "Hills", columns, rows[:most], note)


def failed(audit: Audit, *, apart: int = 3) -> Table:
    """What could not be measured, why, and what to do.

    Parameters
    ----------
    audit : of which it is told
    apart : more files of one folder, with one reason, are told together

    Returns
    -------
    By path; of files that are told together the first.
    """
    columns = (
        Column("path", "File", align="left"),
        Column("reason", "Could not be measured, because it", align="left"),
        Column("hint", "What to do", align="left"),
    )
    alike: dict[tuple[Path, str, str], list[Path]] = {}
    for path, reason, hint in ((Path(each.path), each.reason, each.hint or "") for each in audit.failed):
        alike.setdefault((path.parent, reason, hint), []).append(path)
    rows = []
    for (folder, reason, hint), paths in alike.items():
        if len(paths) > apart:
            rows.append((f"{counted(len(paths), 'file')} in {folder}, the first {paths[0].name}", reason, hint))
        else:
            rows += [(str(path), reason, hint) for path in paths]
    return Table("failed", "Not measured", columns, tuple(rows))
