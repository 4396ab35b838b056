"""A comparison, put together from what its rides give: figures of groups, differences, precision, what limits it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from types import MappingProxyType

import numpy as np

from ridelog.answer.provenance import Setting, Settings
from ridelog.compare.conditions import LEAST, conditions_of
from ridelog.compare.conditions import conditions as told_conditions
from ridelog.compare.correction import restated
from ridelog.compare.differences import Asked, differences
from ridelog.compare.flows import flows_of
from ridelog.compare.groups import Compared, ComparedRide
from ridelog.compare.hills import hill_figures
from ridelog.compare.observations import Observations, observations_of, ways_of
from ridelog.compare.record import QUANTITIES, Comparison, Condition, Difference, GroupFigure, Loggers, RideRow
from ridelog.compare.road_load import DRIVEN_SHARE, LEAST_EFFICIENCY, LEAST_GENERATING, MOST_EFFICIENCY
from ridelog.compare.settings import DEFAULTS, CompareSettings
from ridelog.compare.settings import told as told_settings
from ridelog.compare.statistics.agreement import agreement
from ridelog.compare.statistics.combined import Combined
from ridelog.compare.statistics.estimate import Estimate, Rows
from ridelog.compare.statistics.precision import Precision, precision
from ridelog.findings import Fact, Finding, gravest_first
from ridelog.fleet.history.figure import BOUNDS, Errors, mean_of_rides, within
from ridelog.uncertain.quantity import Quantity


def comparison_of(rides: Compared, settings: CompareSettings = DEFAULTS) -> Comparison:
    """What rides under different set-ups tell, from their answers alone, as ridden and at common conditions."""
    ways = ways_of(rides)
    observed, table = observations_of(rides, ways), conditions_of(rides, ways.routes)
    differing = [each.quantity for each in told_conditions(table, rides.groups) if each.differs]
    told = restated(rides, observed, table, differing)
    result = comparison(
        rides,
        observed,
        corrected=() if told is None else told.observations,
        conditions=told_conditions(table, rides.groups, () if told is None else told.common),
        findings=[
            *_bikes_by_folder(rides),
            *_not_told_apart(rides),
            *(() if told is None else _as_ridden(rides, told.as_ridden)),
        ],
        settings=settings,
    )
    return replace(result, hills=hill_figures(observed, ways.places, rides.passes), flows=flows_of(rides))


def _as_ridden(rides: Compared, keys: Sequence[str]) -> Iterator[Finding]:
    """Rides that the corrected figures hold as they were ridden."""
    names = tuple(ride.name for ride in rides.rides if ride.key in keys)
    if names:
        yield Finding("rides-not-corrected", "note", {"n_rides": len(names), "rides": names})


def _bikes_by_folder(rides: Compared) -> Iterator[Finding]:
    """Bikes that no bike file names: folders tell them apart, and it may have been one."""
    bikes = tuple(dict.fromkeys(ride.bike for ride in rides.rides))
    entered = any(
        ride.answer.bike.name is not None
        or any(used.source == "entered" for used in ride.answer.bike.values().values())
        for ride in rides.rides
    )
    if len(bikes) > 1 and not entered:
        yield Finding("bikes-by-folder", "warning", {"bikes": bikes})


def _not_told_apart(rides: Compared) -> Iterator[Finding]:
    """Rides whose answers were kept before they said which of their errors other rides share."""
    names = tuple(
        ride.name
        for ride in rides.rides
        if not ride.answer.shared_errors.ride and ride.answer.charge.recovered_pct is not None
    )
    if names:
        yield Finding("shared-errors-unknown", "warning", {"n_rides": len(names), "rides": names})


def comparison(
    rides: Compared,
    observed: Sequence[Observations],
    *,
    corrected: Sequence[Observations] = (),
    conditions: Sequence[Condition] = (),
    findings: Iterable[Finding] = (),
    settings: CompareSettings = DEFAULTS,
) -> Comparison:
    """What rides under different set-ups tell.

    Parameters
    ----------
    rides : of the groups
    observed : their quantities, of whole rides and of hills
    corrected : the same, each ride restated at conditions that the groups have in common
    conditions : what else was so or otherwise
    findings : of what was observed
    settings : thresholds

    Returns
    -------
    comparison : figures, differences with verdicts, precision, findings
    """
    asked = differences(observed, rides.groups, settings)
    restated = differences(corrected, rides.groups, settings)
    own = [*findings, *_limits(asked, observed, rides), *_of_conditions(conditions), *_of_dangers(rides.rides)]
    return Comparison(
        groups=tuple(_group(name, rides, observed) for name in rides.groups),
        differences=(
            *(one.told for one in asked), *(replace(one.told, corrected=True) for one in restated),
        ),
        conditions=tuple(conditions),
        rides=tuple(_row(ride, observed) for ride in rides.rides),
        findings=gravest_first(own),
        loggers=tuple(_loggers(rides, observed, settings)),
        failed=rides.failed,
        settings=_settings(settings),
    )  # fmt: skip


def _settings(settings: CompareSettings) -> Settings:
    """Every threshold of a comparison by its question; a share of the mean is called a ratio."""
    least: dict[str, Setting] = {name: value for name, (value, _) in LEAST.items() if value}
    least |= {f"{name}_ratio": ratio for name, (_, ratio) in LEAST.items() if ratio}
    of_road = {
        "driven_share": DRIVEN_SHARE, "least_efficiency": LEAST_EFFICIENCY, "least_generating": LEAST_GENERATING,
        "most_efficiency": MOST_EFFICIENCY,
    }  # fmt: skip
    return MappingProxyType({
        "comparison": told_settings(settings),
        "conditions": MappingProxyType(least),
        "correction": MappingProxyType(dict(of_road)),
    })  # fmt: skip


def _row(ride: ComparedRide, observed: Sequence[Observations]) -> RideRow:
    """A ride as it was measured; what counts as 0 although its log does not show it is told as 0, with its bound."""
    answer = ride.answer
    told: dict[str, Quantity | None] = {
        "recovered_pct": answer.energy.recovered_pct or answer.charge.recovered_pct,
        "captured_pct": answer.braking.captured_pct,
        "net_wh_per_km": answer.energy.net_wh_per_km,
    }
    for each in observed:
        if told.get(each.quantity) is None:
            told[each.quantity] = group_mean(each, np.flatnonzero((each.hill == "") & (each.ride == ride.key)))
    return RideRow(ride.group, ride.name, ride.start, ride.key, ride.bike, ride.logger, **told)


def _whole(observed: Sequence[Observations], quantity: str, group: str) -> tuple[Observations, Rows] | None:
    """The whole rides of a group that tell a quantity."""
    for each in observed:
        if each.quantity == quantity and (each.hill == "").any():
            return each, np.flatnonzero((each.hill == "") & (each.group == group) & np.isfinite(each.value))
    return None


def _group(name: str, rides: Compared, observed: Sequence[Observations]) -> GroupFigure:
    own = [ride for ride in rides.rides if ride.group == name]
    logger = {ride.key: ride.logger for ride in own}
    told: dict[str, Quantity | None] = {}
    precise: dict[str, Precision | None] = {}
    for quantity in QUANTITIES:
        found = _whole(observed, quantity, name)
        told[quantity] = None if found is None else group_mean(*found)
        if found is not None and len(found[1]):
            each, rows = found
            labs = np.array([logger.get(ride, "") for ride in each.ride[rows]], dtype=object)
            if not np.any(each.value[rows]):  # rides that show no return have no spread to tell
                continue
            precise[quantity] = precision(each.value[rows], each.route[rows].astype(object), labs)
    return GroupFigure(name, len(own), **told, precision=precise)


def group_mean(observed: Observations, rows: Rows) -> Quantity | None:
    """The mean over rides of a group, as a bike's own figure is taken.

    Parameters
    ----------
    observed : one quantity
    rows : of the group

    Returns
    -------
    mean : with its 95 % interval; of one ride what was measured; ``None`` of none
    """
    if not len(rows):
        return None
    value, own_u = observed.value[rows], np.nan_to_num(observed.own_u[rows])
    shared = tuple(np.nan_to_num(each[rows]) for each in observed.shared.values())
    if len(rows) > 1:
        mean = mean_of_rides(value, Errors(own_u, rectangular=shared))[0]
    else:
        single = Estimate(float(value[0]), np.ones(1), float(own_u[0]), np.inf)
        mean = Quantity(single.value, *Combined.of(single, [float(each[0]) for each in shared]).interval())
    return within(mean, *BOUNDS.get(observed.quantity, (-np.inf, np.inf)))


def _loggers(rides: Compared, observed: Sequence[Observations], settings: CompareSettings) -> Iterator[Loggers]:
    """Limits of agreement of every two groups whose rides are the same, logged twice."""
    of = {ride.key: ride for ride in rides.rides}
    for first, second in combinations(rides.groups, 2):
        for quantity in QUANTITIES:
            one, other = (_whole(observed, quantity, name) for name in (first, second))
            if one is None or other is None:
                continue
            (each, rows), (_, others) = one, other
            both = [
                (a, b) for a in rows for b in others if _same_ride(of, str(each.ride[a]), str(each.ride[b]), settings)
            ]
            if len(both) >= settings.fewest_pairs:
                a, b = (each.value[list(side)] for side in zip(*both, strict=True))
                yield Loggers(quantity, first, second, agreement(a, b))


def _same_ride(of: Mapping[str, ComparedRide], first: str, second: str, settings: CompareSettings) -> bool:
    """Whether two loggers on one bike logged the same ride."""
    one, other = of.get(first), of.get(second)
    if one is None or other is None or one.start is None or other.start is None:
        return False
    apart_s = abs((one.start - other.start).total_seconds())
    return one.bike == other.bike and one.logger != other.logger and apart_s <= settings.same_ride_s


def _limits(asked: Sequence[Asked], observed: Sequence[Observations], rides: Compared) -> Iterator[Finding]:
    """What keeps differences from being told, or makes less of them."""
    of = {name: {(ride.logger, ride.bike) for ride in rides.rides if ride.group == name} for name in rides.groups}
    yield from _few_rides([one.told for one in asked if one.told.paired_by != "hill"])
    for one in asked:
        told = one.told
        names: dict[str, Fact] = {"first": told.first, "second": told.second}
        if not one.converged:
            yield Finding("ride-model-failed", "note", names)
        if told.paired_by == "hill":
            continue
        if told.paired_by == "none" and one.both is not None and _other_routes(observed, told.first, told.second):
            yield Finding("routes-differ", "warning", names)
        if one.both is not None and one.both.shared_u > max(one.both.se, 1e-12):
            alike = of[told.first] == of[told.second]
            yield Finding(
                "errors-not-shared", "note" if alike else "warning",
                {**names, "quantity": told.quantity, "shared_u": one.both.shared_u, "causes": _causes(one, observed),
                 "same_loggers_and_bikes": alike},
            )  # fmt: skip


def _few_rides(told: Sequence[Difference]) -> Iterator[Finding]:
    """Groups without a ride that tells a quantity, with a single one, or with rides outside all pairs: each once."""
    lacking: dict[tuple[str, int], dict[str, None]] = {}
    for one in told:
        for group, n in ((one.first, one.first_rides), (one.second, one.second_rides)):
            if n < 2:
                lacking.setdefault((group, n), {})[one.quantity] = None
    for (group, n), quantities in lacking.items():
        code = "one-ride-in-group" if n else "quantity-unknown-in-group"
        yield Finding(code, "warning", {"group": group, "quantities": tuple(quantities)})
    left = {(one.first, one.second, one.left_over): None for one in told if one.paired_by == "route" and one.left_over}
    for first, second, n_rides in left:
        yield Finding("rides-without-partner", "note", {"first": first, "second": second, "n_rides": n_rides})


def _other_routes(observed: Sequence[Observations], first: str, second: str) -> bool:
    """Whether two groups were ridden on known routes, and not all on one."""
    routes = {
        int(route)
        for each in observed
        for route in each.route[(each.hill == "") & np.isin(each.group, [first, second])]
    }
    return len(routes) > 1


def _causes(one: Asked, observed: Sequence[Observations]) -> tuple[str, ...]:
    """What does not cancel, largest first, down to a tenth of the largest."""
    of = next(each for each in observed if each.quantity == one.told.quantity and (each.hill == "").any())
    sides = [np.isfinite(of.value) & (of.group == name) for name in (one.told.first, one.told.second)]
    effects: dict[str, float] = {}
    for (cause, _), each in of.shared.items():
        effect = float(np.nanmean(each[sides[1]]) - np.nanmean(each[sides[0]]))
        effects[cause] = float(np.hypot(effects.get(cause, 0.0), effect))
    largest = max(effects.values(), default=0.0)
    told = [cause for cause, effect in effects.items() if effect >= 0.1 * largest]
    return tuple(sorted(told, key=lambda cause: -effects[cause]))


def _of_conditions(conditions: Sequence[Condition]) -> Iterator[Finding]:
    differing = [each for each in conditions if each.differs]
    if differing:
        corrected = tuple(each.quantity for each in differing if each.corrected)
        told = tuple(each.quantity for each in differing)
        yield Finding("conditions-differ", "warning", {"conditions": told, "corrected": corrected})


def _of_dangers(rides: Sequence[ComparedRide]) -> Iterator[Finding]:
    codes = {
        ride.key: {finding.code for finding in ride.answer.findings if finding.severity == "danger"} for ride in rides
    }
    grave = tuple(ride.name for ride in rides if codes[ride.key])
    if grave:
        all_codes = tuple(sorted(set().union(*codes.values())))
        yield Finding("rides-with-dangers", "danger", {"n_rides": len(grave), "rides": grave, "codes": all_codes})
