"""Where the energy went, as tables on the page."""

from collections.abc import Sequence
from typing import Any

from dash import html

from ridelog.answer.ledger import Ledger, SpeedBand
from ridelog.answer.ride import Answer
from ridelog.tell.ledger import Line, band_name, lines
from ridelog.uncertain.quantity import Quantity
from ridelog.web import text

BAND_HEADS = ("Speed", "Braked for, s", "Offered, Wh", "Returned, Wh", "Missed, Wh", "Captured, %")


def ledger_table(ledger: Ledger) -> Any:
    """Each line with its energy and interval, and what it is."""
    return _scrolled(
        "Where the energy of the ride went",
        [
            html.Table(
                [
                    html.Thead(html.Tr([html.Th(h, scope="col") for h in ("Line", "Energy", "95 % interval", "What")])),
                    html.Tbody([_row(line) for line in lines(ledger.ride)]),
                ],
                className="columns",
            ),
        ],
    )


def _row(line: Line) -> Any:
    mark = {1: "+ ", -1: f"{text.MINUS} "}.get(line.sign, "")
    return html.Tr(
        [
            html.Th(f"{mark}{line.name}", scope="row"),
            html.Td(text.measured(line.quantity, "Wh"), className="word"),
            html.Td(text.interval(line.quantity) or "", className="word"),
            html.Td(line.meaning, className="word why"),
        ]
    )


def band_table(bands: Sequence[SpeedBand]) -> Any:
    """What braking offered and what came back by speed; ``None`` where the bike never braked."""
    if not bands:
        return None
    return _scrolled(
        "Braking by speed",
        [
            html.Table(
                [
                    html.Thead(html.Tr([html.Th(head, scope="col") for head in BAND_HEADS])),
                    html.Tbody([_band_row(band) for band in bands]),
                ],
                className="columns",
            )
        ],
    )


def _band_row(band: SpeedBand) -> Any:
    quantities = (band.available_wh, band.returned_wh, band.missed_wh, band.captured_pct)
    return html.Tr(
        [
            html.Th(band_name(band), scope="row"),
            html.Td(text.fixed(band.time_s, 0), className="word"),
            *(html.Td(_with_interval(each), className="word") for each in quantities),
        ]
    )


def _with_interval(value: Quantity | None) -> str:
    if value is None:
        return text.UNKNOWN
    within = text.interval(value, digits=2)
    return f"{text.number(value.value, 2)}{f' ({within})' if within else ''}"


def _scrolled(label: str, content: list[Any]) -> Any:
    whole = {"maxHeight": "none"}  # as high as it is; only its width scrolls
    return html.Div(content, className="scroll", style=whole, tabIndex="0", role="region", **{"aria-label": label})


def ledger_label(answer: Answer) -> str:
    """What the chart of the ledger shows, for those who do not see it."""
    return (
        "Bars from what the battery gave to what came back, one for each thing that took energy. "
        f"{text.headline(answer).sentence}. The same numbers are in the table below."
    )
