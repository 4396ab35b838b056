"""How the pack was treated, as a table on the page."""

from typing import Any

from dash import html

from ridelog.answer.pack import Pack
from ridelog.uncertain.quantity import Quantity
from ridelog.web import text

HEADS = ("Measured", "Value", "95 % interval", "What it is")


def pack_table(pack: Pack) -> Any:
    """What is known of the pack, with what each number means; ``None`` where nothing is known."""
    rows = (
        ("Resistance", pack.resistance_ohm, "Ω", "of cells, BMS and leads together, over about a second"),
        ("Highest cell", pack.highest_cell_v, "V", "where cells are not logged, their mean; single ones may lie above"),
        ("Highest charge current", pack.highest_charge_a, "A", "of all samples"),
        (
            "Free at the start",
            pack.start_charge_headroom_ah,
            "Ah",
            "needed in the pack for everything that came back to fit",
        ),
    )
    known = [_row(name, value, unit, meaning) for name, value, unit, meaning in rows if value is not None]
    if not known:
        return None
    return html.Div(
        [
            html.Table(
                [html.Thead(html.Tr([html.Th(head, scope="col") for head in HEADS])), html.Tbody(known)],
                className="columns",
            ),
            html.P(
                "What was logged is held against the limits under [pack] in the bike file; where they were passed, a "
                "finding says so. The limits are those of the pack's maker.",
                className="aside",
            ),
        ],
        className="scroll",
        tabIndex="0",
        role="region",
        **{"aria-label": "How the pack was treated"},
    )


def _row(name: str, value: Quantity, unit: str, meaning: str) -> Any:
    return html.Tr(
        [
            html.Th(name, scope="row"),
            html.Td(text.measured(value, unit), className="word"),
            html.Td(text.interval(value) or "", className="word"),
            html.Td(meaning, className="word why"),
        ]
    )
