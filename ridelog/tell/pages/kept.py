"""What the pages say of rides that are kept: the list of them, one hill over time, and the fleet."""

from __future__ import annotations

from collections.abc import Sequence

from ridelog.tell.kinds import DISTANCE, ENERGY, HEIGHT, LENGTH, PERCENTAGE, Kind
from ridelog.tell.numbers import Style, amount, count, counted
from ridelog.tell.table import Cell, Column, Table

RIDES = "Rides"
YOURS = "Your own rides"
KEPT_RIDES = "Kept rides"
ALL = "all"
BIKE, ROUTE, GROUP, FROM, UNTIL = "Bike", "Route", "Group", "From", "Until"
SHOW, SHOW_ALL = "Show", "Show all rides"
NEWER, OLDER = "Newer rides", "Older rides"
NONE_FITS = "No ride matches all of these filters."
NO_RIDE = "No ride yet."
MEASURE_ONE = "Measure one"
NO_TIME = "no date"
HILL_GONE = "None of the kept rides passed this hill."
FLEET = "Fleet"
DOWNLOAD = "Download what is shown"
BEGINS = "Reading the kept rides …"
NAME_IT, NAME, SAVE = "What do you call this hill?", "Name", "Save"
OVER_TIME = "Over time"
KEEP = "Keep it"
RIDE = "Ride"
REMOVE, REMOVE_IT, PUT_BACK = "Remove", "Remove it", "Put it back"
NOT_REMOVED = "This ride is not in the store, or cannot be removed from here."
BEING_KEPT = "Being measured once more for keeping …"
IS_KEPT = "It is kept."
NOT_KEPT = "This ride cannot be kept: it is not one of yours, or it or its bike has no name."


def how_many(n: int, of: int, style: Style) -> str:
    """How many rides are shown.

    Parameters
    ----------
    n, of : shown, and in all
    style : units, digits and separators

    Returns
    -------
    A few words.
    """
    return (
        f"{counted(n, 'ride', style=style)}."
        if n == of
        else f"{count(n, style)} of {counted(of, 'ride', style=style)}."
    )


def route(first: str, size: tuple[float | None, float | None], n: int, style: Style) -> str:
    """A road that several rides took: how long, how high, how often, and which ride was the first.

    Parameters
    ----------
    first : name of the first ride
    size : its distance and its ascent, as far as they are known [m]
    n : how many rides took it
    style : units, digits and separators

    Returns
    -------
    A few words.
    """
    distance_m, ascent_m = size
    up = "" if ascent_m is None else f", up {amount(ascent_m, HEIGHT, style, decimals=0)}"
    return f"{amount(distance_m, DISTANCE, style)}{up}, {counted(n, 'ride', style=style)}, the first {first}"


def keep_line(address: str) -> str:
    """What keeping a ride means."""
    return f"Kept rides lie in {address}, where everybody who can open this page sees them; all others are yours alone."


def keep_all(n: int, bikes: Sequence[str]) -> str:
    """The button that keeps all rides whose bike has a name."""
    of = ", ".join(bikes) if len(bikes) <= 3 else counted(len(bikes), "bike")
    return f"Keep all {counted(n, 'ride')} of {of}"


def remove_line(name: str) -> str:
    """What removing a ride means."""
    return f"“{name}” is taken off the list for everybody. It is put aside, not deleted, and can be put back."


def was_removed(name: str) -> str:
    """What was done."""
    return f"“{name}” was removed from the kept rides."


def removed_title(n: int) -> str:
    """The heading of the rides that were removed."""
    return f"Removed rides ({count(n)})"


def removed_note(folder: str) -> str:
    """Where removed rides are."""
    return f"They lie in {folder} until somebody deletes them there."


def so_far(done: int, of: int) -> str:
    """How far the rides of a store are that is being made."""
    return f"Measuring the sample rides: {count(done)} of {counted(of, 'ride')} done …"


def unavailable(reason: str) -> str:
    """The rides cannot be shown."""
    return f"The kept rides cannot be shown: {reason}"


def hill_lead(length_m: float, height_m: float, n: tuple[int, int], style: Style) -> str:
    """A hill in a sentence.

    Parameters
    ----------
    length_m, height_m : of it [m]
    n : passes, and bikes
    style : units, digits and separators

    Returns
    -------
    The sentence.
    """
    size = f"{amount(length_m, LENGTH, style)} long, {amount(abs(height_m), HEIGHT, style, decimals=0)} high"
    return f"{size}, ridden {counted(n[0], 'time', style=style)} by {counted(n[1], 'bike', style=style)}."


def other_way(direction: str) -> str:
    """The link to the same road the other way."""
    return "The same hill ridden up" if direction == "down" else "The same hill ridden down"


def hill_note(direction: str) -> str:
    """What the charts of a hill show."""
    what = "what it captured of what braking offered" if direction == "down" else "what it drew"
    return f"Each dot is a ride and {what}, the line through it its 95 % interval."


def hill_of(bike: str, direction: str) -> tuple[str, str, Kind]:
    """The title of a bike's history on a hill, what it shows, and in which kind of number."""
    if direction == "down":
        return f"{bike}: what each ride captured", "Captured share", PERCENTAGE
    return f"{bike}: what each ride drew", "Energy drawn", ENERGY


def by_bike(rows: Sequence[Sequence[Cell]]) -> Table:
    """Each bike on a hill."""
    columns = (
        Column("bike", "Bike", align="left"),
        Column("passes", "Passes"),
        Column("captured_mean", "Captured", PERCENTAGE),
    )
    return Table("bikes", "Each bike", columns, tuple(map(tuple, rows)), "Captured is the mean over a bike's rides.")


def passes(rows: Sequence[Sequence[Cell]], direction: str) -> Table:
    """Each ride on a hill."""
    first = (
        Column("ride", "Ride", align="left"),
        Column("begins", "Begins", align="left"),
        Column("bike", "Bike", align="left"),
    )
    told: tuple[Column, ...] = (Column("drawn", "Drawn", ENERGY),)
    if direction == "down":
        told = (
            Column("captured", "Captured", PERCENTAGE),
            Column("returned", "Returned", ENERGY),
            Column("available", "Available", ENERGY),
        )
    return Table(
        "passes",
        f"Each of the {counted(len(rows), 'time')} that it was ridden",
        (*first, *told),
        tuple(map(tuple, rows)),
    )
