"""What one bike's own rides give reason to suspect, each with its p-value and its evidence, before any correction."""

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from typing import Literal

import numpy as np
import pandas as pd

from ridelog.arrays import robust_scale
from ridelog.findings import Fact, Severity
from ridelog.fleet.history.like_with_like import LIMITED, Series, captured_series, charge_series, plain_series
from ridelog.fleet.history.measured import Floats, column_of, measured, numbers
from ridelog.fleet.history.settings import HistorySettings
from ridelog.fleet.history.statistics.change import Change, Looked, one_change
from ridelog.fleet.history.statistics.dating import AT_ONCE, TO_THE_END
from ridelog.lazy import dataclass

DEVELOPS_OVER = (AT_ONCE, 3, 6, 12, TO_THE_END)  # rides over which a fault may come about, as it is tested
# As it is dated: a number of rides that is not among them, or a shape, moves the date more than noise does.
DATED_OVER = (*range(AT_ONCE, 17), 18, 20, 22, 24, 27, 30, 34, 38, 42, 48, TO_THE_END)
FALLS_TO = (0.8, 0.6, 0.45, 0.3, 0.2, 0.12)  # what may be left of a share of which logarithms are taken
RISES_TO = (1.25, 1.6, 2.2, 3.2, 5.0)  # the same of a resistance
_LIMITS = {  # facts of what was limited before and after
    "pack_highest_charge_a": ("charge_before_a", "charge_after_a"),
    "highest_charge_force_n": ("charge_force_before_n", "charge_force_after_n"),
}
_DATED = 0.01  # p-value of a change from which on it dates a fault that another test finds
_MEDIAN_SE = 1.2533  # standard error of a median over that of a mean, of normal values (root of pi / 2)
_LEAST_WHEEL_SD = 1e-4  # between rides, of the ratio of speeds
# Between rides, of the logarithm of a share: how bikes spread that were never seen before, wider than most of them, and
# what that is worth in rides. Without it, three rides alike would make any fourth look odd.
_USUAL_LOG_SD, _USUAL_DF = 0.5, 4
_NOTHING = 50  # next to nothing is the usual share over this


@dataclass(frozen=True)
class Suspicion:
    """One test of one bike.

    ``p_value`` : under no fault · ``worth_telling`` : whether it is large enough, were it no chance · ``since`` : row
    of the first ride concerned · ``between`` : rows within which that lies (95 %), ``None`` where it is plain
    """

    code: str
    severity: Severity
    p_value: float
    worth_telling: bool
    since: int | None
    between: tuple[int, int] | None = None
    evidence: Mapping[str, Fact] = field(default_factory=dict)


def suspicions(rides: pd.DataFrame, descents: pd.DataFrame, settings: HistorySettings) -> list[Suspicion]:
    """Every test of one bike's rides that could be made.

    Parameters
    ----------
    rides : of one bike in the order ridden, rides without any return filled in (`returned.with_nothing`)
    descents : its passes downhill, with ``place``
    settings : thresholds

    Returns
    -------
    suspicions : at most one of each code
    """
    lost = regen_lost(rides, settings)
    before = rides if lost is None or lost.p_value > settings.false_alarm_rate else rides.iloc[: lost.since]
    zero, wheel = zero_drifting(rides, settings), wheel_size_off(rides, settings)
    feigning = {"current_zero_a": zero, "wheel_scale_ratio": wheel}
    moved = [column for column, each in feigning.items() if each is not None and _likely(each, settings)]
    fading = regen_fading(before, descents, settings, moved=moved)
    made = (lost, fading, zero, resistance_rising(rides, settings), wheel)
    return [each for each in made if each is not None]


def _likely(suspicion: Suspicion, settings: HistorySettings) -> bool:
    """Whether it would be told if it were the only test."""
    return suspicion.worth_telling and suspicion.p_value <= settings.false_alarm_rate


def regen_lost(rides: pd.DataFrame, settings: HistorySettings) -> Suspicion | None:
    """Whether the latest rides got (next to) nothing back, where the bike usually does.

    The logarithm of what each ride recovered, next to nothing counting as a fiftieth of the usual; a moderated t of the
    latest rides' mean against the spread of the rides before and of bikes in general, times the rides at which the loss
    could have begun. A bike that got nothing back now and then before has a wide spread there, and does not stand out.

    References
    ----------
    G. K. Smyth, Linear models and empirical Bayes methods, Stat. Appl. Genet. Mol. Biol. 3 (2004) 3: the moderated t.
    """
    from scipy import stats

    column = _share_column(rides)
    values = numbers(rides, column)
    rows = np.flatnonzero(np.isfinite(values))
    values = values[rows]
    n_lost = _nothing_at_end(values, settings)
    n_before = len(values) - n_lost
    if n_lost < settings.fewest_after or n_before < settings.fewest_rides:
        n_possible = len(values) - settings.fewest_rides - settings.fewest_after + 1
        return Suspicion("regen-lost", "danger", 1.0, worth_telling=False, since=0) if n_possible > 0 else None
    usual = float(np.median(values[:n_before]))
    logs = np.log(np.maximum(values, usual / _NOTHING))
    df = n_before - 1 + _USUAL_DF
    sd = np.sqrt((_USUAL_DF * _USUAL_LOG_SD**2 + (n_before - 1) * logs[:n_before].var(ddof=1)) / df)
    fall = float(logs[:n_before].mean() - logs[n_before:].mean())
    t = fall / (sd * np.sqrt(1 / n_before + 1 / n_lost))
    p_value = min(1.0, len(values) * float(stats.t.sf(t, df)))
    evidence: dict[str, Fact] = {
        "quantity": "captured" if "captured" in column else "recovered",
        "usual_pct": usual,
        "now_pct": float(np.median(values[n_before:])),
        "n_before": n_before,
        "n_after": n_lost,
        "p_value": p_value,
    }
    return Suspicion("regen-lost", "danger", p_value, worth_telling=True, since=int(rows[n_before]), evidence=evidence)


def _share_column(rides: pd.DataFrame) -> str:
    """What was captured, which rides on the flat do not lower, where as many rides know it; else what was recovered."""
    recovered = column_of(rides, "recovered_pct")
    captured = np.isfinite(numbers(rides, "braking_captured_pct")).sum()
    enough = captured >= 0.9 * np.isfinite(numbers(rides, recovered)).sum()
    return "braking_captured_pct" if enough else recovered


def _nothing_at_end(values: Floats, settings: HistorySettings) -> int:
    """How many of the latest rides got no more than a small share of the usual before them."""
    for n_before in range(settings.fewest_rides, len(values) - settings.fewest_after + 1):
        usual = float(np.median(values[:n_before]))
        if usual > 0 and (values[n_before:] <= settings.lost_share * usual).all():
            return len(values) - n_before
    return 0


def _looked(settings: HistorySettings, direction: Literal[-1, 0, 1], times: tuple[float, ...] = ()) -> Looked:
    return Looked(DEVELOPS_OVER, direction, settings.fewest_before, settings.fewest_after, DATED_OVER, times)


def _changed(series: Series, looked: Looked) -> Change | None:
    beside = series.conditions if series.conditions.shape[1] else None
    return one_change(series.values, looked, conditions=beside, u=series.u)


def _evidence(change: Change, unit: str) -> dict[str, Fact]:
    return {
        f"before_{unit}": change.before,
        f"after_{unit}": change.after,
        "n_before": change.n_before,
        "n_after": change.n_after,
        "gradual": change.over > 1,
        "p_value": change.p_value,
    }


def _suspicion(code: str, series: Series, change: Change, worth: bool, evidence: Mapping[str, Fact]) -> Suspicion:
    between = series.rows[change.earliest], series.rows[change.latest]
    return Suspicion(code, "warning", change.p_value, worth, series.rows[change.at], between, evidence)


def regen_fading(
    rides: pd.DataFrame, descents: pd.DataFrame, settings: HistorySettings, *, moved: Sequence[str] = ()
) -> Suspicion | None:
    """Whether less is captured than before on the same hills, or on rides alike.

    Parameters
    ----------
    rides : of one bike in the order ridden
    descents : its passes downhill, with ``place``
    settings : thresholds
    moved : columns of what moved and alone would make less or more seem to be captured: the current's zero, the wheel

    Returns
    -------
    suspicion : ``None`` where too few rides know what was captured
    """
    conditions = (*moved, "air_temperature_c")
    looked = _looked(settings, -1, FALLS_TO)
    found = [(each, _changed(each, looked)) for each in captured_series(rides, descents, conditions)]
    told = [(series, change) for series, change in found if change is not None]
    if not told:
        return None
    series, change = min(told, key=lambda each: each[1].p_value)
    p_value = min(1.0, len(told) * change.p_value)  # Bonferroni: either may show it by chance
    before, after = float(np.exp(change.before)), float(np.exp(change.after))
    basis = {"hills": "hills", "braking_captured_pct": "captured"}.get(series.basis, "recovered")
    evidence = {"basis": basis, **_evidence(change, "pct"), "before_pct": before, "after_pct": after}
    evidence["p_value"] = p_value
    worth = after <= (1 - settings.fading_share) * before
    both = [each for each in told if len(told) * each[1].p_value <= settings.false_alarm_rate] or [(series, change)]
    told_of = worth and p_value <= settings.false_alarm_rate
    by_current = _charge_fading(rides, conditions, looked, both, settings) if told_of else None
    if by_current is not None:
        series, change = by_current
        before_name, after_name = _LIMITS[series.basis]
        limits = {before_name: float(np.exp(change.before)), after_name: float(np.exp(change.after))}
        evidence |= {"gradual": change.over > 1, "n_before": change.n_before, "n_after": change.n_after, **limits}
        both = [by_current]
    # Each dates it by what it knows: the earlier ride of the two, and between what either leaves open.
    since, earliest, latest = (
        [known.rows[getattr(one, name)] for known, one in both] for name in ("at", "earliest", "latest")
    )
    between = min(earliest), max(latest)
    return Suspicion("regen-fading", "warning", p_value, worth, min(since), between, evidence)


def _charge_fading(
    rides: pd.DataFrame, conditions: Sequence[str], looked: Looked, told: Sequence[tuple[Series, Change]],
    settings: HistorySettings,
) -> tuple[Series, Change] | None:  # fmt: skip
    """How what motor or controller limit fell, where it did while less was captured.

    Either limits the largest charge current of each ride or the force, and that differs from ride to ride by some
    hundredths, what is captured by a tenth: it tells the first ride concerned. Which of the two it is shows in how
    closely it tells. By itself it tells nothing of what came back, so it only dates.
    """
    fell = []
    looked = replace(looked, told_of=len(LIMITED))
    for limited in LIMITED:
        series = charge_series(rides, conditions, limited)
        change = _changed(series, looked) if len(series.values) else None
        if change is None or change.p_value > _DATED or change.after > change.before + _least_fall(settings):
            continue
        first, last = _span(series, change)
        if any(first <= end and begin <= last for begin, end in (_span(*each) for each in told)):
            fell.append((series, change))
    return min(fell, key=lambda each: (each[1].latest - each[1].earliest, each[1].p_value), default=None)


def _least_fall(settings: HistorySettings) -> float:
    """Of a logarithm, the fall that is worth telling."""
    return float(np.log(1 - settings.fading_share))


def _span(series: Series, change: Change) -> tuple[int, int]:
    """The rows over which it changed."""
    return series.rows[change.at], series.rows[min(change.at + change.over, len(series.rows)) - 1]


def zero_drifting(rides: pd.DataFrame, settings: HistorySettings) -> Suspicion | None:
    """Whether the current at rest moved, temperature apart."""
    series = plain_series(rides, "current_zero_a", ("air_temperature_c",))
    change = _changed(series, _looked(settings, 0))
    if change is None:
        return None
    worth = abs(change.after - change.before) >= settings.zero_drift_a
    evidence = _evidence(change, "a")
    return _suspicion("zero-drifting", series, change, worth, evidence)


def resistance_rising(rides: pd.DataFrame, settings: HistorySettings) -> Suspicion | None:
    """Whether the pack's resistance rose by more than its temperature explains (logarithm against temperature)."""
    warmth = [
        name for name in ("battery_temperature_c", "air_temperature_c") if np.isfinite(numbers(rides, name)).any()
    ]
    series = plain_series(rides, "pack_resistance_ohm", tuple(warmth[:1]))
    positive = series.values > 0
    if not positive.all() or len(series.values) == 0:
        return None
    logs = Series(series.rows, np.log(series.values), series.u / series.values, series.conditions, series.basis)
    change = _changed(logs, _looked(settings, 1, RISES_TO))
    if change is None:
        return None
    before, after = float(np.exp(change.before)), float(np.exp(change.after))
    evidence = {**_evidence(change, "ohm"), "before_ohm": before, "after_ohm": after}
    evidence["temperature_known"] = bool(series.conditions.shape[1])
    worth = after >= (1 + settings.resistance_rise) * before
    return _suspicion("resistance-rising", series, change, worth, evidence)


def wheel_size_off(rides: pd.DataFrame, settings: HistorySettings) -> Suspicion | None:
    """Whether the wheel's speed and that of positions differ by more than positions may be wrong by.

    Student's t of the median of the rides since the last change (of all, where there is none) against the tolerance.
    """
    from scipy import stats

    told = measured(rides, "wheel_scale_ratio")
    rows = np.flatnonzero(np.isfinite(told.value))
    values = told.value[rows]
    if len(values) < settings.fewest_rides:
        return None
    looked = Looked((AT_ONCE,), 0, settings.fewest_before, settings.fewest_after)
    change = one_change(values, looked, u=told.u[rows])
    first = change.at if change is not None and change.p_value < _DATED else 0
    parts = [part - np.median(part) for part in (values[:first], values[first:]) if len(part)]
    sd = max(robust_scale(np.concatenate(parts), centre=0.0), _LEAST_WHEEL_SD)
    off = float(np.median(values[first:])) - 1
    t = (abs(off) - settings.wheel_tolerance) / (_MEDIAN_SE * sd / np.sqrt(len(values) - first))
    p_value = min(1.0, 2 * float(stats.t.sf(t, len(values) - len(parts))))
    evidence: dict[str, Fact] = {
        "off_pct": 100 * off,
        "n_before": first,
        "n_after": len(values) - first,
        "p_value": p_value,
    }
    worth = abs(off) > settings.wheel_tolerance
    return Suspicion("wheel-size-off", "warning", p_value, worth, int(rows[first]), None, evidence)
