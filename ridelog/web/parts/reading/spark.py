"""A column of a log as a small picture, drawn here so that the page needs neither a script nor a request for it."""

from collections.abc import Sequence
from typing import Any
from urllib.parse import quote

from dash import html

from ridelog.recording import Preview
from ridelog.tell.pages import columns as words

WIDTH_PX, HEIGHT_PX, EDGE_PX = 96, 24, 2
LINE, ZERO = "#4d868b", "#8a8a8a"  # three times as bright, or as dark, as the paper by day and by night


def spark(preview: Preview) -> Any:
    """The numbers of a preview as a line, with how far they reach; else the first cells as they are written.

    Parameters
    ----------
    preview : of a column

    Returns
    -------
    Components of a table cell.
    """
    known = preview.known
    if len(known) < 2:
        return html.Span(words.first_cells(preview.cells), className="gloss")
    reach = words.reach(min(known), max(known))
    picture = html.Img(
        src=f"data:image/svg+xml,{quote(drawing(preview.values))}", alt=words.picture(reach), className="spark",
        width=WIDTH_PX, height=HEIGHT_PX,
    )  # fmt: skip
    return html.Span([picture, html.Span(reach, className="interval")])


def drawing(values: Sequence[float | None]) -> str:
    """Numbers as a line in SVG, broken where there is none; a dashed one at zero where they lie on both sides of it.

    Parameters
    ----------
    values : at even distances, ``None`` where there is none; two at least are known

    Returns
    -------
    An SVG document.
    """
    known = [value for value in values if value is not None]
    low, high = min(known), max(known)
    span, room = (high - low) or 1.0, HEIGHT_PX - 2 * EDGE_PX

    def y_px(value: float) -> float:
        middle = 0.5 if high == low else (value - low) / span
        return HEIGHT_PX - EDGE_PX - room * middle

    step_px = (WIDTH_PX - 2 * EDGE_PX) / max(len(values) - 1, 1)
    path, pen_is_up = [], True
    for place, value in enumerate(values):
        if value is not None:
            path.append(f"{'M' if pen_is_up else 'L'}{EDGE_PX + place * step_px:.1f} {y_px(value):.1f}")
        pen_is_up = value is None
    zero = ""
    if low < 0 < high:
        zero = f'<path d="M0 {y_px(0.0):.1f}H{WIDTH_PX}" stroke="{ZERO}" stroke-width="1" stroke-dasharray="2 2"/>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH_PX} {HEIGHT_PX}" width="{WIDTH_PX}" '
        f'height="{HEIGHT_PX}" fill="none">{zero}<path d="{"".join(path)}" stroke="{LINE}" stroke-width="1.3" '
        'stroke-linejoin="round" stroke-linecap="round"/></svg>'
    )
