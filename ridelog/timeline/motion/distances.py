"""Distance along the ride: which recording's it is, and what fills its holes."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ridelog.arrays import time_gaps
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass
from ridelog.timeline.joined import JoinedRecording
from ridelog.timeline.motion.counted import integral_m
from ridelog.timeline.motion.speeds import DistanceSource


@dataclass(frozen=True)
class DistanceCandidate:
    """A distance that one recording has, cumulative at its own samples, NaN where not known [m]."""

    joined: JoinedRecording
    source: DistanceSource
    distance_m: np.ndarray

    def at(self, at_s: np.ndarray) -> np.ndarray:
        """The distance at times on the reference clock [m]."""
        return self.joined.at(at_s, self.distance_m)

    def measured_at(self, at_s: np.ndarray) -> np.ndarray:
        """The same, of the reference's own positions at its fixes only: another source knows the course between."""
        if self.source == "positions" and self.joined.join.method == "reference":
            return self.distance_m
        return self.at(at_s)

    @property
    def shortened_ratio(self) -> float:
        """Share that bends between its fixes took off a way along positions; 0 for any other [1]."""
        return self.joined.motion.spacing.shortened_ratio if self.source == "positions" else 0.0


def distance_candidates(
    everyone: Sequence[JoinedRecording], found_wheel_mps: np.ndarray | None = None
) -> tuple[list[DistanceCandidate], list[Finding]]:
    """Every distance, best first.

    Devices' own distances come first where they count finely and agree with the positions, then the way along the
    positions, then turns of the wheel and integrals of speed. These come before positions so far apart that the bends
    between them may take off more than a wheel's scale is wrong by, unless the two contradict each other.

    Parameters
    ----------
    everyone : the reference first, then the recordings whose clocks are joined
    found_wheel_mps : speed of the reference's wheel at its samples, where its circumference was found from another
        recording [m/s]

    Returns
    -------
    candidates : best first
    findings : counted distances that contradict the positions, and are not used
    """
    along = _candidates(everyone, "positions")
    fine, coarse, findings = _counted(_candidates(everyone, "device"), along[0] if along else None)
    integrals = [*_candidates(everyone, "wheel"), *_candidates(everyone, "speed")]
    better = [_with_gaps_of(item, along[0]) for item in integrals[:1] if along and _is_better(item, along[0])]
    if found_wheel_mps is not None:
        time_s = everyone[0].recording.time_s
        found_m = integral_m(time_s, found_wheel_mps, ~time_gaps(time_s))
        integrals.append(DistanceCandidate(everyone[0], "wheel", found_m))
    return [*fine, *better, *along, *integrals[len(better) :], *coarse], findings


def _candidates(everyone: Sequence[JoinedRecording], source: DistanceSource) -> list[DistanceCandidate]:
    """The distances of one source that are known at two samples at least."""
    found = [(item, item.motion.distances_m.get(source)) for item in everyone]
    return [
        DistanceCandidate(item, source, distance_m)
        for item, distance_m in found
        if distance_m is not None and np.isfinite(distance_m).sum() >= 2
    ]


def _is_better(
    integral: DistanceCandidate, along: DistanceCandidate, *, shortened_ratio: float = 0.005, scale_ratio: float = 0.03
) -> bool:
    """Whether an integral of speed is the better distance: bends may shorten the way along the positions more.

    By chords, twice ``shortened_ratio`` may be missing beyond the ±0.5 % of any positions: as much as the ±1.5 % of a
    wheel. A speed that is off by more than ``scale_ratio`` beyond what bends explain is not believed.
    """
    if along.shortened_ratio <= shortened_ratio:
        return False
    off_pct = _off_pct(_with_gaps_of(integral, along), along)
    return off_pct is not None and -scale_ratio <= off_pct / 100 <= scale_ratio + 3 * along.shortened_ratio


def _with_gaps_of(integral: DistanceCandidate, along: DistanceCandidate) -> DistanceCandidate:
    """An integral with the way along the positions across its gaps, where it counts nothing for want of speed."""
    gaps = np.flatnonzero(time_gaps(integral.joined.recording.time_s))
    along_m = along.at(integral.joined.reference_s)
    across_m = np.zeros(len(integral.distance_m))
    across_m[gaps + 1] = np.nan_to_num(along_m[gaps + 1] - along_m[gaps])
    return replace(integral, distance_m=integral.distance_m + np.cumsum(across_m))


def _counted(
    counted: Sequence[DistanceCandidate], along: DistanceCandidate | None, *, limit_pct: float = 5.0
) -> tuple[list[DistanceCandidate], list[DistanceCandidate], list[Finding]]:
    """Counted distances that agree with the way along the positions to ``limit_pct`` and its bends: fine and coarse."""
    fine: list[DistanceCandidate] = []
    coarse: list[DistanceCandidate] = []
    findings: list[Finding] = []
    for candidate in counted:
        off_pct = None if along is None else _off_pct(candidate, along)
        bends_pct = 0.0 if along is None else 300 * along.shortened_ratio
        if along is not None and off_pct is not None and not -limit_pct <= off_pct <= limit_pct + bends_pct:
            findings.append(_distance_finding(candidate, along, off_pct))
        else:
            (coarse if _is_coarse(candidate.distance_m) else fine).append(candidate)
    return fine, coarse, findings


def _is_coarse(distance_m: np.ndarray, *, limit_m: float = 5.0) -> bool:
    """Whether a counter jumps by more than ``limit_m`` and mostly stands still between its jumps."""
    steps_m = np.diff(distance_m[np.isfinite(distance_m)])
    jumps_m = steps_m[steps_m > 0]
    return len(jumps_m) < 0.5 * len(steps_m) and float(np.median(jumps_m)) > limit_m


def _off_pct(candidate: DistanceCandidate, along: DistanceCandidate, *, least_m: float = 200.0) -> float | None:
    """By how much a total exceeds the way along the positions where both are known; ``None`` if that is short [%]."""
    along_m = along.at(candidate.joined.reference_s)
    both = np.flatnonzero(np.isfinite(along_m) & np.isfinite(candidate.distance_m))
    if len(both) < 2 or along_m[both[-1]] - along_m[both[0]] < least_m:
        return None
    own_m = candidate.distance_m[both[-1]] - candidate.distance_m[both[0]]
    return float(100 * (own_m / (along_m[both[-1]] - along_m[both[0]]) - 1))


def _distance_finding(candidate: DistanceCandidate, along: DistanceCandidate, off_pct: float) -> Finding:
    facts: dict[str, Fact] = {
        "file": candidate.joined.recording.called,
        "other_file": along.joined.recording.called,
        "off_pct": off_pct,
    }
    return Finding("distances-disagree", "warning", facts)


def combined_distance_m(at_s: np.ndarray, distances_m: Sequence[np.ndarray]) -> np.ndarray | None:
    """Distance along the ride from the best source, its holes filled from the next ones.

    A hole is filled with the course of the next source, held to the best source at both ends.

    Parameters
    ----------
    at_s : the rows, shape (n,) [s]
    distances_m : each shape (n,), best first, NaN where not known [m]

    Returns
    -------
    Shape (n,), from 0, never falling, NaN where no source knows [m]; ``None`` where none knows anything.
    """
    result: np.ndarray | None = None
    for distance_m in distances_m:
        if not np.isfinite(distance_m).any():
            continue
        result = distance_m if result is None else _filled(at_s, result, distance_m)
    if result is None:
        return None
    known_mask = np.isfinite(result)
    risen_m = np.maximum.accumulate(np.where(known_mask, result, -np.inf))
    return np.where(known_mask, risen_m - result[known_mask][0], np.nan)


def _filled(at_s: np.ndarray, best_m: np.ndarray, next_m: np.ndarray) -> np.ndarray:
    """The best distance, its holes filled with the course of the next."""
    both_mask = np.isfinite(best_m) & np.isfinite(next_m)
    hole_mask = np.isnan(best_m) & np.isfinite(next_m)
    if not both_mask.any() or not hole_mask.any():
        return best_m
    apart_m = np.interp(at_s, at_s[both_mask], (best_m - next_m)[both_mask])
    return np.where(hole_mask, next_m + apart_m, best_m)
