"""Tables of a document: each number with its 95 % interval, in a box that scrolls, under its own caption."""

from collections.abc import Iterable, Mapping, Sequence

from ridelog.report.sheet import scrolled, sentence, text
from ridelog.tell.numbers import Style
from ridelog.tell.table import (
    Amount,
    Cell,
    Column,
    Table,
    capital,
    decimals_of,
    heads,
    value_and_bounds,
)

CODE_COLUMNS = ("key",)  # what stands in them is typed, not read
SENTENCE_COLUMNS = ("sentence",)  # what stands between backticks in them is typed


def full_table(table: Table, style: Style, *, caption: str = "", narrow_intervals: bool = False, key: str = "") -> str:
    """A table of the columns in which anything is known, each number with its interval beneath it.

    Parameters
    ----------
    table : as `ridelog.tell` gives it
    style : units, digits and separators
    caption : above it; nothing by default
    narrow_intervals : write them as "6.2 ±0.7", for tables of many rows
    key : other than the table's own, where a document has several of it

    Returns
    -------
    HTML, each column's key with its head; empty without a row.
    """
    known = table.known()
    if not known.rows:
        return ""
    told = zip(known.columns, heads(known.columns, style, before_unit=", "), strict=True)
    names = [name if column.given else capital(name) for column, name in told]
    head = "".join(
        f'<th scope="col" data-key="{column.key}"{_kind(column)}>{text(name)}</th>'
        for column, name in zip(known.columns, names, strict=True)
    )
    decimals = {} if narrow_intervals else decimals_of(known, style)
    rows = "\n".join(f"<tr>{''.join(_cells(row, known.columns, style, decimals))}</tr>" for row in known.rows)
    said = f"<caption>{text(caption)}</caption>" if caption else ""
    note = f'\n<p class="soft">{text(table.note)}</p>' if table.note else ""
    return (
        f'{scrolled(table.title)}<table id="t-{key or table.key}">{said}\n<thead><tr>{head}</tr></thead>\n'
        f"<tbody>\n{rows}\n</tbody></table></div>{note}"
    )


def facts(rows: Iterable[tuple[str, str]], key: str = "", *, short: bool = False) -> str:
    """Words and what they mean, as a list of definitions.

    Parameters
    ----------
    rows : a word and a sentence each; words begin with a capital letter, names of files stay as they are
    key : of the list; it has none by default
    short : sentences of a few words, of which two stand side by side

    Returns
    -------
    HTML; empty without a row.
    """
    told = "".join(f"<div><dt>{text(name)}</dt><dd>{text(said)}</dd></div>" for name, said in rows)
    named = f' id="{key}"' if key else ""
    return f'<dl class="facts{" two" if short else ""}"{named}>{told}</dl>' if told else ""


def capitals(rows: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Rows of `facts` whose words begin with a capital letter."""
    return [(capital(name), said) for name, said in rows]


def _kind(column: Column) -> str:
    return ' class="number"' if column.align == "right" else ""


def _amount(cell: Cell) -> str:
    return ' class="amount"' if isinstance(cell, Amount) else ""


def _cells(row: Sequence[Cell], columns: Sequence[Column], style: Style, decimals: Mapping[str, int]) -> Iterable[str]:
    for place, (cell, column) in enumerate(zip(row, columns, strict=True)):
        said = _content(cell, column, style, decimals.get(column.key))
        if column.key in CODE_COLUMNS:
            said = f"<code>{said}</code>"
        yield f'<th scope="row">{said}</th>' if place == 0 else f"<td{_kind(column) or _amount(cell)}>{said}</td>"


def _content(cell: Cell, column: Column, style: Style, decimals: int | None) -> str:
    """What stands in a cell; without ``decimals`` its interval stands beside its value."""
    said, within = value_and_bounds(cell, column, style, decimals)
    typed = sentence if column.key in SENTENCE_COLUMNS else text
    return typed(said) + (f"<small>{text(within)}</small>" if within else "")
