"""What does a bike recover on a road one way, and what the other way?

The mean over days hides it: down to the school in the morning, up again in the afternoon. Rides are put into routes
(`routes.same_routes`), a route beside its way back (`routes.both_ways`), and each way has the bike's own figure of its
rides alone (`figure.own_figure`).
"""

from typing import Literal

import numpy as np
import pandas as pd

from ridelog.fleet.history.figure import own_figure
from ridelog.fleet.history.measured import Floats, in_order, numbers
from ridelog.fleet.history.one_way import OneWay
from ridelog.fleet.history.returned import with_nothing
from ridelog.fleet.history.routes import both_ways, same_routes
from ridelog.fleet.history.settings import DEFAULTS, HistorySettings


def by_direction(rides: pd.DataFrame, passes: pd.DataFrame, settings: HistorySettings = DEFAULTS) -> tuple[OneWay, ...]:
    """A bike's own figure on each road that it rode both ways.

    Parameters
    ----------
    rides : frame of answers of one bike
    passes : of its hills, with ``place``
    settings : thresholds

    Returns
    -------
    ways : two a road, there and back; none of roads without hills, nor where either way has too few rides to tell
    """
    ordered = with_nothing(in_order(rides))
    routes = same_routes(ordered, passes)
    found: list[OneWay] = []
    for pair in both_ways(ordered, passes, routes):
        there, back = (ordered[(routes == route).to_numpy()] for route in pair)
        if min(len(there), len(back)) >= settings.fewest_rides:
            road = len(found) // 2 + 1
            found += [_one_way(road, "there", there, settings), _one_way(road, "back", back, settings)]
    return tuple(found)


def _one_way(road: int, way: Literal["there", "back"], rides: pd.DataFrame, settings: HistorySettings) -> OneWay:
    recovered, captured = (own_figure(rides, quantity, settings) for quantity in ("recovered_pct", "captured_pct"))
    start = rides["ride_start"].iloc[0]
    first = None if pd.isna(start) else start.floor("us").to_pydatetime()
    return OneWay(
        road, way, str(rides["name"].iloc[0]), first, len(rides),
        _median(numbers(rides, "ride_ascent_m")), _median(numbers(rides, "ride_descent_m")),
        None if recovered is None else recovered.mean, None if captured is None else captured.mean,
    )  # fmt: skip


def _median(values: Floats) -> float | None:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if len(known) else None
