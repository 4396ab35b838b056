"""The track seen from above, where charge came back drawn thick. Pure."""

import numpy as np
import plotly.graph_objects as go

from ridelog.answer.ride import Answer
from ridelog.figures.look import Look, axis, base_figure
from ridelog.figures.reduce import Floats, Mask, thin_path
from ridelog.tell.kinds import LENGTH
from ridelog.tell.numbers import unit_of


def track_figure(answer: Answer, look: Look) -> go.Figure | None:
    """The track from above, equal aspect; returned charge as a thick line; ``None`` without positions."""
    series = answer.series
    if "east_m" not in series or not series["east_m"].notna().any():
        return None
    unit = unit_of(LENGTH, look.style)
    east, north = (series[name].to_numpy(dtype=float) * unit.factor for name in ("east_m", "north_m"))
    regen: Mask = (
        series["regen_mask"].to_numpy(dtype=bool) if "regen_mask" in series else np.zeros(len(series), dtype=bool)
    )
    switch = np.diff(regen, prepend=regen[:1]) | np.append(np.diff(regen), False)
    kept = thin_path(east, north, switch)
    x, y, on = east[kept], north[kept], regen[kept]
    figure = base_figure(look, 340 if look.narrow else 440)
    figure.add_scatter(x=x, y=y, mode="lines", line={"color": look.soft, "width": 1.4, "dash": "dot"}, hoverinfo="skip")
    figure.add_scatter(
        x=np.where(on, x, np.nan),
        y=np.where(on, y, np.nan),
        mode="lines",
        line={"color": look.returned, "width": 6},
        hovertemplate="charge returned here<extra></extra>",
    )
    _mark_ends(figure, x, y, look)
    figure.update_xaxes(
        **axis(look, f"east of the start, {unit.symbol}", showgrid=False, nticks=6, tickformat=",.0f", range=_padded(x))
    )
    figure.update_yaxes(
        **axis(
            look,
            f"north of the start, {unit.symbol}",
            nticks=6,
            range=_padded(y),
            scaleanchor="x",
            scaleratio=1,
            tickformat=",.0f",
        )
    )
    figure.update_layout(margin={"l": 70 if look.narrow else 78})
    return figure


def _mark_ends(figure: go.Figure, x: Floats, y: Floats, look: Look) -> None:
    """Start and end of a track; one mark where they are the same place on the drawing."""
    known = np.flatnonzero(np.isfinite(x))
    first, last = int(known[0]), int(known[-1])
    extent = max(float(np.ptp(x[known])), float(np.ptp(y[known])))
    same = bool(np.hypot(x[first] - x[last], y[first] - y[last]) < 0.04 * extent)
    for index, text in ((first, "start and end"),) if same else ((first, "start"), (last, "end")):
        figure.add_scatter(
            x=[x[index]],
            y=[y[index]],
            mode="markers",
            hoverinfo="skip",
            marker={"color": look.paper, "size": 9, "line": {"color": look.ink, "width": 2}},
        )
        figure.add_annotation(
            x=x[index],
            y=y[index],
            text=text,
            showarrow=False,
            xanchor="left",
            xshift=8,
            yshift=8,
            font={"color": look.ink, "size": 12},
        )


def _padded(values: Floats) -> list[float]:
    """A range with room around the known values."""
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    room = max(0.06 * (high - low), 5.0)
    return [low - room, high + room]
