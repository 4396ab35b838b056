"""Where the uncertainty of the recovered share comes from, as a table on the page."""

from typing import Any

from dash import html

from ridelog.tell.ride import number
from ridelog.uncertain.budget import Budget, BudgetRow

HEADS = ("Source", "Alone it gives", "Share of the variance", "What would shrink it")


def budget_table(budget: Budget) -> Any:
    """Each source with its size, its share, and what would shrink it; the largest first."""
    return html.Div(
        [
            html.Table(
                [
                    html.Thead(html.Tr([html.Th(head, scope="col") for head in HEADS])),
                    html.Tbody([_row(row, budget.unit) for row in budget.rows]),
                ],
                className="columns",
            ),
            html.P(
                f"All together: standard uncertainty {number(budget.u_c, digits=2)} {budget.unit}, "
                f"95 % interval {number(budget.low95)} to {number(budget.high95)} {budget.unit}.",
                className="aside",
            ),
        ],
        className="scroll",
        tabIndex="0",
        role="region",
        **{"aria-label": "Where the uncertainty of the recovered share comes from"},
    )


def _row(row: BudgetRow, unit: str) -> Any:
    size = "" if row.u is None else f"±{number(row.u, digits=2)} {unit}"
    share = "" if row.share_pct is None else f"{number(row.share_pct, digits=2)} %"
    return html.Tr(
        [
            html.Th(row.name, scope="row"),
            html.Td(size, className="word"),
            html.Td(share, className="word"),
            html.Td(row.advice, className="word why"),
        ]
    )
