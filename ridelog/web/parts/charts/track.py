"""The track from above, and what its lines are."""

from typing import Any

from dash import html

from ridelog.answer.ride import Answer
from ridelog.figures.look import Look
from ridelog.figures.track import track_drawing
from ridelog.tell.ride import track_label
from ridelog.web.parts.charts.frame import folded_chart, returned_is_known

TRACK = "track-chart"


def track_section(answer: Answer, look: Look) -> Any:
    """The track from above; ``None`` without positions."""
    drawing = track_drawing(answer, look)
    if drawing is None:
        return None
    known = returned_is_known(answer)
    words: Any = "We do not know where charge came back."
    if known:
        words = [html.B("Thick line", className="returned"), ": charge came back. Dotted: the rest of the way."]
    return html.Div(
        [
            html.P(words, className="gloss"),
            folded_chart(drawing, track_label(answer, look.style), TRACK),
        ],
        className="track",
    )
