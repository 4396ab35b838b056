"""Drawings as the charts' library for Python takes them: it refuses what the one in the browser would not know."""

from collections.abc import Callable
from typing import Any

import plotly.graph_objects as go

from ridelog.figures.ledger import ledger_drawing
from ridelog.figures.power import power_drawing
from ridelog.figures.profile import profile_drawing
from ridelog.figures.track import track_drawing

Draw = Callable[..., dict[str, Any] | None]


def checked(draw: Draw) -> Callable[..., Any]:
    """The same drawing as a figure, each value of it checked."""

    def figure(*args: Any, **kwargs: Any) -> go.Figure | None:
        drawing = draw(*args, **kwargs)
        return None if drawing is None else go.Figure(drawing)

    return figure


ledger_figure, power_figure = checked(ledger_drawing), checked(power_drawing)
profile_figure, track_figure = checked(profile_drawing), checked(track_drawing)
