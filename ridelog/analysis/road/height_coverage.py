"""Over how much of a ride the height is known: what was available, hills and ascent are those of that part only."""

import numpy as np

from ridelog.arrays import Floats, Mask, default_gap_limit_s
from ridelog.findings import Finding
from ridelog.lazy import dataclass


@dataclass(frozen=True)
class CoverageSettings:
    """When the height counts as known for a part of the ride only, each with its reason.

    Attributes
    ----------
    partial_below_pct : a track that starts a little late or loses the sky for a moment leaves out less than this,
        which moves no total by more than its interval [%]
    warn_below_pct : a fifth of the ride without height changes what a rider would conclude (judgement) [%]
    moving_mps : slower steps are standing [m/s]
    riding_a : where neither speed nor distance is known, the bike is taken to be ridden from the first to the last
        current beyond this, which is more than display and lights draw [A]
    bridged_s : a gap of the log no longer than this between two known heights counts as covered; the charge across it
        is bridged as well [s]
    """

    partial_below_pct: float = 95.0
    warn_below_pct: float = 80.0
    moving_mps: float = 0.5
    riding_a: float = 1.0
    bridged_s: float = 30.0


DEFAULT_SETTINGS = CoverageSettings()


@dataclass(frozen=True)
class Movement:
    """How the bike moved, at the samples of the common series, shape (n,) each, NaN where not known.

    ``paused`` : steps in which a device says that it was stopped, shape (n - 1,)
    """

    time_s: Floats
    altitude_m: Floats
    speed_mps: Floats
    distance_m: Floats
    current_a: Floats
    paused: Mask


def height_covered_pct(movement: Movement, *, settings: CoverageSettings = DEFAULT_SETTINGS) -> float | None:
    """Share of the moving time in which the height is known [%].

    Parameters
    ----------
    movement : how the bike moved
    settings : thresholds

    Returns
    -------
    share : ``None`` where no height is known; 100 where the bike never moves
    """
    known = np.isfinite(movement.altitude_m)
    if not known.any():
        return None
    steps_s = np.diff(movement.time_s)
    moving_s = np.where(_moving(movement, settings) & ~movement.paused, steps_s, 0.0)
    near = steps_s <= max(default_gap_limit_s(movement.time_s), settings.bridged_s)
    whole_s = float(moving_s.sum())
    missing_s = float(moving_s[~(known[1:] & known[:-1] & near)].sum())
    return 100.0 * (1.0 - missing_s / whole_s) if whole_s > 0 else 100.0


def _moving(movement: Movement, settings: CoverageSettings) -> Mask:
    """Steps in which the bike moves, shape (n - 1,): by its speed, else by its way, else by the current that flows."""
    time_s, speed = movement.time_s, movement.speed_mps
    steps_s = np.diff(time_s)
    with np.errstate(invalid="ignore"):
        faster = np.maximum(speed[1:], speed[:-1]) > settings.moving_mps
    near = steps_s <= default_gap_limit_s(time_s)
    speed_known = np.isfinite(speed[1:]) & np.isfinite(speed[:-1]) & near
    if speed_known.all():
        return np.asarray(faster)
    known = np.isfinite(movement.distance_m)
    way_m = np.full(len(time_s), np.nan)
    if known.any():
        way_m = np.interp(time_s, time_s[known], movement.distance_m[known], left=np.nan, right=np.nan)
    with np.errstate(invalid="ignore"):
        by_way = np.diff(way_m) > settings.moving_mps * steps_s
        flows = np.abs(movement.current_a) > settings.riding_a
    by_current = np.ones(len(steps_s), dtype=bool)
    if np.isfinite(movement.current_a).any():
        at = np.flatnonzero(flows)
        by_current = np.zeros(len(steps_s), dtype=bool)
        if len(at):
            by_current[at[0] : at[-1] + 1] = True
    way_known = np.isfinite(np.diff(way_m))
    result: Mask = np.where(speed_known, faster, np.where(way_known, by_way, by_current))
    return result


def partial_findings(covered_pct: float | None, *, settings: CoverageSettings = DEFAULT_SETTINGS) -> list[Finding]:
    """A finding where the height is known for a part of the ride only, so that some numbers are of that part.

    Parameters
    ----------
    covered_pct : from `height_covered_pct` [%]
    settings : thresholds
    """
    if covered_pct is None or covered_pct >= settings.partial_below_pct:
        return []
    facts = {"covered_pct": covered_pct}
    return [Finding("height-partial", "warning" if covered_pct < settings.warn_below_pct else "note", facts)]
