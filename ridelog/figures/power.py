"""Battery power over time, drawn above zero and returned below, and what is chosen to stand beneath it. Pure."""

from collections.abc import Collection, Iterator
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.figures.lanes import Window, height_of_lanes, is_known, known_lanes, lanes_beneath
from ridelog.figures.look import Look, axis, base_layout, label_room
from ridelog.figures.reduce import (
    Floats,
    Reduced,
    fill_outline,
    one_break_each,
    split_at_zero,
    thin_fill,
)
from ridelog.tell.numbers import METRIC, Style
from ridelog.tell.page import time_axis
from ridelog.tell.ride import hill_mark
from ridelog.tell.times import clock

TICK_STEPS_S = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400, 43200, 86400)
# The time since the start, put together by the browser: text for each point would be most of what is sent.
CLOCK = "%{customdata[0]}:%{customdata[1]:02d}:%{customdata[2]:02d}.%{customdata[3]}"


def time_ticks(start_s: float, end_s: float, *, most: int = 8, style: Style = METRIC) -> tuple[list[float], list[str]]:
    """Round instants of a window, and each in words.

    Parameters
    ----------
    start_s, end_s : the window [s]
    most : how many ticks fit
    style : the clock that they are told by, on which they are round

    Returns
    -------
    Instants [s], and their words.
    """
    width_s = max(end_s - start_s, 1e-6)
    step_s = next((step for step in TICK_STEPS_S if width_s / step <= most), 86400 * np.ceil(width_s / most / 86400))
    decimals = 1 if step_s < 1 else 0
    zero_s = midnight_s(style)
    first, last = np.ceil((start_s + zero_s) / step_s - 1e-9), np.floor((end_s + zero_s) / step_s + 1e-9)
    at = np.arange(first, last + 1) * step_s - zero_s
    return at.tolist(), [clock(value, style, decimals=decimals) for value in at]


def midnight_s(style: Style) -> float:
    """How long before the start of the ride the day began on the style's clock; 0 where it has none [s]."""
    if style.dial is None:
        return 0.0
    began = style.dial.started
    return began.hour * 3600 + began.minute * 60 + began.second + began.microsecond / 1e6


def electrical_line(series: pd.DataFrame) -> tuple[str, Floats, str, str] | None:
    """What the battery chart can show: power, or current where no voltage is known; column, values, unit, name."""
    for column, unit, name in (("power_w", "W", "battery power"), ("current_a", "A", "battery current")):
        if column in series and is_known(series[column]):
            return column, series[column].to_numpy(dtype=float), unit, name
    return None


def n_samples_in(series: pd.DataFrame, start_s: float, end_s: float) -> int:
    """How many samples of a ride's series a stretch of it holds, both ends included.

    Parameters
    ----------
    series : of the ride, with ``elapsed_s``
    start_s, end_s : of the stretch [s]

    Returns
    -------
    Their number.
    """
    time_s = series["elapsed_s"].to_numpy(dtype=float)
    return int(np.searchsorted(time_s, end_s, side="right") - np.searchsorted(time_s, start_s, side="left"))


def power_drawing(
    answer: Answer,
    look: Look,
    *,
    start_s: float | None = None,
    end_s: float | None = None,
    n_columns: int = 1060,
    beneath: Collection[str] = (),
) -> dict[str, Any]:
    """Battery power over a window of the ride, drawn above zero and returned below.

    It is not checked by the charts' library for Python, which takes longer than to draw it.

    Parameters
    ----------
    answer : its series needs ``elapsed_s`` and ``power_w`` (or ``current_a``)
    look : colours and room
    start_s, end_s : the window, the whole ride by default [s]
    n_columns : pixel columns that every extreme is kept for; half of them on a narrow screen
    beneath : keys of `ridelog.figures.lanes.LANES` to draw on the same time

    Returns
    -------
    ``data`` and ``layout``, whose ``meta`` says how many samples the window holds, and what a clock showed at 0 s.

    Raises
    ------
    ValueError : the series holds neither power nor current
    """
    line = electrical_line(answer.series)
    if line is None:
        raise ValueError("neither power nor current in the series")
    column, values, unit, name = line
    time_s = answer.series["elapsed_s"].to_numpy(dtype=float)
    low_s = float(time_s[0]) if start_s is None else start_s
    high_s = float(time_s[-1]) if end_s is None else end_s
    window = Window(low_s, high_s, n_columns // 2 if look.narrow else n_columns)
    seen = window.of(time_s, values)
    lanes = [lane for lane in known_lanes(answer.series, column) if lane.key in beneath]
    layout = base_layout(look, (280 if look.narrow else 340) + height_of_lanes(len(lanes)))
    traces, below = lanes_beneath(answer.series, lanes, window, look, _plot_px(layout))
    axes = _axes(seen, f"{name}, {unit}", look, window)
    zero = {"type": "line", "xref": "x domain", "x0": 0, "x1": 1, "y0": 0, "y1": 0}
    rails, marks = _hills_in_time(answer.hills, (low_s, high_s), axes["yaxis"]["range"][1], look)
    n_samples = n_samples_in(answer.series, low_s, high_s)
    return {
        "data": [*_sides(seen, unit, look, window), marks, *traces],
        "layout": {
            **layout,
            **below,
            **{axis_name: {**settings, **below.get(axis_name, {})} for axis_name, settings in axes.items()},
            "shapes": [{**zero, "line": {"color": look.ink, "width": 1}}, *rails],
            "dragmode": False if look.narrow else "zoom",
            "hovermode": "x",
            "meta": {"n_samples": n_samples, "zero_s": midnight_s(look.style), "by_clock": look.style.dial is not None},
        },
    }


def _plot_px(layout: dict[str, Any]) -> float:
    """The height of a chart without its margins [px]."""
    return float(layout["height"] - layout["margin"]["t"] - layout["margin"]["b"])


def _axes(seen: Reduced, title: str, look: Look, window: Window) -> dict[str, dict[str, Any]]:
    """The axes of time and of power, with room above and below what is shown."""
    at, words = time_ticks(window.start_s, window.end_s, most=4 if look.narrow else 9, style=look.style)
    span = seen.y[np.isfinite(seen.y)]
    top, bottom = (max(float(span.max()), 0.0), min(float(span.min()), 0.0)) if len(span) else (1.0, 0.0)
    room = 0.08 * max(top - bottom, 1e-3)
    across = axis(
        look,
        time_axis(look.style),
        range=[window.start_s, window.end_s],
        tickvals=at,
        ticktext=words,
        showgrid=False,
        fixedrange=look.narrow,
    )
    up = axis(look, title, range=[bottom - room, top + room], nticks=8, tickformat=",")
    return {"xaxis": across, "yaxis": up}


def _sides(seen: Reduced, unit: str, look: Look, window: Window) -> Iterator[dict[str, Any]]:
    """The part drawn and the part returned, each with its own colour, fill and side of zero."""
    x, above, below = split_at_zero(seen.x, seen.y)
    for side, name, color, fill in (
        (above, "drawn", look.drawn, look.drawn_fill),
        (below, "returned", look.returned, look.returned_fill),
    ):
        shown = one_break_each(side)
        at, y = x[shown], side[shown]
        filled = thin_fill(at, y, start=window.start_s, end=window.end_s, n_columns=window.n_columns)
        outline_x, outline_y = _for_screen(*fill_outline(at[filled], y[filled]))
        line_x, line_y = _for_screen(at, y)
        yield {
            "type": "scatter", "x": outline_x, "y": outline_y, "mode": "lines", "line": {"width": 0},
            "fill": "tozeroy", "fillcolor": fill, "hoverinfo": "skip",
        }  # fmt: skip
        yield {
            "type": "scatter", "x": line_x, "y": line_y, "name": name, "mode": "lines",
            "line": {"color": color, "width": 1.2}, "connectgaps": False, "customdata": _clock_parts(at, look.style),
            "meta": {"name": name, "unit": unit, "decimals": 1},
            "hovertemplate": f"{CLOCK}<br><b>%{{y:,.1f}} {unit}</b> {name}<extra></extra>",
        }  # fmt: skip
    if seen.lone_mask.any():
        alone = seen.y[seen.lone_mask]
        yield {
            "type": "scatter", "x": seen.x[seen.lone_mask], "y": alone, "name": "single samples", "mode": "markers",
            "marker": {"color": np.where(alone < 0, look.returned, look.drawn).tolist(), "size": 4},
            "hovertemplate": f"%{{y:,.1f}} {unit}, a single sample between gaps<extra></extra>",
        }  # fmt: skip


def _clock_parts(time_s: Floats, style: Style) -> NDArray[np.unsignedinteger]:
    """Hours, minutes, seconds and tenths of each time on the style's clock, shape (n, 4)."""
    tenths = np.round(10 * (time_s + midnight_s(style))).astype(np.int64)
    if style.dial is not None:
        tenths %= 24 * 36000
    parts = (tenths // 36000, tenths // 600 % 60, tenths // 10 % 60, tenths % 10)
    return np.stack(parts, axis=1).astype(np.uint8 if len(tenths) and tenths.max() < 256 * 36000 else np.uint16)


def _for_screen(time_s: Floats, values: Floats) -> tuple[NDArray[np.floating], NDArray[np.float32]]:
    """Both in half the bytes; the times only where no two neighbours move by more than a hundredth of their step."""
    close = len(time_s) > 1 and np.spacing(np.float32(time_s[-1])) < 0.01 * np.median(np.diff(time_s))
    return (time_s.astype(np.float32) if close else time_s), values.astype(np.float32)


def _hills_in_time(
    hills: tuple[Hill, ...], window_s: tuple[float, float], top: float, look: Look
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """A thin rail along the top when each hill was ridden, and its number where there is room, as plotly lays them.

    All rails of one colour are one shape, and all numbers one trace: notes of their own took the browser longer to
    draw than the power. ``top`` : of the axis of power.
    """
    spans = [(hill, max(hill.start_s, window_s[0]), min(hill.end_s, window_s[1])) for hill in hills]
    seen = [span for span in spans if span[2] > span[1]]
    room = label_room([(start_s + end_s) / 2 for _, start_s, end_s in seen], window_s[1] - window_s[0], look)
    rails: dict[str, str] = {}
    at_s: list[float] = []
    words: list[str] = []
    colors: list[str] = []
    for (hill, start_s, end_s), n_pieces in zip(seen, room, strict=True):
        color = look.drawn if hill.direction == "up" else look.returned
        rails[color] = rails.get(color, "") + f"M{start_s:.6g},0.992L{end_s:.6g},0.992"
        if n_pieces:
            at_s.append((start_s + end_s) / 2)
            words.append(hill_mark(hill))
            colors.append(color)
    shapes = [
        {"type": "path", "path": path, "yref": "paper", "line": {"color": color, "width": 3}}
        for color, path in rails.items()
    ]
    return shapes, {
        "type": "scatter", "mode": "text", "name": "hills", "x": at_s, "y": [top] * len(at_s), "text": words,
        "textposition": "top center", "textfont": {"color": colors, "size": 12}, "cliponaxis": False,
        "hoverinfo": "skip",
    }  # fmt: skip
