"""What differs between groups of rides, and does it more than chance and measurement explain?

Rides are paired by route where enough of them have a partner; hills that both groups rode are compared hill by hill in
a mixed model, since hills of one ride belong together. What two groups share, such as one logger's zero, cancels in the
difference as far as it moves both alike; the rest does not shrink with the number of rides and is added to what chance
does. Verdicts follow from intervals, corrected for how many differences are looked at (Holm).
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Literal

import numpy as np

from ridelog.arrays import Floats
from ridelog.compare.observations import Observations
from ridelog.compare.pairs import pairs_by_route
from ridelog.compare.record import Difference, PairedBy, Verdict
from ridelog.compare.settings import DEFAULTS, CompareSettings
from ridelog.compare.statistics.combined import NOTHING, Combined
from ridelog.compare.statistics.estimate import Estimate, Rows, paired, welch
from ridelog.compare.statistics.mixed import Repeated, repeated
from ridelog.compare.statistics.power import Trial, rides_needed
from ridelog.fleet.history.statistics.corrected import stepped
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

MOST = {"captured_pct": 100.0}  # bounds of a share bound its differences


@dataclass(frozen=True, eq=False)
class Asked:
    """One difference before it is held against the others.

    ``told`` : the record, without a verdict · ``both`` : its distribution, ``None`` where nothing shows how much rides
    differ · ``trial`` : how more rides would be compared · ``rides`` : of each group so far, or pairs ·
    ``converged`` : whether a mixed model did, where one was asked
    """

    told: Difference
    both: Combined | None = None
    trial: Trial | None = None
    rides: int = 0
    converged: bool = True


def differences(
    observed: Sequence[Observations], groups: Sequence[str], settings: CompareSettings = DEFAULTS
) -> tuple[Asked, ...]:
    """Every difference of every two groups, with verdicts.

    Parameters
    ----------
    observed : one or more quantities, of whole rides or of hills; rides restated at common conditions apart
    groups : their names, in the order given: the first of two is the one that the second is compared with
    settings : thresholds

    Returns
    -------
    asked : quantity by quantity; those of ``told`` are what is reported
    """
    asked = [
        one
        for each in observed
        for first, second in combinations(groups, 2)
        for one in _asked(each, first, second, settings)
    ]
    return _judged(asked, settings)


def _judged(asked: list[Asked], settings: CompareSettings) -> tuple[Asked, ...]:
    p_values = [one.both.p_value() for one in asked if one.both is not None]
    held = zip(p_values, *stepped(p_values, settings.false_alarm_rate), strict=True)
    return tuple(
        one if one.both is None else replace(one, told=_verdict(one, one.both, tuple(map(float, next(held))), settings))
        for one in asked
    )


def _verdict(asked: Asked, both: Combined, held: tuple[float, ...], settings: CompareSettings) -> Difference:
    """The record with its verdict, which follows from the interval at the level that Holm leaves it."""
    p_value, p_corrected, rate = held
    low, high = both.interval(1 - rate)
    verdict: Verdict = "second-higher" if low > 0 else "first-higher" if high < 0 else "not-told"
    told = replace(
        asked.told, verdict=verdict, smallest_told=(high - low) / 2, p_value=p_value, p_corrected=p_corrected,
        level_pct=100 * (1 - rate), verdict_low=low, verdict_high=high,
    )  # fmt: skip
    settling = settings.worth_knowing.get(told.quantity)
    if verdict != "not-told" or asked.trial is None or settling is None:
        return told
    needed = rides_needed(replace(asked.trial, false_alarms=rate), settling, wanted=settings.power)
    more = None if needed is None else max(needed - asked.rides, 0)
    return replace(told, settling=settling, rides_to_settle=more)


def _asked(observed: Observations, first: str, second: str, settings: CompareSettings) -> Iterator[Asked]:
    """One quantity of two groups: of whole rides, or on hills that both rode."""
    known = np.isfinite(observed.value) & np.isin(observed.group, [first, second])
    whole = observed.hill == ""
    if whole.any() or not len(observed.value):
        rows = [np.flatnonzero(known & whole & (observed.group == name)) for name in (first, second)]
        yield _of_rides(observed, (first, second), rows, settings)
    hills = np.flatnonzero(known & ~whole)
    if len(hills) and (one := _of_hills(observed, (first, second), hills, settings)) is not None:
        yield one


def _of_rides(observed: Observations, names: tuple[str, str], rows: list[Rows], settings: CompareSettings) -> Asked:
    first, second = rows
    pairs = pairs_by_route(observed, first, second)
    if _is_paired(observed, pairs, rows, settings):
        return _found(observed, names, _Basis("route", len(pairs[0]), *pairs), paired(observed.value, *pairs))
    basis = _Basis("none", 0, first, second)
    if len(first) < 2 or len(second) < 2:
        return Asked(_without_spread(observed, names, basis))
    return _found(observed, names, basis, welch(observed.value, first, second))


def _is_paired(observed: Observations, pairs: tuple[Rows, Rows], rows: list[Rows], settings: CompareSettings) -> bool:
    n_pairs, n_rides = len(pairs[0]), sum(map(len, rows))
    if n_pairs < settings.fewest_pairs:
        return False
    one_route = len(set(observed.route[np.concatenate(rows)].tolist())) == 1
    return not one_route or n_rides - 2 * n_pairs <= settings.most_left_over * n_rides


@dataclass(frozen=True, eq=False)
class _Basis:
    """What a difference rests on: how it is paired, and the rows of each group."""

    paired_by: PairedBy
    pairs: int
    first: Rows
    second: Rows
    rides: tuple[int, int] | None = None  # where rows are not rides
    by_pairs: int = 0  # pairs of rides

    @property
    def n_rides(self) -> tuple[int, int]:
        return self.rides or (len(self.first), len(self.second))


def _of_hills(observed: Observations, names: tuple[str, str], rows: Rows, settings: CompareSettings) -> Asked | None:
    """Hills that both groups rode, on rides of which each group has two at least; ``None`` where there are no such."""
    of_group = [set(observed.hill[rows[observed.group[rows] == name]].tolist()) for name in names]
    shared = of_group[0] & of_group[1]
    rows = rows[np.isin(observed.hill[rows], sorted(shared))]
    rides = [_rides(observed, rows[observed.group[rows] == name]) for name in names]
    if not shared or min(map(len, rides)) < 2:
        return None
    pair = None
    pairs = pairs_by_route(observed, *rides)
    n_pairs = len(pairs[0])
    if _is_paired(observed, pairs, rides, settings):
        of_ride = {observed.ride[row]: at for both in pairs for at, row in enumerate(both.tolist())}
        rows = rows[np.array([ride in of_ride for ride in observed.ride[rows]], dtype=bool)]
        pair = np.array([of_ride[ride] for ride in observed.ride[rows]], dtype=np.intp)
        rides = list(pairs)
    second = observed.group[rows] == names[1]
    n_hills = len(set(observed.hill[rows].tolist()))
    estimate, converged = repeated(
        observed.value[rows], Repeated(second, observed.ride[rows], observed.hill[rows], pair)
    )  # fmt: skip
    weights = np.zeros(len(observed.value))
    weights[rows] = estimate.weights
    basis = _Basis(
        "hill", n_hills, rows[~second], rows[second], (len(rides[0]), len(rides[1])), 0 if pair is None else n_pairs
    )  # fmt: skip
    return replace(_found(observed, names, basis, replace(estimate, weights=weights)), converged=converged)


def _rides(observed: Observations, rows: Rows) -> Rows:
    """The first row of each ride."""
    return np.sort(rows[np.unique(observed.ride[rows].astype(str), return_index=True)[1]])


def _found(observed: Observations, names: tuple[str, str], basis: _Basis, estimate: Estimate) -> Asked:
    """A difference with its distribution."""
    own_u: Floats = np.nan_to_num(observed.own_u)
    at_least = estimate.floored(own_u)
    both = Combined.of(at_least, [float(estimate.weights @ np.nan_to_num(each)) for each in observed.shared.values()])
    most = MOST.get(observed.quantity, np.inf)
    low, high = both.interval()
    first, second = basis.n_rides
    share = 1 / first + 1 / second
    own = estimate.measurement_u(own_u)
    told = replace(
        _bare(observed, names, basis),
        by_chance_u=at_least.se,
        shared=_by_cause(observed, estimate),
        difference=Quantity(estimate.value, max(low, -most), min(high, most)),
        from_measurement_u=float(np.hypot(own, both.shared_u)),
        from_ride_to_ride_sd=float(np.sqrt(max(estimate.se**2 - own**2, 0.0) / share)),
        degrees_of_freedom=float(at_least.degrees_of_freedom) if np.isfinite(at_least.degrees_of_freedom) else None,
        shared_u=both.shared_u,
    )
    n_pairs = basis.pairs if basis.paired_by == "route" else basis.by_pairs
    few = both.shared[4::8] if len(both.shared) > 32 else both.shared  # every eighth is enough for a number of rides
    if n_pairs:
        return Asked(told, both, Trial(at_least.se * np.sqrt(n_pairs), "pairs", shared=few), n_pairs)
    by: Literal["groups", "pooled"] = "pooled" if estimate.degrees_of_freedom == first + second - 2 else "groups"
    trial = Trial(at_least.se / np.sqrt(share), by, shared=few, ahead=abs(first - second))
    return Asked(told, both, trial, min(first, second))


def _by_cause(observed: Observations, estimate: Estimate) -> dict[str, float]:
    """What each cause of errors that rides share does to a difference, those that have cancelled left out."""
    by_cause: dict[str, float] = {}
    for (cause, _), each in observed.shared.items():
        effect = float(estimate.weights @ np.nan_to_num(each))
        by_cause[cause] = float(np.hypot(by_cause.get(cause, 0.0), effect))
    cancelled = NOTHING * max(*by_cause.values(), estimate.se, abs(estimate.value)) if by_cause else 0.0
    return {cause: u for cause, u in sorted(by_cause.items(), key=lambda each: -each[1]) if u > cancelled}


def _bare(observed: Observations, names: tuple[str, str], basis: _Basis) -> Difference:
    told = np.isfinite(observed.value) & np.isin(observed.group, names)
    n_telling = len(set(observed.ride[told].tolist()))
    first, second = basis.n_rides
    return Difference(
        observed.quantity, *names, basis.paired_by, basis.pairs, None, None, None, "not-told", None, None,
        first_rides=first, second_rides=second, left_over=n_telling - first - second,
    )  # fmt: skip


def _without_spread(observed: Observations, names: tuple[str, str], basis: _Basis) -> Difference:
    """Groups of which one has a single ride, or none that tells the quantity: a difference without bounds, or none."""
    bare = _bare(observed, names, basis)
    if not len(basis.first) or not len(basis.second):
        return bare
    weights = np.zeros(len(observed.value))
    weights[basis.second], weights[basis.first] = 1 / len(basis.second), -1 / len(basis.first)
    estimate = Estimate(float(weights @ np.where(weights, observed.value, 0.0)), weights, 0.0, np.inf)
    shared = Combined.of(estimate, [float(weights @ np.nan_to_num(each)) for each in observed.shared.values()])
    return replace(
        bare, difference=Quantity(estimate.value), shared_u=shared.shared_u, shared=_by_cause(observed, estimate),
        from_measurement_u=float(np.hypot(estimate.measurement_u(np.nan_to_num(observed.own_u)), shared.shared_u)),
    )  # fmt: skip
