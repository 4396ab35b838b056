"""Height along the road, every hill filled in and numbered. Pure."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.figures.look import Look, axis, base_layout, label_room
from ridelog.figures.reduce import Floats, reduce_window
from ridelog.lazy import dataclass
from ridelog.tell.kinds import ENERGY, HEIGHT, ROAD
from ridelog.tell.numbers import amount, unit_of
from ridelog.tell.ride import hill_mark


def profile_drawing(answer: Answer, look: Look) -> dict[str, Any] | None:
    """Height along the distance, every hill filled in, ochre ridden up and hatched blue-green down, and numbered.

    ``None`` where no height is known.
    """
    known = _timed_heights(answer)
    if known is None:
        return None
    road, height = unit_of(ROAD, look.style), unit_of(HEIGHT, look.style)
    time_s, distance_m, height_m = known
    seen = reduce_window(distance_m, height_m, start=distance_m[0], end=distance_m[-1], n_columns=500)
    profile = _Profile(seen.x, seen.y, road.factor, height.factor, float(height_m.min()), float(height_m.max()))
    areas, names = _hills(answer.hills, profile, float(distance_m[-1] - distance_m[0]), look)
    line = {
        "type": "scatter",
        "x": seen.x * road.factor,
        "y": seen.y * height.factor,
        "mode": "lines",
        "line": {"color": look.ink, "width": 1.6},
        "customdata": np.interp(seen.x, distance_m, time_s),
        "meta": {"way": True, "name": "height", "unit": height.symbol, "decimals": 0, "road": road.symbol},
        "hovertemplate": f"%{{x:.2f}} {road.symbol}<br><b>%{{y:.0f}} {height.symbol}</b><extra></extra>",
    }
    whole = [profile.floor_m * height.factor, profile.ceiling_m * height.factor]
    return {
        "data": [*_filled_down(profile, [(seen.x, seen.y)], look.ground_fill), *areas, line],
        "layout": {
            **base_layout(look, 220 if look.narrow else 270),
            "xaxis": axis(look, f"distance, {road.symbol}", showgrid=False, nticks=5 if look.narrow else 10),
            "yaxis": axis(look, f"height, {height.symbol}", range=whole, nticks=5),
            "hovermode": "x",
            "annotations": names,
        },
    }


def _hills(
    hills: Sequence[Hill], profile: "_Profile", length_m: float, look: Look
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The areas of hills, those ridden up and those down, and the names of those that have room for one."""
    roads = [_road_of(hill, profile) for hill in hills]
    areas: list[dict[str, Any]] = []
    for direction, color, shape in (("up", look.drawn_fill, ""), ("down", look.returned_fill, "\\")):
        own = [road for hill, road in zip(hills, roads, strict=True) if hill.direction == direction]
        areas += _filled_down(profile, own, color, shape)
    tops_m = [((x[0] + x[-1]) / 2, float(y.max())) for x, y in roads]
    ranks = label_room([x_m for x_m, _ in tops_m], length_m, look)
    names = [
        _name_of(hill, (at_m * profile.per_m_of_road, top_m * profile.per_m_of_height), look, n_pieces)
        for hill, (at_m, top_m), n_pieces in zip(hills, tops_m, ranks, strict=True)
        if n_pieces
    ]
    return areas, names


def heights_along(answer: Answer) -> tuple[Floats, Floats] | None:
    """Distances and heights where both are known [m]."""
    known = _timed_heights(answer)
    return None if known is None else known[1:]


def _timed_heights(answer: Answer) -> tuple[Floats, Floats, Floats] | None:
    """When [s], and as `heights_along` has it."""
    series = answer.series
    column = "smooth_altitude_m" if "smooth_altitude_m" in series else "altitude_m"
    if "distance_m" not in series or column not in series:
        return None
    known = (series["distance_m"].notna() & series[column].notna()).to_numpy()
    if known.sum() < 2:
        return None
    distance_m = np.maximum.accumulate(series["distance_m"].to_numpy(dtype=float)[known])
    heights_m = series[column].to_numpy(dtype=float)[known]
    return series["elapsed_s"].to_numpy(dtype=float)[known], distance_m, heights_m


@dataclass(frozen=True)
class _Profile:
    """The line of the road, what turns metres into the units shown, and how far the heights reach."""

    distance_m: Floats
    height_m: Floats
    per_m_of_road: float
    per_m_of_height: float
    lowest_m: float
    highest_m: float

    @property
    def floor_m(self) -> float:
        """The lower edge of the chart."""
        return self.lowest_m - 0.12 * max(self.highest_m - self.lowest_m, 10.0)

    @property
    def ceiling_m(self) -> float:
        """The upper edge of the chart, with room for names."""
        return self.highest_m + 0.24 * max(self.highest_m - self.lowest_m, 10.0)


def _filled_down(
    profile: _Profile, lines_m: Sequence[tuple[Floats, Floats]], color: str, shape: str = ""
) -> list[dict[str, Any]]:
    """The areas between lines and the floor of the chart, all in one trace: each trace takes the browser as long."""
    if not lines_m:
        return []
    floor_m = profile.floor_m
    x = [np.concatenate((x[:1], x, x[-1:], [np.nan])) for x, _ in lines_m]
    y = [np.concatenate(([floor_m], y, [floor_m, np.nan])) for _, y in lines_m]
    pattern = {"shape": shape, "fgcolor": color, "size": 7, "solidity": 0.35}
    return [
        {
            "type": "scatter",
            "x": np.concatenate(x)[:-1] * profile.per_m_of_road,
            "y": np.concatenate(y)[:-1] * profile.per_m_of_height,
            "mode": "lines",
            "line": {"width": 0},
            "fill": "toself",
            **({"fillpattern": pattern} if shape else {"fillcolor": color}),
            "hoverinfo": "skip",
        }
    ]


def _road_of(hill: Hill, profile: _Profile) -> tuple[Floats, Floats]:
    """Distances and heights along one hill [m]."""
    inside = (profile.distance_m > hill.start_m) & (profile.distance_m < hill.end_m)
    x = np.concatenate(([hill.start_m], profile.distance_m[inside], [hill.end_m]))
    return x, np.interp(x, profile.distance_m, profile.height_m)


def _name_of(hill: Hill, at: tuple[float, float], look: Look, n_pieces: int) -> dict[str, Any]:
    """A hill's number above it and, where there is room, what it drew or returned, as plotly lays a note."""
    up = hill.direction == "up"
    energy = hill.drawn_wh if up else hill.returned_wh
    text = hill_mark(hill)
    if n_pieces > 1 and energy is not None:
        verb = ("drew " if up else "returned ") if n_pieces > 2 else ""
        text += f"<br>{verb}<b>{amount(energy.value, ENERGY, look.style, digits=2)}</b>"
    font = {"color": look.drawn if up else look.returned, "size": 12}
    return {"x": at[0], "y": at[1], "yanchor": "bottom", "yshift": 3, "showarrow": False, "text": text, "font": font}
