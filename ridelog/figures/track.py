"""The track seen from above, where charge came back drawn thick. Pure."""

from typing import Any

import numpy as np

from ridelog.answer.ride import Answer
from ridelog.figures.look import Look, axis, base_layout
from ridelog.figures.reduce import Floats, Mask, thin_path
from ridelog.tell.kinds import LENGTH
from ridelog.tell.numbers import unit_of

MOST_SWITCHES = 4000  # samples beside a beginning or end of return that are kept, four of each braking event


def way_from_above(answer: Answer, *, n_steps: int = 1500) -> tuple[Floats, Floats, Mask] | None:
    """East and north of the start [m], and where charge came back, as a drawing needs them; ``None`` without positions.

    ``n_steps`` : about how many samples are kept, besides those where the return begins and ends
    """
    way = _timed_way(answer, n_steps)
    return None if way is None else way[1:]


def _timed_way(answer: Answer, n_steps: int = 1500) -> tuple[Floats, Floats, Floats, Mask] | None:
    """When [s], and as `way_from_above` has it."""
    series = answer.series
    if "east_m" not in series or not series["east_m"].notna().any():
        return None
    east, north = (series[name].to_numpy(dtype=float) for name in ("east_m", "north_m"))
    regen: Mask = (
        series["regen_mask"].to_numpy(dtype=bool) if "regen_mask" in series else np.zeros(len(series), dtype=bool)
    )
    switch = np.diff(regen, prepend=regen[:1]) | np.append(np.diff(regen), False)
    if switch.sum() > MOST_SWITCHES:  # told by whole steps then, of which no eye sees a part
        kept = thin_path(east, north, np.zeros_like(switch), n_steps=n_steps)
        on = np.logical_or.reduceat(regen, kept)
    else:
        kept = thin_path(east, north, switch, n_steps=n_steps)
        on = regen[kept]
    return series["elapsed_s"].to_numpy(dtype=float)[kept], east[kept], north[kept], on


def track_drawing(answer: Answer, look: Look) -> dict[str, Any] | None:
    """The track from above, equal aspect; returned charge as a thick line; ``None`` without positions."""
    way = _timed_way(answer)
    if way is None:
        return None
    unit = unit_of(LENGTH, look.style)
    time_s, x, y, on = way[0], way[1] * unit.factor, way[2] * unit.factor, way[3]
    line = {"type": "scatter", "customdata": time_s, "mode": "lines"}
    ends, words = _ends(x, y, look)
    layout = base_layout(look, 340 if look.narrow else 440)
    across, up = (
        axis(look, f"{side} of the start, {unit.symbol}", nticks=6, tickformat=",.0f", range=_padded(values))
        for side, values in (("east", x), ("north", y))
    )
    return {
        "data": [
            {**line, "x": x, "y": y, "line": {"color": look.soft, "width": 1.4, "dash": "dot"}, "hoverinfo": "none",
             "meta": {"way": True}},
            {**line, "x": np.where(on, x, np.nan), "y": np.where(on, y, np.nan),
             "line": {"color": look.returned, "width": 6}, "hovertemplate": "charge returned here<extra></extra>"},
            *ends,
        ],
        "layout": {
            **layout,
            "xaxis": {**across, "showgrid": False},
            "yaxis": {**up, "scaleanchor": "x", "scaleratio": 1},
            "annotations": words,
            "margin": {**layout["margin"], "l": 70 if look.narrow else 78},
        },
    }  # fmt: skip


def _ends(x: Floats, y: Floats, look: Look) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Start and end of a track, and their words; one mark where they are the same place on the drawing."""
    known = np.flatnonzero(np.isfinite(x))
    first, last = int(known[0]), int(known[-1])
    extent = max(float(np.ptp(x[known])), float(np.ptp(y[known])))
    same = bool(np.hypot(x[first] - x[last], y[first] - y[last]) < 0.04 * extent)
    marker = {"color": look.paper, "size": 9, "line": {"color": look.ink, "width": 2}}
    font = {"color": look.ink, "size": 12}
    marks, words = [], []
    for index, text in ((first, "start and end"),) if same else ((first, "start"), (last, "end")):
        at = float(x[index]), float(y[index])
        marks.append({"type": "scatter", "x": [at[0]], "y": [at[1]], "mode": "markers", "hoverinfo": "skip",
                      "marker": marker})  # fmt: skip
        words.append({"x": at[0], "y": at[1], "text": text, "showarrow": False, "xanchor": "left", "xshift": 8,
                      "yshift": 8, "font": font})  # fmt: skip
    return marks, words


def _padded(values: Floats) -> list[float]:
    """A range with room around the known values."""
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    room = max(0.06 * (high - low), 5.0)
    return [low - room, high + room]
