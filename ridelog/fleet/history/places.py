"""Which passes, on many rides and bikes, are of the same hill?

A pass is compared with the earliest pass of each hill nearby (`ways`); the first that it runs along with is its hill.
Every line is taken in the direction that climbs, so that a road ridden up and ridden down has one name and two
identifiers, which end in "up" and "down": they are never taken for one another. The identifier is made of the earliest
pass alone, and passes are taken as they were ridden, so the order of the rows moves nothing.

What a hill gives is the mean over bikes where three or more rode it, else over rides (`figure.mean_of_rides`); several
passes on one ride count as one. Of a descent, what was recovered is what it returned over what the same bike drew
going up there on average.
"""

import hashlib
from collections.abc import Sequence

import numpy as np
import pandas as pd

from ridelog.fleet.history.figure import Errors, mean_of_rides, within
from ridelog.fleet.history.measured import Floats, measured, numbers
from ridelog.fleet.history.ways import SAME_ROAD, Agreement, length_m, plane, resampled, same_way
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

_DEGREE_M = 111_000.0  # a degree of latitude, roughly: for the look for neighbours alone
_DIGITS = 8  # of an identifier; two of 5,000 hills share one in 1 of 340 sets


FEWEST = 3  # bikes, or rides, that have a spread


@dataclass(frozen=True)
class BikeOnHill:
    """One bike on a hill; ``captured_pct`` is ``None`` under three rides."""

    bike: str
    passes: int
    rides: int
    captured_pct: Quantity | None


@dataclass(frozen=True)
class HillFigure:
    """A hill over all rides, in one direction.

    ``number`` : of the road, both ways, in the order in which roads were first ridden · ``length_m``, ``height_m`` :
    median over passes · ``recovered_pct`` : of a descent, over what its ascent drew · ``captured_pct`` : of a
    descent · ``bikes`` : one by one
    """

    id: str
    name: str
    number: int
    direction: str
    passes: int
    rides: int
    length_m: float
    height_m: float
    recovered_pct: Quantity | None
    captured_pct: Quantity | None
    bikes: tuple[BikeOnHill, ...]


@dataclass(frozen=True)
class _Pass:
    """One pass as compared: where it is in the frame, its line in degrees in the climbing direction."""

    row: int
    name: str
    direction: str
    line: Floats  # latitude and longitude [°], shape (n, 2)


def same_hills(hills: pd.DataFrame, agreement: Agreement = SAME_ROAD) -> pd.Series:
    """The hill that each pass is of.

    Parameters
    ----------
    hills : one row a pass: ``key``, ``id``, ``direction``, ``ride_start``, ``start_s``, and the way as lists of
        floats in ``line_latitude_deg`` and ``line_longitude_deg``
    agreement : when two passes run along one road

    Returns
    -------
    place : identifier such as "3f2a91c0-down", by the frame's index; ``None`` without positions
    """
    places: list[str | None] = [None] * len(hills)
    passes = _passes(hills)
    roads = _roads([each.line for each in passes], agreement)
    for each, road in zip(passes, roads, strict=True):
        places[each.row] = f"{passes[road].name}-{each.direction}"
    return pd.Series(places, index=hills.index, dtype=object, name="place")


def _passes(hills: pd.DataFrame) -> list[_Pass]:
    """Passes with positions, earliest first."""
    if not {"line_latitude_deg", "line_longitude_deg"} <= set(hills.columns):
        return []
    order = hills.reset_index(drop=True).sort_values(["ride_start", "key", "start_s", "id"], na_position="last")
    passes = []
    for row, latitude, longitude, key, name, direction in zip(
        order.index, order["line_latitude_deg"], order["line_longitude_deg"], order["key"], order["id"],
        order["direction"], strict=True,
    ):  # fmt: skip
        if not _is_line(latitude) or not _is_line(longitude) or len(latitude) != len(longitude):
            continue
        line = np.column_stack([np.asarray(latitude, dtype=float), np.asarray(longitude, dtype=float)])
        line = line[np.isfinite(line).all(axis=1)]
        if len(line) < 2 or not np.ptp(line, axis=0).any():
            continue
        told = hashlib.sha256(f"{key}\0{name}".encode()).hexdigest()[:_DIGITS]
        passes.append(_Pass(int(row), told, str(direction), line[::-1] if direction == "down" else line))
    return passes


def _is_line(value: object) -> bool:
    return isinstance(value, Sequence | np.ndarray) and not isinstance(value, str) and len(value) > 1


def _roads(lines: list[Floats], agreement: Agreement) -> list[int]:
    """Of each line, the index of the earliest that it runs along with (its own, where it is the first there)."""
    if not lines:
        return []
    import shapely

    middles = np.array([line[len(line) // 2] for line in lines])
    tree = shapely.STRtree(shapely.points(middles[:, 1], middles[:, 0]))
    roads = np.full(len(lines), -1)
    for first, line in enumerate(lines):
        if roads[first] >= 0:
            continue
        roads[first] = first
        origin = (float(line[0, 0]), float(line[0, 1]))
        own = resampled(plane(line[:, 0], line[:, 1], origin))
        near = tree.query(_around(line, length_m(own), agreement))
        for other in near[(near > first) & (roads[near] < 0)]:
            other_line = resampled(plane(lines[other][:, 0], lines[other][:, 1], origin))
            if same_way(own, other_line, agreement):
                roads[other] = first
    return [int(road) for road in roads]


def _around(line: Floats, way_m: float, agreement: Agreement) -> object:
    """A box in which the middle of any line lies that runs along with this one."""
    import shapely

    reach_m = agreement.apart_m + way_m * (1 / agreement.common - 1)
    reach_deg = reach_m / _DEGREE_M
    (south, west), (north, east) = line.min(axis=0), line.max(axis=0)
    wide_deg = reach_deg / max(float(np.cos(np.radians(max(abs(south), abs(north))))), 0.01)
    return shapely.box(west - wide_deg, south - reach_deg, east + wide_deg, north + reach_deg)


def hill_figures(hills: pd.DataFrame, places: pd.Series | None = None) -> tuple[HillFigure, ...]:
    """What each hill gives over all rides.

    Parameters
    ----------
    hills : one row a pass
    places : the hill of each pass by `same_hills`; made where ``None``

    Returns
    -------
    figures : in the order in which hills were first ridden
    """
    if not len(hills):
        return ()
    told = hills.assign(place=same_hills(hills) if places is None else places).dropna(subset=["place"])
    told = told.sort_values(["ride_start", "key", "start_s", "id"], na_position="last")
    told["road"] = told["place"].str.rpartition("-")[0]
    numbers_of = {road: number for number, road in enumerate(told["road"].drop_duplicates(), start=1)}
    drawn_up = told[told["direction"] == "up"].assign(drawn=lambda rows: numbers(rows, "drawn_wh"))
    ascents = drawn_up.groupby(["road", "bike"])["drawn"].agg(["mean", "std", "count"])
    return tuple(
        _hill_figure(str(place), numbers_of[rows["road"].iloc[0]], rows, ascents)
        for place, rows in told.groupby("place", sort=False)
    )


def _hill_figure(place: str, number: int, rows: pd.DataFrame, ascents: pd.DataFrame) -> HillFigure:
    direction = str(rows["direction"].iloc[0])
    captured = measured(rows, "captured_pct" if direction == "down" else "")  # going up, what is braked is chance
    shares = rows.assign(value=captured.value, u_low=captured.u_low, u_high=captured.u_high)
    recovered = _recovered(rows, ascents) if direction == "down" else shares.iloc[:0]
    return HillFigure(
        place, f"Hill {number}, {direction}", number, direction, len(rows), rows["key"].nunique(),
        float(np.nanmedian(numbers(rows, "length_m"))), float(np.nanmedian(numbers(rows, "height_m"))),
        _together(recovered, highest=np.inf), _together(shares),
        tuple(
            BikeOnHill(str(bike), len(own), own["key"].nunique(), _over_rides(own))
            for bike, own in shares.groupby("bike", sort=True)
        ),
    )  # fmt: skip


def _recovered(rows: pd.DataFrame, ascents: pd.DataFrame) -> pd.DataFrame:
    """Returned going down over what the bike drew going up on average, with the uncertainty of both."""
    up = ascents.reindex(pd.MultiIndex.from_frame(rows[["road", "bike"]]))
    drawn, n = up["mean"].to_numpy(), up["count"].to_numpy()
    returned = measured(rows, "returned_wh")
    value = 100 * returned.value / np.where(drawn > 0, drawn, np.nan)
    of_ascent = np.nan_to_num(up["std"].to_numpy() / np.sqrt(np.maximum(n, 1)) / drawn)
    sides = {
        name: np.hypot(100 * u / drawn, value * of_ascent)
        for name, u in (("u_low", returned.u_low), ("u_high", returned.u_high))
    }
    return rows.assign(value=value, **sides)


def _by(rows: pd.DataFrame, column: str) -> pd.DataFrame:
    return rows[["value", "u_low", "u_high"]].groupby(rows[column]).mean()


def _over_rides(passes: pd.DataFrame, highest: float = 100.0) -> Quantity | None:
    """The mean over rides; every measurement error counts as shared."""
    rides = _by(passes.dropna(subset=["value"]), "key")
    if len(rides) < FEWEST:
        return None
    low, high = rides["u_low"].to_numpy(), rides["u_high"].to_numpy()
    mean = mean_of_rides(rides["value"].to_numpy(), Errors(np.zeros(len(rides)), low=low, high=high))[0]
    return within(mean, 0.0, highest)


def _together(passes: pd.DataFrame, highest: float = 100.0) -> Quantity | None:
    """The mean over bikes, or over rides where there are fewer than three."""
    known = passes.dropna(subset=["value"]) if len(passes) else passes
    if known["bike"].nunique() < FEWEST:
        return _over_rides(known, highest) if len(known) else None
    bikes = _by(known, "bike")["value"].to_numpy()
    return within(mean_of_rides(bikes, Errors(np.zeros(len(bikes))))[0], 0.0, highest)
