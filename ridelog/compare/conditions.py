"""What else was different between groups: speed, pauses, mass, air, charge, way.

A condition differs where Welch's t tells its means apart after Holm's correction over all conditions and pairs of
groups, and by as much as matters: a repeated route is so alike that a metre could be told.

References
----------
Welch, "The generalization of Student's problem when several different population variances are involved", Biometrika
34 (1947) 28. Holm, "A simple sequentially rejective multiple test procedure", Scand. J. Statist. 6 (1979) 65.
"""

import itertools
import math
from collections.abc import Collection, Mapping
from types import MappingProxyType

import numpy as np
import pandas as pd

from ridelog.answer.braking import EventKind
from ridelog.answer.provenance import BikeValue
from ridelog.answer.ride import Answer
from ridelog.arrays import Floats
from ridelog.compare.groups import Compared
from ridelog.compare.record import Condition, Spread
from ridelog.fleet.history.measured import numbers

LEVEL = 0.05  # of all comparisons of conditions together

# Condition -> the least difference that matters, and the same as a share of the mean. What moves use or capture by less
# than a hundredth, by the road load of a bicycle at 20 km/h (judgement).
LEAST: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "moving_speed_mps": (0.0, 0.01),
        "braking_speed_mps": (0.0, 0.01),
        "stopped_pct": (2.0, 0.0),
        "total_mass_kg": (1.0, 0.0),
        "air_temperature_c": (2.0, 0.0),
        "wind_mps": (0.1, 0.0),
        "start_charge_pct": (3.0, 0.0),
        "start_voltage_v": (0.0, 0.005),
        "distance_m": (0.0, 0.01),
        "ascent_m": (5.0, 0.02),
        "most_ridden_route_pct": (10.0, 0.0),
    }
)
BRAKED: tuple[EventKind, EventKind] = ("stop", "holding")
EXACT = frozenset({"total_mass_kg", "wind_mps"})  # entered, not measured: rides of one group may all have the same


def conditions_of(compared: Compared, routes: Mapping[str, int]) -> pd.DataFrame:
    """The conditions of each ride.

    Parameters
    ----------
    compared : the rides
    routes : by key of the ride

    Returns
    -------
    table : a row a ride in the same order, ``group``, the keys of `LEAST`, and besides ``way_speed_mps``, the root mean
        square of the speed over the way, ``stop_speed_mps`` and ``descent_speed_mps``, as braking began; NaN where not
        known, or only assumed
    """
    table = compared.table
    distance_m, moving_s, lasted_s = (
        numbers(table, name) for name in ("ride_distance_m", "ride_moving_s", "ride_duration_s")
    )
    bikes = [ride.answer.bike for ride in compared.rides]
    braked = [np.array([braking_speed_mps(ride.answer, kind) for ride in compared.rides]) for kind in BRAKED]
    ways = pd.Series([routes.get(ride.key, -1) for ride in compared.rides])
    known = ways[ways >= 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        found = {
            "moving_speed_mps": np.where(moving_s > 0, distance_m / moving_s, np.nan),
            "way_speed_mps": numbers(table, "way_speed_mps"),
            "braking_speed_mps": _alike(braked),
            "stop_speed_mps": braked[0],
            "descent_speed_mps": braked[1],
            "stopped_pct": np.where(lasted_s > 0, 100 * (1 - moving_s / lasted_s), np.nan),
            "total_mass_kg": _entered([bike.total_mass_kg for bike in bikes]),
            "air_temperature_c": numbers(table, "air_temperature_c"),
            "wind_mps": _entered([bike.road.get("wind_mps") for bike in bikes]),
            "start_charge_pct": numbers(table, "start_charge_pct"),
            "start_voltage_v": numbers(table, "start_voltage_v"),
            "distance_m": distance_m,
            "ascent_m": numbers(table, "ride_ascent_m"),
            "most_ridden_route_pct": np.where(ways < 0, np.nan, 100.0 * (ways == _most(known))),
        }
    return pd.DataFrame({"group": [ride.group for ride in compared.rides], **found})


def braking_speed_mps(answer: Answer, kind: EventKind) -> float:
    """Speed as braking of a kind began, the root mean square over its events; NaN where there are none [m/s]."""
    starts = [
        event.start_speed_mps
        for event in answer.braking.events
        if event.kind == kind and event.start_speed_mps is not None
    ]
    return math.sqrt(sum(mps**2 for mps in starts) / len(starts)) if starts else math.nan


def _alike(kinds: list[Floats]) -> Floats:
    """Speed as braking began, stops and descents counting alike; of kinds that every ride has: others would mix."""
    known = [each for each in kinds if np.isfinite(each).all()]
    if not known:
        return np.full(len(kinds[0]), np.nan)
    speeds: Floats = np.sqrt(np.mean(np.square(known), axis=0))
    return speeds


def _most(routes: pd.Series) -> int:
    return int(routes.mode().iloc[0]) if len(routes) else -1


def _entered(values: list[BikeValue] | list[BikeValue | None]) -> Floats:
    """Values that a bike file gives; NaN for what was assumed."""
    given = [
        float(used.value)
        if used is not None and used.source == "entered" and isinstance(used.value, (int, float))
        else np.nan
        for used in values
    ]
    return np.array(given, dtype=float)


def conditions(table: pd.DataFrame, groups: tuple[str, ...], corrected: Collection[str] = ()) -> tuple[Condition, ...]:
    """The conditions by group, and which of them differ.

    Parameters
    ----------
    table : of `conditions_of`
    groups : their names, in order
    corrected : conditions that a corrected figure takes away

    Returns
    -------
    conditions : those that are known of any ride
    """
    from statsmodels.stats.multitest import multipletests

    known = [name for name in LEAST if table[name].notna().any()]
    pairs = [(name, *pair) for name in known for pair in itertools.combinations(groups, 2)]
    samples = {
        (name, group): table.loc[table["group"] == group, name].dropna().to_numpy()
        for name in known
        for group in groups
    }
    chances = [_chance(name, samples[name, first], samples[name, second]) for name, first, second in pairs]
    told = multipletests(chances, LEVEL, method="holm")[0] if chances else []
    differing = {
        name
        for (name, first, second), apart in zip(pairs, told, strict=True)
        if apart and _matters(name, samples[name, first], samples[name, second])
    }
    return tuple(
        Condition(
            name,
            MappingProxyType({group: _spread(samples[name, group]) for group in groups if len(samples[name, group])}),
            name in differing,
            name in differing and name in corrected,
        )
        for name in known
    )


def _spread(values: Floats) -> Spread:
    if not np.ptp(values):  # of what was entered, rounding alone would differ
        return Spread(float(values[0]), 0.0 if len(values) > 1 else None)
    return Spread(float(values.mean()), float(values.std(ddof=1)))


def _chance(name: str, first: Floats, second: Floats) -> float:
    """How probable so large a difference of means is by chance; 1 where too few rides tell it."""
    from scipy import stats

    if not len(first) or not len(second):
        return 1.0
    if not np.ptp(first) and not np.ptp(second):
        alike = bool(np.isclose(first[0], second[0]))
        return 1.0 if alike or (name not in EXACT and min(len(first), len(second)) < 2) else 0.0
    if len(first) + len(second) < 3:
        return 1.0
    welch = min(len(first), len(second)) > 1  # one ride has no spread of its own: that of the others is taken for it
    both = [(one.mean(), one.std(ddof=1) if len(one) > 1 else 0.0, len(one)) for one in (first, second)]
    return float(stats.ttest_ind_from_stats(*both[0], *both[1], equal_var=not welch).pvalue)


def _matters(name: str, first: Floats, second: Floats) -> bool:
    least, share = LEAST[name]
    means = abs(float(first.mean())), abs(float(second.mean()))
    return abs(float(first.mean()) - float(second.mean())) >= max(least, share * max(means))
