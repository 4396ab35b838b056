"""A comparison as tables: the groups, what differs, under which conditions, how precise the method is, the rides."""

from ridelog.compare.record import Comparison, Difference, HillSpread, Over, Spread
from ridelog.compare.statistics.precision import Precision
from ridelog.tell.compare.sentences import basis
from ridelog.tell.findings.comparison import CONDITIONS, kind_of
from ridelog.tell.kinds import (
    CONSUMPTION,
    DISTANCE,
    HEIGHT,
    LENGTH,
    MASS,
    PERCENTAGE,
    SPEED,
    TEMPERATURE,
    VOLTAGE,
    Kind,
)
from ridelog.tell.numbers import (
    METRIC,
    Style,
    amount,
    counted,
    decimals_of,
    fixed,
    plain,
    unit_of,
    with_unit,
)
from ridelog.tell.table import Amount, Cell, Column, Table
from ridelog.tell.times import day
from ridelog.uncertain.quantity import Quantity

NAMES = {"recovered_pct": "recovered", "captured_pct": "captured", "net_wh_per_km": "used"}
CONDITION_KINDS: dict[str, Kind] = {
    "moving_speed_mps": SPEED, "braking_speed_mps": SPEED,
    "stopped_pct": PERCENTAGE, "total_mass_kg": MASS, "air_temperature_c": TEMPERATURE,
    "wind_mps": SPEED, "start_charge_pct": PERCENTAGE, "start_voltage_v": VOLTAGE, "distance_m": DISTANCE,
    "ascent_m": HEIGHT, "most_ridden_route_pct": PERCENTAGE,
}  # fmt: skip
CONDITION_NAMES = {"most_ridden_route_pct": "rides on the route ridden most"}  # where one word says too little
SPREAD_NOTE = "Mean ± standard deviation of the rides, or what was the same on all of them."
VERDICTS = {"first-higher": "less", "second-higher": "more", "not-told": "not clear"}


def every_table(comparison: Comparison, style: Style = METRIC) -> tuple[Table, ...]:
    """All tables of which anything is known, in the order in which they are read.

    Parameters
    ----------
    comparison : of groups
    style : units and digits of cells that are words

    Returns
    -------
    tables : of it
    """
    tables = (
        groups(comparison), differences(comparison, style), conditions(comparison, style), precision(comparison, style),
        loggers(comparison), rides(comparison), failed(comparison),
    )  # fmt: skip
    return tuple(table for table in tables if table.rows)


def groups(comparison: Comparison) -> Table:
    """One row a group."""
    columns = (
        Column("group", "Group", align="left"),
        Column("rides", "Rides"),
        Column("recovered_mean", "Recovered", PERCENTAGE),
        Column("captured_mean", "Captured", PERCENTAGE),
        Column("use_mean", "Used", CONSUMPTION),
    )
    rows = tuple(
        (group.name, group.rides, group.recovered_pct, group.captured_pct, group.net_wh_per_km)
        for group in comparison.groups
    )
    note = (
        "Means over rides; their intervals hold how much rides differ, and what does not cancel in a difference does."
    )
    return Table("groups", "Groups", columns, rows, note)


def differences(comparison: Comparison, style: Style = METRIC) -> Table:
    """One row a difference, second less first.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    Each that was corrected behind the same one as ridden.
    """
    columns = (
        Column("what", "What", align="left"),
        Column("of", "Difference of", align="left"),
        Column("basis", "Basis", align="left"),
        Column("change", "Difference", align="right"),
        Column("verdict", "Verdict", align="left"),
        Column("least", "Smallest told", align="right"),
        Column("to_settle", "Rides to settle it"),
    )
    note = (
        "Verdicts hold for all differences of one kind together (Holm), so that one alone has to be clearer. "
        "The smallest told is what these rides would have shown."
    )
    both = any(each.corrected for each in comparison.differences)
    rows = tuple(_difference(each, style, both=both) for each in side_by_side(comparison))
    return Table("differences", "Differences", columns, rows, note)


def side_by_side(comparison: Comparison) -> list[Difference]:
    """The differences, each that was corrected behind the same one as ridden."""
    of = [(each.quantity, each.first, each.second, each.paired_by == "hill") for each in comparison.differences]
    order = {key: at for at, key in reversed(list(enumerate(of)))}
    rows = sorted(zip(comparison.differences, of, strict=True), key=lambda row: (order[row[1]], row[0].corrected))
    return [each for each, _ in rows]


def what_of(told: Difference, *, both: bool) -> str:
    """Which quantity; and, where some are corrected, whether this one is.

    Parameters
    ----------
    told : a difference
    both : whether differences stand beside it that were corrected

    Returns
    -------
    "recovered, as ridden".
    """
    how = "corrected" if told.corrected else "as ridden" if both else ""
    return f"{NAMES[told.quantity]}{f', {how}' if how else ''}"


def _difference(told: Difference, style: Style, *, both: bool) -> tuple[Cell, ...]:
    kind = kind_of(told.quantity, differs=True)
    what = what_of(told, both=both)
    least = None if told.smallest_told is None else amount(told.smallest_told, kind, style, digits=2)
    return (
        what, f"{told.second} less {told.first}", basis(told, style), Amount(told.difference, kind),
        VERDICTS[told.verdict], least, told.rides_to_settle,
    )  # fmt: skip


def hills(comparison: Comparison, style: Style = METRIC) -> Table:
    """The descents that rides were compared on, and what each group captured there.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    One column a group.
    """
    names = [group.name for group in comparison.groups]
    columns = (
        Column("hill", "Hill", align="left"),
        Column("length", "Length", align="right"),
        Column("height", "Height", align="right"),
        *(Column(f"group_{at}", name, align="right", given=True) for at, name in enumerate(names)),
    )
    rows = tuple(
        (
            f"Descent {hill.number}", amount(hill.length_m, LENGTH, style, digits=3),
            amount(hill.height_m, HEIGHT, style, digits=3), *(_on_hill(hill.groups.get(name), style) for name in names),
        )
        for hill in comparison.hills
    )  # fmt: skip
    note = "Captured: mean ± standard deviation of the rides that rode it."
    return Table("hills", "Hills that groups have in common", columns, rows, note)


def _on_hill(told: HillSpread | None, style: Style) -> str | None:
    if told is None:
        return None
    spread = spread_text(Spread(told.captured_pct, told.captured_sd), PERCENTAGE, style)
    return f"{spread}, {counted(told.rides, 'ride', style=style)}"


def conditions(comparison: Comparison, style: Style = METRIC) -> Table:
    """One row a condition: mean and standard deviation of each group.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    One column a group.
    """
    names = [group.name for group in comparison.groups]
    columns = (
        Column("condition", "Condition", align="left"),
        *(Column(f"group_{at}", name, align="right", given=True) for at, name in enumerate(names)),
        Column("differs", "Differs", align="left"),
    )
    rows = []
    for each in comparison.conditions:
        kind = CONDITION_KINDS[each.quantity]
        cells = [spread_text(each.groups.get(name), kind, style) for name in names]
        differs = "yes, corrected for" if each.differs and each.corrected else "yes" if each.differs else "no"
        rows.append((CONDITION_NAMES.get(each.quantity, CONDITIONS[each.quantity]), *cells, differs))
    return Table("conditions", "Conditions", columns, tuple(rows), SPREAD_NOTE)


def spread_text(told: Spread | Over | None, kind: Kind, style: Style) -> str | None:
    """Mean ± standard deviation, with as many decimals as the latter needs; nothing where the mean is not known.

    Parameters
    ----------
    told : mean and standard deviation of some rides
    kind : what they are of
    style : units and digits

    Returns
    -------
    "21.59 ± 0.92 km/h".
    """
    mean, sd = getattr(told, "mean", None), getattr(told, "sd", None)
    if mean is None:
        return None
    if sd is None:
        return amount(mean, kind, style, digits=3)
    if sd == 0:  # entered, and alike on all rides
        return _as_entered(mean, kind, style)
    unit = unit_of(kind, style, value=mean)  # of both: metres about a mean in kilometres would mislead
    decimals = decimals_of(sd * unit.factor, 2)  # of both: nobody knows a mean better
    about = fixed(mean * unit.factor + unit.offset, decimals, style)
    return with_unit(f"{about} ± {fixed(sd * unit.factor, decimals, style)}", unit.symbol, style)


def _as_entered(value: float, kind: Kind, style: Style) -> str:
    unit = unit_of(kind, style, value=value)
    return with_unit(plain(value * unit.factor + unit.offset, 4, style), unit.symbol, style)


def precision(comparison: Comparison, style: Style = METRIC) -> Table:
    """Repeatability and reproducibility by group.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    In the words of ISO 5725.
    """
    columns = (
        Column("what", "What", align="left"),
        Column("group", "Group", align="left"),
        Column("repeatability_sd", "Repeatability sd"),
        Column("repeatability_limit", "Limit r"),
        Column("reproducibility_sd", "Reproducibility sd"),
        Column("reproducibility_limit", "Limit R"),
        Column("loggers", "Loggers"),
    )
    rows = tuple(
        (NAMES[quantity], group.name, *_precision(told, kind_of(quantity, differs=True), style), told.laboratories)
        for group in comparison.groups
        for quantity, told in group.precision.items()
        if told is not None
    )
    note = (
        "Two rides of one group on one route by one logger differ by less than r, 95 times of 100; by two loggers, by "
        "less than R (ISO 5725)."
    )
    return Table("precision", "Repeatability and reproducibility", columns, rows, note)


def _precision(told: Precision, kind: Kind, style: Style) -> list[str | None]:
    values = (
        told.repeatability_sd, told.repeatability_limit, told.reproducibility_sd, told.reproducibility_limit,
    )  # fmt: skip
    return [None if value is None else amount(value, kind, style, digits=2) for value in values]


def loggers(comparison: Comparison) -> Table:
    """How well two loggers agree that logged the same rides."""
    columns = (
        Column("what", "What", align="left"),
        Column("of", "Second less first", align="left"),
        Column("pairs", "Rides"),
        Column("bias", "Bias"),
        Column("lower", "Lower limit"),
        Column("upper", "Upper limit"),
    )
    rows: list[tuple[Cell, ...]] = []
    for each in comparison.loggers:
        kind, told = kind_of(each.quantity, differs=True), each.agreement
        parts: tuple[Quantity, ...] = (told.bias, told.lower, told.upper)
        rows.append(
            (
                NAMES[each.quantity], f"{each.second} less {each.first}", told.pairs,
                *(Amount(part, kind) for part in parts),
            )
        )  # fmt: skip
    note = "Between the limits lie 95 of 100 differences of the two loggers on one ride (Bland and Altman)."
    return Table("loggers", "Agreement of loggers", columns, tuple(rows), note)


def rides(comparison: Comparison) -> Table:
    """One row a ride."""
    columns = (
        Column("ride", "Ride", align="left"),
        Column("group", "Group", align="left"),
        Column("day", "Day", align="left"),
        Column("recovered_share", "Recovered", PERCENTAGE),
        Column("captured_share", "Captured", PERCENTAGE),
        Column("use", "Used", CONSUMPTION),
    )
    rows = tuple(
        (
            each.name, each.group, None if each.start is None else day(each.start), each.recovered_pct,
            each.captured_pct, each.net_wh_per_km,
        )
        for each in comparison.rides
    )  # fmt: skip
    return Table("rides", "Rides", columns, rows)


def failed(comparison: Comparison) -> Table:
    """What could not be measured, why, and what to do."""
    columns = (
        Column("path", "File", align="left"),
        Column("reason", "Could not be measured, because it", align="left"),
        Column("hint", "What to do", align="left"),
    )
    rows = tuple((failure.path, failure.reason, failure.hint or "") for failure in comparison.failed)
    return Table("failed", "Not measured", columns, rows)
