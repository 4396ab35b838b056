"""What can be drawn beneath the chart of power on the same time: height, speed, current, voltage. Pure."""

from collections.abc import Collection
from typing import Any

import numpy as np
import pandas as pd

from ridelog.figures.look import Look, axis
from ridelog.figures.reduce import Floats, Reduced, known_line, one_break_each, reduce_window
from ridelog.lazy import dataclass
from ridelog.tell.kinds import CURRENT, HEIGHT, SPEED, VOLTAGE, Kind
from ridelog.tell.numbers import unit_of

LANE_PX, BETWEEN_PX = 78, 14
LOOK = 4096  # values looked at at once


@dataclass(frozen=True)
class Lane:
    """One line: its key, the columns of the series that it may be of (the first that is known), and how it is told.

    ``least`` : span of its axis at the least, so that noise does not look like a mountain, in the unit of its columns
    """

    key: str
    columns: tuple[str, ...]
    kind: Kind
    decimals: int
    label: str
    least: float

    def column_in(self, series: pd.DataFrame) -> str | None:
        """The column of a series that is drawn; ``None`` where nothing is known of any."""
        return next((name for name in self.columns if name in series and is_known(series[name])), None)


def is_known(column: pd.Series) -> bool:
    """Whether any value is; most are known by their first values, of however many."""
    values = column.to_numpy(dtype=float)
    return any(np.isfinite(values[k : k + LOOK]).any() for k in range(0, len(values), LOOK))


LANES = (
    Lane("height", ("smooth_altitude_m", "altitude_m"), HEIGHT, 1, "Height", 5.0),
    Lane("speed", ("speed_mps",), SPEED, 1, "Speed", 3.0),
    Lane("current", ("current_a",), CURRENT, 2, "Current", 1.0),
    Lane("voltage", ("voltage_v",), VOLTAGE, 2, "Voltage", 1.0),
)
LANE_KEYS = tuple(lane.key for lane in LANES)


@dataclass(frozen=True)
class Window:
    """A stretch of a ride as it is drawn: from where to where [s], and on how many pixel columns."""

    start_s: float
    end_s: float
    n_columns: int

    def of(self, time_s: Floats, values: Floats) -> Reduced:
        """What is drawn of a channel of the ride."""
        time_s, values, gap_mask = known_line(time_s, values)
        return reduce_window(
            time_s, values, start=self.start_s, end=self.end_s, n_columns=self.n_columns, gap_mask=gap_mask
        )


def known_lanes(series: pd.DataFrame, above: str) -> tuple[Lane, ...]:
    """The lanes that a ride has something for, besides what is drawn above them.

    Parameters
    ----------
    series : of the ride
    above : the column of the chart that they stand beneath

    Returns
    -------
    In the order in which they are drawn.
    """
    return tuple(lane for lane in LANES if lane.column_in(series) not in (None, above))


def height_of_lanes(n: int) -> int:
    """How much higher so many lanes make a chart [px]."""
    return n * (LANE_PX + BETWEEN_PX)


def lanes_beneath(
    series: pd.DataFrame, lanes: Collection[Lane], window: Window, look: Look, plot_px: float
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Lanes beneath a first chart, on its axis of time, which moves to the lowest of them.

    Parameters
    ----------
    series : of the ride, with ``elapsed_s``
    lanes : what to draw, from top to bottom
    window : the stretch shown
    look : colours, room and units
    plot_px : height of all charts together, without margins [px]

    Returns
    -------
    traces : one a lane
    layout : axes of the lanes, and where they leave the first chart its room
    """
    time_s = series["elapsed_s"].to_numpy(dtype=float)
    top_px = plot_px - height_of_lanes(len(lanes))
    traces: list[dict[str, Any]] = []
    layout: dict[str, Any] = {"yaxis": {"domain": [1 - top_px / plot_px, 1.0]}, "hoversubplots": "axis"}
    for number, lane in enumerate(lanes, start=2):
        high = height_of_lanes(len(lanes) - number + 2) - BETWEEN_PX
        seen = window.of(time_s, series[lane.column_in(series)].to_numpy(dtype=float))
        unit = unit_of(lane.kind, look.style)
        values, symbol = seen.y * unit.factor + unit.offset, unit.symbol
        shown = one_break_each(values)
        traces.append({
            "type": "scatter", "x": seen.x[shown], "y": values[shown].astype("float32"), "yaxis": f"y{number}",
            "name": lane.key, "mode": "lines", "line": {"color": look.ink, "width": 1.1}, "connectgaps": False,
            "meta": {"name": lane.label.lower(), "unit": symbol, "decimals": lane.decimals},
            "hovertemplate": f"<b>%{{y:,.{lane.decimals}f}} {symbol}</b> {lane.label.lower()}<extra></extra>",
        })  # fmt: skip
        domain = [(high - LANE_PX) / plot_px, high / plot_px]
        title = f"{lane.label.lower()}, {symbol}"
        layout[f"yaxis{number}"] = axis(
            look, title, domain=domain, anchor="x", nticks=3, tickformat=",", range=_range(values, lane, look)
        )
    if lanes:
        layout["xaxis"] = {"anchor": f"y{len(lanes) + 1}"}
    return traces, layout


def _range(shown: Floats, lane: Lane, look: Look) -> list[float]:
    """From where to where an axis goes: what is shown with some room; speeds from 0."""
    known = shown[np.isfinite(shown)]
    low, high = (float(known.min()), float(known.max())) if len(known) else (0.0, 0.0)
    least = lane.least * unit_of(lane.kind, look.style).factor
    if lane.key == "speed":
        return [0.0, 1.08 * max(high, least)]
    half = 0.54 * max(high - low, least)
    return [(low + high) / 2 - half, (low + high) / 2 + half]
