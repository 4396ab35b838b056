"""An audit in words and tables: what each bike gives, what stands out since when, what could not be measured."""

from collections.abc import Iterator
from dataclasses import dataclass

from ridelog.findings import Severity
from ridelog.fleet.record import Audit
from ridelog.tell.fleet.standing_out import remark
from ridelog.tell.kinds import CONSUMPTION, DISTANCE, PERCENTAGE
from ridelog.tell.numbers import METRIC, Style, amount, count, counted
from ridelog.tell.table import Column, Table
from ridelog.tell.times import day

HISTORY_NOTE = (
    "Each dot is a ride and what it gave back of what it drew, the line through it its 95 % interval. "
    "A dashed line marks the first ride of what stands out."
)


@dataclass(frozen=True)
class Remark:
    """What stands out of one bike: ``who`` and since when, and what, in a sentence or a few."""

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
            since = "" if one.since is None else f", since {day(one.since)}"
            yield Remark(f"{bike.bike}{since}", one.severity, one.code, remark(one.code, one.evidence, style))


def bikes(audit: Audit, style: Style = METRIC) -> Table:
    """One row a bike.

    Parameters
    ----------
    audit : of some bikes
    style : units, digits and separators

    Returns
    -------
    Names, how far and how often it was ridden, its own figures with their intervals, and the codes of what stands out.
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
            bike.captured_pct, bike.net_wh_per_km, ", ".join(one.code for one in bike.stands_out),
        )
        for bike in audit.bikes
    )  # fmt: skip
    note = "Recovered, captured and used are means over rides; their intervals hold how much rides differ as well."
    return Table("bikes", "Bikes", columns, rows, note)


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


def failed(audit: Audit) -> Table:
    """What could not be measured, why, and what to do."""
    columns = (
        Column("path", "File", align="left"),
        Column("reason", "Could not be measured, because it", align="left"),
        Column("hint", "What to do", align="left"),
    )
    rows = tuple((failure.path, failure.reason, failure.hint or "") for failure in audit.failed)
    return Table("failed", "Not measured", columns, rows)
