"""What the rides of a bike teach of it, in words and tables."""

from typing import TYPE_CHECKING

from ridelog.tell.kinds import CHARGE, CURRENT, DRAG_AREA, FORCE, LENGTH, PERCENTAGE, RESISTANCE, Kind
from ridelog.tell.numbers import METRIC, Style, amount, counted, measured, plain
from ridelog.tell.table import Amount, Column, Table
from ridelog.tell.times import day, duration

if TYPE_CHECKING:
    from ridelog.fleet.learning import Gain, Teaching

NAMES: dict[str, tuple[str, Kind]] = {
    "wheel_circumference_m": ("circumference of the wheel", LENGTH),
    "current_zero_a": ("current at rest, less the standby draw", CURRENT),
    "standby_draw_a": ("standby draw", CURRENT),
    "resistance_ohm": ("resistance of the pack", RESISTANCE),
}
NOTHING = "Nothing can be learned yet: a value takes four rides that measured it."
# a full pack takes no charge, whatever a table says
FULL_CAUTION = (
    "What came back on these rides says nothing of a heavier load, another route or an older pack. "
    "The limits of the pack's maker hold: where the BMS stops the charge, regen braking is gone. "
    "Rely on both friction brakes."
)


def headline(teaching: "Teaching") -> str:
    """Whose rides these are, and how many."""
    return f"What {counted(teaching.rides, 'ride')} of {teaching.bike} teach:"


def values(teaching: "Teaching") -> Table:
    """One row a value."""
    columns = (
        Column("value", "Value", align="left"),
        Column("next", "Next ride"),
        Column("rides", "Rides"),
        Column("trend", "Per year"),
    )
    rows = []
    for each in teaching.learned:
        name, kind = NAMES[each.name]
        trend = None if each.per_year is None else amount(each.per_year, kind)
        rows.append((name, Amount(each.value, kind), each.rides, trend))
    note = "Next ride: where the next ride will measure it, 95 times in 100."
    return Table("values", "Learned", columns, tuple(rows), note)


def drag(teaching: "Teaching") -> Table:
    """What coasting teaches of the drag: at most two rows."""
    columns = (
        Column("value", "Value", align="left"),
        Column("learned", "By coasting"),
        Column("rides", "Rides"),
        Column("limit", "Limit"),
        Column("so_far", "Limit so far"),
        Column("trend", "Per year"),
    )
    told = teaching.drag
    if told is None:
        return Table("drag", "Drag", columns, ())
    limits = [
        None if limit is None else amount(limit, DRAG_AREA) for limit in (told.cda_limit_m2, teaching.drag_limit_m2)
    ]
    area, force = (
        None if moves is None else amount(moves, kind)
        for moves, kind in ((told.cda_m2_per_year, DRAG_AREA), (told.drag_n_per_year, FORCE))
    )
    rows = (
        ("drag area (CdA)", Amount(told.cda_m2, DRAG_AREA), told.rides, *limits, area),
        ("rolling and motor drag", Amount(told.drag_n, FORCE), told.rides, None, None, force),
    )
    note = f"From {duration(told.lasted_s)} of coasting, and as right as the Crr and motor drag of the bike file."
    return Table("drag", "Drag", columns, rows, note)


def starts(teaching: "Teaching") -> Table:
    """One row a route: how full to start it."""
    columns = (
        Column("route", "Route, as first ridden", align="left"),
        Column("rides", "Rides"),
        Column("most", "Most needed", CHARGE),
        Column("start", "Start at or below", PERCENTAGE, decimals=0),
    )
    rows = tuple(
        (
            route.name if route.since is None else f"{route.name} ({day(route.since)})",
            route.start.rides, route.start.most_seen_ah, float(int(route.start.start_pct)),
        )
        for route in teaching.starts
    )  # fmt: skip
    note = "So full, what came back on 95 of 100 such rides would have fitted, with 95 % confidence."
    return Table("starts", "How full to start", columns, rows, note)


def gain(teaching: "Teaching", style: Style = METRIC) -> str | None:
    """What the latest ride gains by what was learned; ``None`` where it could not be tried.

    Parameters
    ----------
    teaching : of a bike
    style : units, digits and separators

    Returns
    -------
    A sentence.
    """
    if teaching.gain is None:
        return None
    told = [
        f"{name} {measured(before, PERCENTAGE, style)} -> {measured(after, PERCENTAGE, style)}"
        for name, (before, after) in _shares(teaching.gain)
        if before is not None and after is not None
    ]
    return f"With these, {teaching.gain.ride} says {', '.join(told)}." if told else None


def _shares(told: "Gain") -> tuple[tuple[str, tuple], ...]:  # type: ignore[type-arg]
    return ("recovered", told.recovered_pct), ("captured", told.captured_pct)


def as_toml(teaching: "Teaching") -> str:
    """The lines of a bike file that hold what was learned."""
    return "\n".join(
        f"[{section}]\n" + "\n".join(f"{key} = {plain(value, 4)}" for key, value in own.items())
        for section, own in teaching.values.items()
    )
