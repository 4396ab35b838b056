"""Stretches of road without positions: how far the ride went there, and whether anything else tells."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from ridelog.findings import Fact, Finding, Severity
from ridelog.lazy import dataclass
from ridelog.timeline.motion.distances import DistanceCandidate


@dataclass(frozen=True)
class _Bridged:
    """Long gaps between positions, in all.

    ``other_m`` is what another source counts across them, ``None`` where none knows all of them; ``ride_m`` is the
    way along the positions from first to last.
    """

    n_gaps: int
    start_s: float
    end_s: float
    lasted_s: float
    straight_m: float
    other_m: float | None
    ride_m: float

    @property
    def longest_m(self) -> float:
        """The way across, straight or as counted, whichever is longer [m]."""
        return max(self.straight_m, self.other_m or 0.0)

    @property
    def doubtful_pct(self) -> float:
        """Share of the ride that is not known to have been ridden as it is counted [%]."""
        doubtful_m = self.straight_m if self.other_m is None else abs(self.other_m - self.straight_m)
        return 100 * doubtful_m / max(self.ride_m, self.longest_m)


def bridged_findings(
    candidates: Sequence[DistanceCandidate], *, least_s: float = 20.0, least_m: float = 100.0, warn_pct: float = 5.0
) -> list[Finding]:
    """A finding where the distance stands on positions that are missing for longer stretches of road.

    Parameters
    ----------
    candidates : of distance, best first; the first one is judged, the others are what it is held against
    least_s : shorter gaps bend away from the straight line by little [s]
    least_m : less in all does not matter [m]
    warn_pct : share of the ride, or of what another source counts across the gaps, that makes it a warning [%]

    Returns
    -------
    One finding or none.
    """
    if not candidates or candidates[0].source != "positions":
        return []
    bridged = _bridged(candidates, least_s)
    if bridged is None or bridged.longest_m < least_m:
        return []
    facts: dict[str, Fact] = {
        "file": candidates[0].joined.recording.called,
        "n_gaps": bridged.n_gaps,
        "lasted_s": bridged.lasted_s,
        "straight_m": bridged.straight_m,
        "other_m": bridged.other_m,
        "held": False,
    }
    severity: Severity = "warning" if bridged.doubtful_pct > warn_pct else "note"
    return [Finding("way-bridged", severity, facts, bridged.start_s, bridged.end_s)]


def told_once(findings: Iterable[Finding]) -> list[Finding]:
    """The findings without held positions that a bridged way of the same file tells of already.

    Parameters
    ----------
    findings : of a ride, on the reference clock

    Returns
    -------
    In the same order; what is bridged says that the positions stayed the same there.
    """
    found = list(findings)
    ways = [each for each in found if each.code == "way-bridged"]
    again = {id(each): way for each in found if each.code == "positions-held" for way in ways if _holds(way, each)}
    held_ways = {id(way) for way in again.values()}
    return [
        replace(each, facts={**each.facts, "held": True}) if id(each) in held_ways else each
        for each in found
        if id(each) not in again
    ]


def _holds(way: Finding, held: Finding) -> bool:
    """Whether held positions are those of the gaps that were bridged."""
    if way.facts["file"] != held.facts["file"] or None in (way.start_s, way.end_s, held.start_s, held.end_s):
        return False
    return way.start_s <= held.start_s and held.end_s <= way.end_s  # type: ignore[operator]


def _bridged(candidates: Sequence[DistanceCandidate], least_s: float) -> _Bridged | None:
    """The gaps of the first candidate that last longer than ``least_s``; ``None`` where there are none."""
    best = candidates[0]
    known = np.flatnonzero(np.isfinite(best.distance_m))
    at_s, along_m = best.joined.reference_s[known], best.distance_m[known]
    gaps = np.flatnonzero(np.diff(at_s) > least_s)
    if not len(gaps):
        return None
    across_m = [
        _across_m(candidate, at_s[gaps], at_s[gaps + 1])
        for candidate in candidates[1:]
        if candidate.source != "positions"
    ]
    return _Bridged(
        n_gaps=len(gaps),
        start_s=float(at_s[gaps[0]]),
        end_s=float(at_s[gaps[-1] + 1]),
        lasted_s=float(np.diff(at_s)[gaps].sum()),
        straight_m=float(np.diff(along_m)[gaps].sum()),
        other_m=next((metres for metres in across_m if metres is not None), None),
        ride_m=float(np.ptp(along_m)),
    )


def _across_m(candidate: DistanceCandidate, start_s: np.ndarray, end_s: np.ndarray) -> float | None:
    """Metres that another source counts over spans; ``None`` where it does not know all of them."""
    metres = float(np.sum(candidate.at(end_s) - candidate.at(start_s)))
    return metres if np.isfinite(metres) else None
