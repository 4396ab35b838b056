"""A document as one HTML file: its head, its look, and tables, with everything escaped that comes from outside."""

import re
from collections.abc import Iterable
from html import escape

from ridelog.errors import printable
from ridelog.tell import table as drawing
from ridelog.tell.numbers import UNKNOWN, Style

LOOK = """
:root { color-scheme: light dark; --paper: #f4f1ea; --sheet: #fbf9f4; --ink: #23282c; --soft: #5a5d60; --line: #d9d3c5;
  --mark: #08636a; --danger: #9c1f1f; --warning: #7a4a00;
  --serif: "Iowan Old Style", "Palatino Linotype", Palatino, "URW Palladio L", P052, Georgia, "DejaVu Serif", serif; }
@media (prefers-color-scheme: dark) { :root { --paper: #14181a; --sheet: #1c2124; --ink: #e9e5da; --soft: #aeaca4;
  --line: #363c40; --mark: #66c8cb; --danger: #f0a096; --warning: #ecc47a; } }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.5rem 1rem 3rem; max-width: 68rem; background: var(--paper); color: var(--ink);
  font: 1rem/1.5 system-ui, "Segoe UI", Roboto, "Liberation Sans", sans-serif; }
h1, h2 { font-family: var(--serif); }
h1 { font-size: 1.9rem; line-height: 1.25; margin: 0 0 .5rem; }
h2 { font-size: 1.3rem; margin: 2rem 0 .5rem; }
p { margin: .3rem 0; max-width: 46rem; }
.soft, caption { color: var(--soft); }
.remarks { list-style: none; padding: 0; margin: 1rem 0; }
.remarks li { border-left: .25rem solid var(--line); background: var(--sheet); padding: .5rem .9rem;
  margin: .5rem 0; max-width: 52rem; }
.remarks li.danger { border-color: var(--danger); }
.remarks li.warning { border-color: var(--warning); }
.remarks b.danger { color: var(--danger); }
.remarks b.warning { color: var(--warning); }
.wide { overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; font-size: .92rem; }
caption { text-align: left; font-size: .9rem; padding-bottom: .3rem; }
th, td { padding: .3rem .7rem; border-bottom: 1px solid var(--line); vertical-align: top; text-align: left; }
thead th { border-bottom: 2px solid var(--ink); font-weight: 600; vertical-align: bottom; }
th.number, td.number { text-align: right; white-space: nowrap; }
td.path { overflow-wrap: anywhere; }
tbody th { font-weight: 600; white-space: nowrap; }
.history { margin: .8rem 0 1.4rem; max-width: 46rem; overflow-x: auto; }
.history svg { width: 100%; min-width: 34rem; height: auto; display: block; }
.history h3 { font-size: 1rem; margin: 0; }
svg text { fill: var(--soft); font: 12px system-ui, sans-serif; }
svg .dot { fill: var(--mark); } svg .whisker { stroke: var(--mark); stroke-width: 1.5; opacity: .55; }
svg .grid { stroke: var(--line); } svg .since { stroke: var(--danger); stroke-width: 1.5; stroke-dasharray: 4 3; }
@media print { body { max-width: none; padding: 0; font-size: 10pt; } .wide { overflow: visible; }
  tr, li { break-inside: avoid; } h2 { break-after: avoid; } thead { display: table-header-group; } }
"""


def sheet(title: str, parts: Iterable[str], *, again_s: int | None = None) -> str:
    """The whole document.

    Parameters
    ----------
    title : of the window
    parts : HTML of the body, in order
    again_s : after how long a browser looks again, where there will be more to see [s]

    Returns
    -------
    HTML.
    """
    body = "\n".join(parts)
    again = "" if again_s is None else f'<meta http-equiv="refresh" content="{again_s}">\n'
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"{again}<title>{text(title)}</title>\n<style>{LOOK}</style>\n</head>\n<body>\n<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


def text(words: str) -> str:
    """Words as text: no markup, nothing that a screen would obey."""
    return escape(printable(words))


def sentence(words: str) -> str:
    """Words as text; what stands between backticks is code."""
    return re.sub("`([^`]+)`", r"<code>\1</code>", text(words))


def table_of(table: drawing.Table, style: Style) -> str:
    """A table of the columns in which anything is known; the first cell of a row is its head.

    Parameters
    ----------
    table : as `ridelog.tell` gives it
    style : units, digits and separators

    Returns
    -------
    HTML with a heading, the table's note below it; empty without a row.
    """
    known = table.known()
    if not known.rows:
        return ""
    heads = "".join(
        f'<th scope="col"{_kind(column)}>{text(column.name)}{_unit(column, style)}</th>' for column in known.columns
    )
    rows = "\n".join(f"<tr>{''.join(_cells(row, known.columns, style))}</tr>" for row in known.rows)
    note = f'<p class="soft">{text(table.note)}</p>' if table.note else ""
    return (
        f'<h2>{text(table.title)}</h2>\n<div class="wide"><table>\n'
        f"<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table></div>\n{note}"
    )


def _cells(row: Iterable[drawing.Cell], columns: Iterable[drawing.Column], style: Style) -> Iterable[str]:
    for place, (cell, column) in enumerate(zip(row, columns, strict=True)):
        words = drawing.text_of(cell, column, style) if drawing.is_known(cell) else UNKNOWN
        if place == 0:
            yield f'<th scope="row">{text(words)}</th>'
        else:
            yield f"<td{_kind(column)}>{text(words)}</td>"


def _kind(column: drawing.Column) -> str:
    return ' class="number"' if column.align == "right" else ""


def _unit(column: drawing.Column, style: Style) -> str:
    unit = column.unit(style)
    return f" [{text(unit)}]" if unit else ""
