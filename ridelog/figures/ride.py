"""The page's charts: an answer's records and series -> plotly figures. Pure; no Dash in here."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.arrays import time_gaps
from ridelog.figures.reduce import Floats, Mask, Reduced, fill_outline, reduce_window, split_at_zero, thin_path
from ridelog.web.text import clock, hill_label, number

FONT = "ui-sans-serif, system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', 'Liberation Sans', sans-serif"
TICK_STEPS_S = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400, 43200, 86400)


@dataclass(frozen=True)
class Look:
    """Colours and room of the page that a chart is drawn for.

    Ochre and blue-green keep apart for every common kind of colour vision, and on paper differ in lightness.
    """

    ink: str = "#23282c"
    soft: str = "#5d6063"
    line: str = "#d9d3c5"
    paper: str = "#fbf9f4"
    drawn: str = "#b5651d"
    returned: str = "#0a6c74"
    drawn_fill: str = "rgba(181,101,29,0.28)"
    returned_fill: str = "rgba(10,108,116,0.55)"
    ground_fill: str = "rgba(35,40,44,0.07)"
    narrow: bool = False


PAPER = Look()
NIGHT = Look(
    ink="#e9e5da",
    soft="#a9a79f",
    line="#363c40",
    paper="#1c2124",
    drawn="#e0a45c",
    returned="#58bfc2",
    drawn_fill="rgba(224,164,92,0.28)",
    returned_fill="rgba(88,191,194,0.50)",
    ground_fill="rgba(233,229,218,0.09)",
)


def _base(look: Look, height_px: int) -> go.Figure:
    side = 46 if look.narrow else 58
    return go.Figure(
        layout={
            "height": height_px,
            "margin": {"l": side, "r": 10 if look.narrow else 16, "t": 26, "b": 44},
            "paper_bgcolor": "rgba(0,0,0,0)",
            "plot_bgcolor": "rgba(0,0,0,0)",
            "font": {"family": FONT, "size": 12 if look.narrow else 13, "color": look.soft},
            "showlegend": False,
            "hovermode": "closest",
            "hoverlabel": {"bgcolor": look.paper, "bordercolor": look.soft, "font": {"color": look.ink}},
            "dragmode": False,
            "template": "none",
        }
    )


def _axis(look: Look, title: str, **more: object) -> dict[str, object]:
    return {
        "gridcolor": look.line,
        "zeroline": False,
        "linecolor": look.soft,
        "tickcolor": look.line,
        "ticks": "outside",
        "ticklen": 4,
        "fixedrange": True,
        "automargin": False,
        "title": {"text": title, "font": {"color": look.soft, "size": 12}, "standoff": 6},
        **more,
    }


def time_ticks(start_s: float, end_s: float, *, most: int = 8) -> tuple[list[float], list[str]]:
    """Round instants of a window and their elapsed time in words.

    Parameters
    ----------
    start_s, end_s : the window [s]
    most : how many ticks fit
    """
    width_s = max(end_s - start_s, 1e-6)
    step_s = next((step for step in TICK_STEPS_S if width_s / step <= most), 86400 * np.ceil(width_s / most / 86400))
    decimals = 1 if step_s < 1 else 0
    at = np.arange(np.ceil(start_s / step_s - 1e-9), np.floor(end_s / step_s + 1e-9) + 1) * step_s
    return at.tolist(), [clock(value, decimals=decimals) for value in at]


def electrical_line(series: pd.DataFrame) -> tuple[Floats, str, str] | None:
    """What the battery chart can show: power, or current where no voltage is known; values, unit, name."""
    for column, unit, name in (("power_w", "W", "battery power"), ("current_a", "A", "battery current")):
        if column in series and series[column].notna().any():
            return series[column].to_numpy(dtype=float), unit, name
    return None


def power_figure(
    answer: Answer, look: Look, *, start_s: float | None = None, end_s: float | None = None, n_columns: int = 1200
) -> go.Figure:
    """Battery power over a window of the ride, drawn above zero and returned below.

    Parameters
    ----------
    answer : its series needs ``elapsed_s`` and ``power_w`` (or ``current_a``)
    look : colours and room
    start_s, end_s : the window, the whole ride by default [s]
    n_columns : pixel columns that every extreme is kept for

    Raises
    ------
    ValueError : the series holds neither power nor current
    """
    line = electrical_line(answer.series)
    if line is None:
        raise ValueError("neither power nor current in the series")
    values, unit, name = line
    time_s = answer.series["elapsed_s"].to_numpy(dtype=float)
    low_s = float(time_s[0]) if start_s is None else start_s
    high_s = float(time_s[-1]) if end_s is None else end_s
    seen = reduce_window(time_s, values, start=low_s, end=high_s, n_columns=n_columns, gap_mask=time_gaps(time_s))
    figure = _base(look, 280 if look.narrow else 340)
    _add_sides(figure, seen, unit, look)
    ticks, words = time_ticks(low_s, high_s, most=4 if look.narrow else 9)
    span = seen.y[np.isfinite(seen.y)]
    top, bottom = (max(float(span.max()), 0.0), min(float(span.min()), 0.0)) if len(span) else (1.0, 0.0)
    room = 0.08 * max(top - bottom, 1e-3)
    figure.update_xaxes(
        **_axis(
            look,
            "time since the start, h:mm:ss",
            range=[low_s, high_s],
            tickvals=ticks,
            ticktext=words,
            showgrid=False,
            fixedrange=look.narrow,
        )
    )
    figure.update_yaxes(**_axis(look, f"{name}, {unit}", range=[bottom - room, top + room], nticks=8, tickformat=","))
    figure.add_hline(y=0, line={"color": look.ink, "width": 1})
    _mark_hills_in_time(figure, answer.hills, (low_s, high_s), look)
    figure.update_layout(dragmode=False if look.narrow else "zoom", meta={"n_samples": seen.n_samples})
    return figure


def _add_sides(figure: go.Figure, seen: Reduced, unit: str, look: Look) -> None:
    """The part drawn and the part returned, each with its own colour, fill and side of zero."""
    x, above, below = split_at_zero(seen.x, seen.y)
    for y, name, color, fill in (
        (above, "drawn", look.drawn, look.drawn_fill),
        (below, "returned", look.returned, look.returned_fill),
    ):
        outline_x, outline_y = fill_outline(x, y)
        figure.add_scatter(
            x=outline_x, y=outline_y, mode="lines", line={"width": 0}, fill="tozeroy", fillcolor=fill, hoverinfo="skip"
        )
        figure.add_scatter(
            x=x,
            y=y,
            name=name,
            mode="lines",
            line={"color": color, "width": 1.2},
            connectgaps=False,
            customdata=[clock(value, decimals=1) for value in x],
            hovertemplate=f"%{{customdata}}<br><b>%{{y:,.1f}} {unit}</b> {name}<extra></extra>",
        )
    if seen.lone_mask.any():
        alone = seen.y[seen.lone_mask]
        figure.add_scatter(
            x=seen.x[seen.lone_mask],
            y=alone,
            name="single samples",
            mode="markers",
            marker={"color": np.where(alone < 0, look.returned, look.drawn).tolist(), "size": 4},
            hovertemplate=f"%{{y:,.1f}} {unit}, a single sample between gaps<extra></extra>",
        )


def _mark_hills_in_time(figure: go.Figure, hills: tuple[Hill, ...], window_s: tuple[float, float], look: Look) -> None:
    """A thin rail along the top: when each hill was ridden, with its number where there is room."""
    spans = [(hill, max(hill.start_s, window_s[0]), min(hill.end_s, window_s[1])) for hill in hills]
    seen = [span for span in spans if span[2] > span[1]]
    room = label_room([(start_s + end_s) / 2 for _, start_s, end_s in seen], window_s[1] - window_s[0], look)
    for (hill, start_s, end_s), n_pieces in zip(seen, room, strict=True):
        color = look.drawn if hill.direction == "up" else look.returned
        figure.add_shape(
            type="line", x0=start_s, x1=end_s, y0=1.015, y1=1.015, yref="paper", line={"color": color, "width": 3}
        )
        if n_pieces:
            figure.add_annotation(
                x=(start_s + end_s) / 2,
                y=1.02,
                yref="paper",
                yanchor="bottom",
                text=hill_label(hill),
                showarrow=False,
                font={"color": color, "size": 12},
            )


def profile_figure(answer: Answer, look: Look) -> go.Figure | None:
    """Height along the distance with every hill filled in and numbered; ``None`` where no height is known."""
    series = answer.series
    column = "smooth_altitude_m" if "smooth_altitude_m" in series else "altitude_m"
    if "distance_m" not in series or column not in series:
        return None
    known = (series["distance_m"].notna() & series[column].notna()).to_numpy()
    if known.sum() < 2:
        return None
    distance_m = np.maximum.accumulate(series["distance_m"].to_numpy(dtype=float)[known])
    height_m = series[column].to_numpy(dtype=float)[known]
    seen = reduce_window(distance_m, height_m, start=distance_m[0], end=distance_m[-1], n_columns=500)
    low, high = float(height_m.min()), float(height_m.max())
    floor = low - 0.12 * max(high - low, 10.0)
    figure = _base(look, 220 if look.narrow else 270)
    _fill_down(figure, seen.x / 1000, seen.y, floor, look.ground_fill)
    tops_m = [_fill_hill(figure, hill, (seen.x, seen.y), floor, look) for hill in answer.hills]
    ranks = label_room([x_m for x_m, _ in tops_m], float(distance_m[-1] - distance_m[0]), look)
    for hill, at_m, n_pieces in zip(answer.hills, tops_m, ranks, strict=True):
        if n_pieces:
            _name_hill(figure, hill, at_m, look, n_pieces)
    figure.add_scatter(
        x=seen.x / 1000,
        y=seen.y,
        mode="lines",
        line={"color": look.ink, "width": 1.6},
        hovertemplate="%{x:.2f} km<br><b>%{y:.0f} m</b><extra></extra>",
    )
    top = high + 0.24 * max(high - low, 10.0)
    figure.update_xaxes(**_axis(look, "distance, km", showgrid=False, nticks=5 if look.narrow else 10))
    figure.update_yaxes(**_axis(look, "height, m", range=[floor, top], nticks=5))
    return figure


def label_room(centres: list[float], width: float, look: Look) -> list[int]:
    """How many pieces of a label fit without touching its neighbours: 0 none, 1 number, 2 energy too, 3 a verb too.

    Parameters
    ----------
    centres : where the labels would stand, in order
    width : of the chart, in the same unit
    """
    needed = (0.07, 0.17, 0.3) if look.narrow else (0.03, 0.055, 0.09)  # shares of the width, at the charts' font
    room: list[int] = []
    last = -np.inf
    for k, centre in enumerate(centres):
        after = centres[k + 1] - centre if k + 1 < len(centres) else np.inf
        if centre - last <= needed[0] * width:
            room.append(0)
            continue
        room.append(1 + sum(min(centre - last, after) > share * width for share in needed[1:]))
        last = centre
    return room


def _fill_down(figure: go.Figure, x: Floats, y: Floats, floor: float, color: str, shape: str = "") -> None:
    """The area between a line and the floor of the chart."""
    figure.add_scatter(
        x=np.concatenate((x[:1], x, x[-1:])),
        y=np.concatenate(([floor], y, [floor])),
        mode="lines",
        line={"width": 0},
        fill="toself",
        fillcolor=color if not shape else None,
        fillpattern={"shape": shape, "fgcolor": color, "size": 7, "solidity": 0.35} if shape else None,
        hoverinfo="skip",
    )


def _fill_hill(
    figure: go.Figure, hill: Hill, profile: tuple[Floats, Floats], floor: float, look: Look
) -> tuple[float, float]:
    """One hill under the profile, ochre ridden up, hatched blue-green ridden down; returns its middle and top [m]."""
    inside = (profile[0] > hill.start_m) & (profile[0] < hill.end_m)
    x = np.concatenate(([hill.start_m], profile[0][inside], [hill.end_m]))
    y = np.interp(x, *profile)
    up = hill.direction == "up"
    _fill_down(figure, x / 1000, y, floor, look.drawn_fill if up else look.returned_fill, "" if up else "\\")
    return (hill.start_m + hill.end_m) / 2, float(y.max())


def _name_hill(figure: go.Figure, hill: Hill, at_m: tuple[float, float], look: Look, n_pieces: int) -> None:
    """A hill's number above it and, where there is room, what it took or gave."""
    up = hill.direction == "up"
    energy = hill.drawn_wh if up else hill.returned_wh
    text = hill_label(hill)
    if n_pieces > 1 and energy is not None:
        verb = ("took " if up else "gave ") if n_pieces > 2 else ""
        text += f"<br>{verb}<b>{number(energy.value, 2)} Wh</b>"
    figure.add_annotation(
        x=at_m[0] / 1000,
        y=at_m[1],
        yanchor="bottom",
        yshift=3,
        showarrow=False,
        text=text,
        font={"color": look.drawn if up else look.returned, "size": 12},
    )


def track_figure(answer: Answer, look: Look) -> go.Figure | None:
    """The track from above in metres, equal aspect; returned charge as a thick line; ``None`` without positions."""
    series = answer.series
    if "east_m" not in series or not series["east_m"].notna().any():
        return None
    east, north = (series[name].to_numpy(dtype=float) for name in ("east_m", "north_m"))
    regen: Mask = (
        series["regen_mask"].to_numpy(dtype=bool) if "regen_mask" in series else np.zeros(len(series), dtype=bool)
    )
    switch = np.diff(regen, prepend=regen[:1]) | np.append(np.diff(regen), False)
    kept = thin_path(east, north, switch)
    x, y, on = east[kept], north[kept], regen[kept]
    figure = _base(look, 340 if look.narrow else 440)
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
        **_axis(look, "east of the start, m", showgrid=False, nticks=6, tickformat=",.0f", range=_padded(x))
    )
    figure.update_yaxes(
        **_axis(
            look, "north of the start, m", nticks=6, range=_padded(y), scaleanchor="x", scaleratio=1, tickformat=",.0f"
        )
    )
    figure.update_layout(separators=".\N{NARROW NO-BREAK SPACE}", margin={"l": 58 if look.narrow else 74})
    return figure


def _mark_ends(figure: go.Figure, x: Floats, y: Floats, look: Look) -> None:
    """Start and end of a track; one mark where they are the same place on the drawing."""
    known = np.flatnonzero(np.isfinite(x))
    first, last = int(known[0]), int(known[-1])
    extent_m = max(float(np.ptp(x[known])), float(np.ptp(y[known])))
    same = bool(np.hypot(x[first] - x[last], y[first] - y[last]) < 0.04 * extent_m)
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
    """A range with room around the known values [m]."""
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    room = max(0.06 * (high - low), 5.0)
    return [low - room, high + room]
