"""Any table as a component: numbers in line, their 95 % intervals beneath, in a box that scrolls by itself."""

from collections.abc import Mapping, Sequence
from typing import Any

from dash import html

from ridelog.tell.numbers import Style
from ridelog.tell.table import (
    Cell,
    Column,
    Table,
    bounds_of,
    capital,
    decimals_of,
    heads,
    value_and_bounds,
)
from ridelog.uncertain.quantity import Quantity


def component(table: Table, style: Style, *, class_name: str = "columns", label: str | None = None) -> Any:
    """A table in a box that scrolls sideways where it must; ``None`` where it has no row.

    Parameters
    ----------
    table : what to show; columns that know nothing are left out
    style : units, digits and signs
    class_name : of the table, for its looks
    label : what the box is called for those who do not see it; the table's title by default

    Returns
    -------
    component : the box with the table
    """
    if not table.rows:
        return None
    known = table.known()
    return scrolled(
        html.Table([head(known, style), html.Tbody(body(known, style))], className=class_name), label or table.title
    )


def scrolled(content: Any, label: str, *, high: bool = False) -> Any:
    """A box with a name that scrolls sideways, and up and down where it is ``high``.

    Parameters
    ----------
    content : of the box
    label : for those who hear the page
    high : of many rows, so that the box is cut at a height and scrolls up and down

    Returns
    -------
    Component.
    """
    style = {} if high else {"maxHeight": "none"}
    return html.Div(content, className="scroll", style=style, tabIndex="0", role="region", **{"aria-label": label})


def head(table: Table, style: Style) -> Any:
    """The row of column names, each with its unit."""
    names = [capital(name) for name in heads(table.columns, style, before_unit=", ")]
    cells = [
        html.Th(name, scope="col", className="word" if column.align == "left" else None)
        for name, column in zip(names, table.columns, strict=True)
    ]
    return html.Thead(html.Tr(cells))


def body(table: Table, style: Style) -> list[Any]:
    """A table's rows; the first cell of each is its head."""
    decimals = decimals_of(table, style)
    return [_row(row, table.columns, decimals, style) for row in table.rows]


def opens(row: Any, start_s: float, end_s: float) -> Any:
    """A row whose stretch of the ride is opened in the chart, by a click anywhere on it or by the button in its head.

    Parameters
    ----------
    row : whose first cell is its head
    start_s, end_s : of the stretch [s]

    Returns
    -------
    The same row.
    """
    first = row.children[0]
    first.children = html.Button(first.children, type="button", className="opens")
    setattr(row, "data-from", f"{start_s}")
    setattr(row, "data-to", f"{end_s}")
    return row


def _row(row: Sequence[Cell], columns: Sequence[Column], decimals: Mapping[str, int], style: Style) -> Any:
    first, *others = (
        content(cell, column, style, decimals[column.key]) for cell, column in zip(row, columns, strict=True)
    )
    rest = [html.Td(shown, className=_class(column)) for shown, column in zip(others, columns[1:], strict=True)]
    return html.Tr([html.Th(first, scope="row"), *rest])


def _class(column: Column) -> str | None:
    if column.align == "right":
        return None
    return "word why" if column.key in ("meaning", "advice", "why", "sentence") else "word"


def content(cell: Cell, column: Column, style: Style, decimals: int) -> Any:
    """What stands in a cell: a quantity with its interval beneath, or text.

    Parameters
    ----------
    cell, column : what is told
    style : units, digits and signs
    decimals : of the column's numbers

    Returns
    -------
    content : of a table cell
    """
    value, within = value_and_bounds(cell, column, style, decimals)
    return [value, *_interval(within)] if within else value


def interval(quantity: Quantity, column: Column, style: Style, decimals: int) -> list[Any]:
    """The 95 % interval for a cell, called so for those who hear it; nothing where its bounds look the same.

    Parameters
    ----------
    quantity, column : what is told
    style : units, digits and signs
    decimals : of the column's numbers

    Returns
    -------
    spans : none or one
    """
    within = bounds_of(quantity, column, style, decimals)
    return _interval(within) if within else []


def _interval(within: str) -> list[Any]:
    called = html.Span(" 95 % interval ", className="visually-hidden")
    return [html.Span([called, within], className="interval")]
