"""Rides restated at the speed, mass and air that the groups have in common.

Each ride is taken there by the road load (`ridelog.compare.road_load`). What no log tells of it lies between two ends,
and the middle of them is taken; half of what lies between is the half-width of a rectangular error (JCGM 100:2008,
4.3.7) that all rides have alike, one for each. That holds for legs too, although a motor either follows them or not: a
rider in a hurry asks more of a motor that follows, and pushes harder beside one that does not, by as much as nobody
knows, so that all between the ends may be. What the correction owes to the drag area is an error of the bike.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from ridelog.arrays import Floats
from ridelog.compare.groups import Compared
from ridelog.compare.observations import Observations
from ridelog.compare.road_load import ENDS, Factors, Parts, Shares, changed, parts_of, with_more_air
from ridelog.lazy import dataclass

SPEEDS = ("moving_speed_mps", "braking_speed_mps")  # taken away together: who hurries does so in both
CORRECTED = (*SPEEDS, "total_mass_kg", "air_temperature_c")  # what the road load can take away
DRAG_AREA = "drag area"
EVERY_RIDE = "every ride"
ZERO_C = 273.15
U_OF_HALF_WIDTH = 1 / math.sqrt(3)
OVER_THE_WAY = "way_speed_mps"  # by which the moving speed is corrected: air goes with its square
OF_STOPS, OF_DESCENTS = "stop_speed_mps", "descent_speed_mps"  # as braking began


@dataclass(frozen=True, eq=False)
class Restated:
    """Observations at common conditions.

    ``observations`` : of whole rides, as given · ``common`` : the condition, and its value for all rides ·
    ``as_ridden`` : keys of the rides whose ledgers do not tell the parts, which stay as they were
    """

    observations: tuple[Observations, ...]
    common: Mapping[str, float]
    as_ridden: tuple[str, ...]


def restated(
    compared: Compared, observations: Sequence[Observations], table: pd.DataFrame, names: Collection[str]
) -> Restated | None:
    """Observations of whole rides as they would be at the speed, mass and air that the groups have in common.

    Parameters
    ----------
    compared : the rides
    observations : of them; those on hills are left out
    table : the conditions of each ride, see `conditions.conditions_of`
    names : conditions to take away, of `CORRECTED`; one that is not known of every ride is left as it was

    Returns
    -------
    restated : ``None`` where there is nothing to take away, or no ride whose parts are known
    """
    common = _common(table, names)
    parts = {ride.key: parts_of(ride.answer) for ride in compared.rides}
    if not common or not any(parts.values()):
        return None
    factors = {
        ride.key: _factors({str(name): value for name, value in row.items()}, common)
        for ride, row in zip(compared.rides, table.to_dict(orient="records"), strict=True)
    }
    taken = {key: _taken(one, factors[key]) for key, one in parts.items() if one is not None}
    bikes = {ride.key: ride.bike for ride in compared.rides}
    whole = [one for one in observations if not any(one.hill)]
    told = tuple(_of_quantity(one, taken, bikes) for one in whole)
    return Restated(told, common, tuple(key for key, each in parts.items() if each is None))


def _common(table: pd.DataFrame, names: Collection[str]) -> dict[str, float]:
    """Each condition to take away, and its value for all rides: the mean of the groups' means, for groups count alike.

    Where a speed is taken away that of every kind is, as far as it is known.
    """
    known = {name for name in ("total_mass_kg", "air_temperature_c") if name in names and table[name].notna().all()}
    if table[OVER_THE_WAY].notna().all() and not set(SPEEDS).isdisjoint(names):
        of_groups = table.groupby("group")[[OF_STOPS, OF_DESCENTS]].mean().notna().all()
        known |= {OVER_THE_WAY, *of_groups.index[of_groups]}
    means = {name: float(table.groupby("group")[name].mean().mean()) for name in sorted(known)}
    return means | (dict.fromkeys(SPEEDS, means[OVER_THE_WAY]) if OVER_THE_WAY in means else {})


def _factors(own: Mapping[str, Any], common: Mapping[str, float]) -> Factors:
    def ratio(name: str, usual: float = 1.0) -> float:
        return common[name] / own[name] if name in common and own[name] > 0 else usual  # NaN is not

    density = 1.0
    if "air_temperature_c" in common:  # as of a gas at the same pressure
        density = (own["air_temperature_c"] + ZERO_C) / (common["air_temperature_c"] + ZERO_C)
    speed = ratio(OVER_THE_WAY)
    return Factors(speed, ratio(OF_STOPS, speed), ratio(OF_DESCENTS, speed), ratio("total_mass_kg"), density)


@dataclass(frozen=True)
class _Taken:
    """By what factors a ride's quantities change; if air takes more; and at both ends of each thing not known."""

    middle: Shares
    more_air: Shares
    ends: Mapping[str, tuple[Shares, Shares]]


def _taken(parts: Parts, factors: Factors) -> _Taken:
    ends = {cause: (changed(parts, factors, low), changed(parts, factors, high)) for cause, (low, high) in ENDS.items()}
    return _Taken(changed(parts, factors), changed(with_more_air(parts), factors), ends)


def _of_quantity(observed: Observations, taken: Mapping[str, _Taken], bikes: Mapping[str, str]) -> Observations:
    """One quantity at common conditions, with what the correction adds to its uncertainty."""
    n, name = len(observed.value), observed.quantity
    ratio, by_air = np.ones(n), np.zeros(n)
    by_model: dict[str, Floats] = {cause: np.zeros(n) for cause in ENDS}
    for at, key in enumerate(observed.ride):
        if key not in taken:
            continue
        one = taken[key]
        ratio[at] = getattr(one.middle, name)
        by_air[at] = getattr(one.more_air, name) - ratio[at]
        for cause, (low, high) in one.ends.items():
            by_model[cause][at] = (getattr(high, name) - getattr(low, name)) / 2 * U_OF_HALF_WIDTH
    shared = {cause: effect * ratio for cause, effect in observed.shared.items()}
    shared |= {(cause, EVERY_RIDE): observed.value * each for cause, each in by_model.items()}
    for bike in dict.fromkeys(bikes[key] for key in observed.ride):
        own = np.array([bikes[key] == bike for key in observed.ride])
        more = np.where(own, observed.value * by_air, 0.0)
        shared[DRAG_AREA, bike] = shared.get((DRAG_AREA, bike), np.zeros(n)) + more
    return replace(observed, value=observed.value * ratio, own_u=observed.own_u * ratio, shared=shared)
