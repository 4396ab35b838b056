"""What the rides of each group had, gave and took, as tables: braking by kind, where the energy went, the pack."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from ridelog.compare.record import About, Comparison, Flow, Over
from ridelog.tell.compare.tables import spread_text
from ridelog.tell.kinds import CHARGE, CURRENT, ENERGY, PERCENTAGE, RATIO, RESISTANCE, VOLTAGE, Kind
from ridelog.tell.numbers import METRIC, Style, amount, counted
from ridelog.tell.table import Column, Table

KINDS = {"stop": "stops", "slowing": "slowing down", "holding": "held back on descents", "unknown": "not known"}
OF_KIND: Mapping[str, tuple[str, Kind]] = {
    "events": ("times a ride", RATIO),
    "available_wh": ("available", ENERGY),
    "returned_wh": ("returned", ENERGY),
    "captured_pct": ("captured", PERCENTAGE),
}
LEDGER = {
    "drawn_wh": "drawn from the battery",
    "rider_wh": "rider, at the pedals",
    "to_wheel_wh": "delivered to the wheel",
    "air_wh": "air resistance",
    "rolling_wh": "rolling resistance",
    "potential_wh": "height gained",
    "kinetic_wh": "speed gained",
    "drag_wh": "motor drag",
    "available_wh": "available from braking",
    "caught_wh": "caught of it",
    "missed_wh": "missed of it",
    "conversion_wh": "charging losses",
    "friction_wh": "friction brakes",
    "catchable_wh": "could have come back",
    "unplaced_wh": "not placed",
    "unexplained_wh": "unexplained: drive and standby, less pedalling that was not logged",
    "returned_wh": "returned to the battery",
}
PACK: Mapping[str, tuple[str, Kind]] = {
    "highest_charge_a": ("highest charge current", CURRENT),
    "highest_cell_v": ("highest cell voltage", VOLTAGE),
    "start_charge_headroom_ah": ("headroom that the ride needed at its start", CHARGE),
    "resistance_ohm": ("resistance", RESISTANCE),
}
BRAKING_TITLE, LEDGER_TITLE, PACK_TITLE = "Braking by kind", "Energy of a ride", "The pack"
SAME = 1e-3  # of the mean, a spread below which nobody asks for
NOTHING_WH = 1e-3  # less than this on each ride is what speeds and heights leave of a closed round, and no line to read
NOTE = "Mean ± standard deviation of the rides; no verdict follows from them."
PACK_NOTE = "Mean ± standard deviation of the rides, and the largest of them. The limits are those of the pack's maker."


def braking(comparison: Comparison, style: Style = METRIC) -> Table:
    """What each kind of braking had and gave, a column a group.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    A row a kind and quantity.
    """
    rows = []
    for flow in _about(comparison, "braking"):
        kind, _, name = flow.quantity.partition("_")
        called, unit = OF_KIND[name]
        rows.append((f"{KINDS[kind]}: {called}", *_cells(comparison, flow, unit, style)))
    return Table("flows-braking", BRAKING_TITLE, _columns(comparison, "Braking"), tuple(rows), NOTE)


def ledger(comparison: Comparison, style: Style = METRIC) -> Table:
    """Where the energy of the rides came from and went to, a column a group.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    A row a line of the ledger.
    """
    told = {flow.quantity: _without_crumbs(flow) for flow in _about(comparison, "ledger")}
    rows = [
        (called, *_cells(comparison, told[name], ENERGY, style))
        for name, called in LEDGER.items()
        if name in told and not (name == "unplaced_wh" and _nothing(told[name]))
    ]
    return Table("flows-ledger", LEDGER_TITLE, _columns(comparison, "Energy"), tuple(rows), NOTE)


def pack(comparison: Comparison, style: Style = METRIC) -> Table:
    """What the pack had to take, a column a group.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    A row a number of the pack, with the largest over the rides.
    """
    told = {flow.quantity: flow for flow in _about(comparison, "pack")}
    rows = []
    for name, (called, kind) in PACK.items():
        if name in told:
            largest = [told[name].groups.get(group.name) for group in comparison.groups]
            cells = _cells(comparison, told[name], kind, style)
            rows.append((called, *(_with_largest(*each, kind, style) for each in zip(cells, largest, strict=True))))
    return Table("flows-pack", PACK_TITLE, _columns(comparison, "Pack"), tuple(rows), PACK_NOTE)


def _about(comparison: Comparison, about: About) -> list[Flow]:
    return [flow for flow in comparison.flows if flow.about == about]


def _columns(comparison: Comparison, first: str) -> tuple[Column, ...]:
    names = [group.name for group in comparison.groups]
    own = (Column(f"group_{at}", name, align="right", given=True) for at, name in enumerate(names))
    return (Column("what", first, align="left"), *own)


def _cells(comparison: Comparison, flow: Flow, kind: Kind, style: Style) -> list[str | None]:
    n_rides = {group.name: group.rides for group in comparison.groups}
    return [_cell(flow.groups.get(name), n, kind, style) for name, n in n_rides.items()]


def _cell(over: Over | None, n_rides: int, kind: Kind, style: Style) -> str | None:
    """Mean and spread; and of how many rides, where not all of the group tell it."""
    if over is None:
        return None
    alike = over.sd is not None and 0 < over.sd < SAME * abs(over.mean)
    told = amount(over.mean, kind, style) if alike else spread_text(over, kind, style)
    return told if over.rides == n_rides else f"{told}, {counted(over.rides, 'ride', style=style)}"


def _with_largest(cell: str | None, over: Over | None, kind: Kind, style: Style) -> str | None:
    if cell is None or over is None or not over.sd:
        return cell
    return f"{cell}, {amount(over.most, kind, style)} at most"


def _without_crumbs(flow: Flow) -> Flow:
    """A line, its groups at 0 where none of their rides has anything that is worth reading."""
    return replace(
        flow,
        groups={
            name: Over(over.rides, 0.0, 0.0, 0.0, 0.0) if max(over.most, -over.least) < NOTHING_WH else over
            for name, over in flow.groups.items()
        },
    )


def _nothing(flow: Flow) -> bool:
    return all(over.most == 0 == over.least for over in flow.groups.values())


def every(comparison: Comparison, style: Style = METRIC) -> Sequence[Table]:
    """All of them that have a row.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    Tables, in the order in which they are read.
    """
    tables = (braking(comparison, style), ledger(comparison, style), pack(comparison, style))
    return [table for table in tables if table.rows]
