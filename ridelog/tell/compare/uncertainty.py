"""What makes differences as uncertain as they are, as tables: chance, what does not cancel, levels of verdicts."""

from collections.abc import Iterator

from ridelog.compare.record import Comparison, Difference
from ridelog.tell.compare.tables import side_by_side, what_of
from ridelog.tell.findings.comparison import kind_of
from ridelog.tell.kinds import PERCENTAGE, Kind
from ridelog.tell.numbers import METRIC, Style, amount, bounds, number, plain
from ridelog.tell.table import Cell, Column, Table
from ridelog.uncertain.quantity import Quantity

LEAST_P = 0.0001  # smaller ones are no better known than the shape of a tail


def budget(comparison: Comparison, style: Style = METRIC) -> Table:
    """What makes each difference as uncertain as it is, a row a difference.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    In the order of `differences`.
    """
    columns = (
        Column("what", "What", align="left"),
        *_of_columns(comparison),
        Column("spread", "Ride to ride, sd", align="right"),
        Column("chance", "By chance, u", align="right"),
        Column("freedom", "Degrees of freedom", align="right"),
        Column("shared", "Not cancelling, u", align="right"),
        Column("p", "Alone, p", align="right"),
        Column("p_holm", "By Holm, p", align="right"),
        Column("level", "Level", align="right"),
        Column("within", "Interval at that level", align="right"),
    )
    both = any(each.corrected for each in comparison.differences)
    note = (
        "u is a standard uncertainty. By chance is Student's part, of pairs or of groups; not cancelling is what "
        "errors that rides share do to the difference. p and level are for the verdict: alone, and by Holm's steps."
    )
    rows = tuple(
        (what, *of, *_sure(each, style))
        for each, what, of in _named(comparison, both=both)
        if each.difference is not None
    )
    return Table("budget", "What makes a difference uncertain", columns, rows, note)


def _of_columns(comparison: Comparison) -> tuple[Column, ...]:
    """Of which groups, where there are more than two."""
    return (Column("of", "Difference of", align="left"),) if len(comparison.groups) > 2 else ()


def _named(comparison: Comparison, *, both: bool) -> Iterator[tuple[Difference, str, tuple[str, ...]]]:
    """Each difference, what it is, and of which groups, where there are more than two."""
    for each in side_by_side(comparison):
        what = f"{what_of(each, both=both)}{', by hill' if each.paired_by == 'hill' else ''}"
        yield each, what, (f"{each.second} less {each.first}",) if len(comparison.groups) > 2 else ()


def _sure(told: Difference, style: Style) -> tuple[Cell, ...]:
    kind = kind_of(told.quantity, differs=True)

    def shown(value: float | None, of: Kind = kind) -> str | None:
        return None if value is None else amount(value, of, style, digits=2)

    freedom = None if told.degrees_of_freedom is None else plain(told.degrees_of_freedom, 3, style)
    within = None
    if told.verdict_low is not None and told.verdict_high is not None and told.difference is not None:
        within = bounds(Quantity(told.difference.value, told.verdict_low, told.verdict_high), kind, style)
    return (
        shown(told.from_ride_to_ride_sd), shown(told.by_chance_u), freedom, shown(told.shared_u),
        _probability(told.p_value, style), _probability(told.p_corrected, style),
        None if told.level_pct is None else amount(told.level_pct, PERCENTAGE, style, decimals=2), within,
    )  # fmt: skip


def _probability(value: float | None, style: Style) -> str | None:
    if value is None:
        return None
    return f"< {number(LEAST_P, style, digits=1)}" if value < LEAST_P else number(value, style, digits=2)


def shared(comparison: Comparison, style: Style = METRIC) -> Table:
    """What does not cancel in each difference, by cause, down to a tenth of the largest.

    Parameters
    ----------
    comparison : of groups
    style : units and digits

    Returns
    -------
    A row a difference of which anything does not cancel.
    """
    columns = (
        Column("what", "What", align="left"),
        *_of_columns(comparison),
        Column("causes", "Causes, each with its u", align="left"),
    )
    both = any(each.corrected for each in comparison.differences)
    rows: list[tuple[Cell, ...]] = []
    for each, what, of in _named(comparison, both=both):
        kind, largest = kind_of(each.quantity, differs=True), max(each.shared.values(), default=0.0)
        told = (f"{cause} {amount(u, kind, style, digits=2)}" for cause, u in each.shared.items() if u >= largest / 10)
        if causes := "; ".join(told):
            rows.append((what, *of, causes))
    return Table("shared", "What does not cancel", columns, tuple(rows))
