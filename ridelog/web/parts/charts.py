"""The charts of a ride: each one image with a name, its numbers in a table near it."""

from typing import Any

import dash_mantine_components as dmc
from dash import dcc, html

from ridelog.answer.ride import Answer
from ridelog.figures.look import Look
from ridelog.figures.power import electrical_line, power_figure
from ridelog.figures.track import track_figure
from ridelog.tell import page
from ridelog.tell.ride import power_label, track_label
from ridelog.web import ids

GRAPH_CONFIG = {
    "displayModeBar": False,
    "responsive": True,
    "doubleClick": "autosize",
    "scrollZoom": False,
    "showTips": False,
}
MOVES = (("in", "Closer"), ("out", "Wider"), ("left", "Earlier"), ("right", "Later"), ("all", "Whole ride"))


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


def power_section(answer: Answer, look: Look) -> Any:
    """Battery power over time, with buttons that go closer; ``None`` where there is none to draw."""
    if electrical_line(answer.series) is None or len(answer.series) < 2:
        return None
    end_s = float(answer.series["elapsed_s"].iloc[-1])
    known = _returned_is_known(answer)
    below: list[Any] = [", ", html.B("▼ returned", className="returned"), " below"] if known else []
    places = [{"value": f"{hill.start_s}:{hill.end_s}", "label": hill.name} for hill in answer.hills]
    return html.Section(
        [
            html.H2("Drawn and returned over time" if known else "Drawn over time"),
            html.P(
                [html.B("▲ drawn", className="drawn"), " above zero", *below,
                 page.how_to_look_closer(narrow=look.narrow)],
                className="gloss",
            ),
            html.Div(
                [
                    *(
                        dmc.Button(word, id={"type": ids.MOVE, "to": move}, variant="default", size="xs")
                        for move, word in MOVES
                    ),
                    dmc.Select(
                        id=ids.PLACE, data=_distinct(places), placeholder="Go to a hill", size="xs", clearable=False,
                        display=None if places else "none", **{"aria-label": "Go to a hill"},
                    ),
                ],
                className="toolbar",
                role="group",
                **{"aria-label": "Which stretch of the ride the chart shows"},
            ),
            dcc.Store(id=ids.WINDOW, data=[0.0, end_s]),
            dcc.Store(id=ids.DRAG),
            chart(power_figure(answer, look), power_label(0.0, end_s, answer, look.style), ids.POWER_CHART),
            html.P(
                page.shown_stretch(0.0, end_s, len(answer.series), look.style),
                id=ids.WINDOW_WORDS,
                className="gloss",
                role="status",
            ),
        ],
        className="power",
    )  # fmt: skip


def _returned_is_known(answer: Answer) -> bool:
    return answer.charge.returned_ah is not None or answer.energy.returned_wh is not None


def _distinct(places: list[dict[str, str]]) -> list[dict[str, str]]:
    """Each value once, which the select insists on."""
    return list({place["value"]: place for place in places}.values())


def track_section(answer: Answer, look: Look) -> Any:
    """The track from above; ``None`` without positions."""
    figure = track_figure(answer, look)
    if figure is None:
        return None
    known = _returned_is_known(answer)
    words: Any = "We do not know where charge came back."
    if known:
        words = [html.B("Thick line", className="returned"), ": charge came back. Dotted: the rest of the way."]
    return html.Section(
        [
            html.H2("Where it came back" if known else "The way"),
            html.P(words, className="gloss"),
            chart(figure, track_label(answer, look.style), "track-chart"),
        ],
        className="track",
    )
