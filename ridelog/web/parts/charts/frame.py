"""What every chart is in: one image with a name; its numbers are in a table near it."""

from typing import Any

from dash import dcc, html

from ridelog.answer.ride import Answer

GRAPH_CONFIG = {
    "displayModeBar": False,
    "responsive": True,
    "doubleClick": "autosize",
    "scrollZoom": False,
    "showTips": False,
}


def chart(figure: Any, label: str, name: str) -> Any:
    """A figure as one image with a name.

    Parameters
    ----------
    figure : to draw
    label : what it shows, for those who do not see it
    name : by which callbacks find it

    Returns
    -------
    Component.
    """
    return html.Div(
        dcc.Graph(id=name, figure=figure, config=GRAPH_CONFIG), role="img", id=f"{name}-image", className="chart",
        **{"aria-label": label},
    )  # fmt: skip


def returned_is_known(answer: Answer) -> bool:
    """Whether it can be said where charge came back."""
    return answer.charge.returned_ah is not None or answer.energy.returned_wh is not None
