"""Which recording's speed and distance the ride takes, and how far its sources agree."""

from collections.abc import Sequence

import numpy as np

from ridelog.constants import NOMINAL_CIRCUMFERENCE_M
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass
from ridelog.timeline.joined import JoinedRecording, interpolated
from ridelog.timeline.motion.bridged import bridged_findings
from ridelog.timeline.motion.distances import DistanceCandidate, combined_distance_m, distance_candidates
from ridelog.timeline.motion.spacing import Spacing
from ridelog.timeline.motion.speeds import SpeedSource


@dataclass(frozen=True)
class SpeedCandidate:
    """A speed that one recording has, at the reference's samples, shape (n,), NaN where not known [m/s].

    ``wheel_circumference_m`` is what was found from another recording; ``None`` where nothing had to be found [m].
    """

    joined: JoinedRecording
    source: SpeedSource
    speed_mps: np.ndarray
    wheel_circumference_m: float | None = None


@dataclass(frozen=True)
class BestMotion:
    """Best speed and distance at the reference's samples, ``None`` where there is none.

    ``track`` is the speed of another recording, where the reference's own is the best; ``distance`` is the best source
    of the distance.
    """

    speed: SpeedCandidate | None
    track: SpeedCandidate | None
    distance_m: np.ndarray | None
    distance: DistanceCandidate | None
    findings: tuple[Finding, ...]

    @property
    def spacing(self) -> Spacing:
        """Of the fixes that the distance comes from; nothing in it where it comes from none."""
        along = self.distance is not None and self.distance.source == "positions"
        return self.distance.joined.motion.spacing if self.distance is not None and along else Spacing()

    @property
    def columns(self) -> dict[str, np.ndarray]:
        """What goes into the series, by channel."""
        found: dict[str, np.ndarray] = {}
        if self.speed is not None:
            found["speed_mps"] = self.speed.speed_mps
        if self.distance_m is not None:
            found["distance_m"] = self.distance_m
        if self.track is not None:
            found["track_speed_mps"] = self.track.speed_mps
        return found


def best_motion(reference: JoinedRecording, others: Sequence[JoinedRecording]) -> BestMotion:
    """Choose speed and distance, and hold the sources against each other.

    Speed: the reference's wheel, its own record, then the others' records, then positions; never two mixed, for
    a step between two sources looks like braking. Distance: see `distance_candidates`.

    Parameters
    ----------
    reference : the recording that the series stands on
    others : recordings whose clocks are joined
    """
    other = _other_speed(reference, others)
    own, findings = _own_speed(reference, other)
    speed = own if own is not None and (other is None or own.source in ("wheel", "device")) else other
    track = other if speed is own else None
    if speed is not None and track is not None:
        findings += _scale_finding(speed, track)
    found_wheel_mps = own.speed_mps if own is not None and own.wheel_circumference_m is not None else None
    candidates, contradicting = distance_candidates([reference, *others], found_wheel_mps)
    findings += [*contradicting, *bridged_findings(candidates)]
    at_s = reference.recording.time_s
    courses_m = [candidate.measured_at(at_s) for candidate in candidates]
    straight_m = [candidate.at(at_s) for candidate in candidates if candidate.source == "positions"]
    distance_m = combined_distance_m(at_s, [*courses_m, *straight_m])
    best_distance = candidates[0] if candidates else None
    if speed is not None or distance_m is not None:
        findings.append(_sources_finding(speed, best_distance))
    return BestMotion(speed, track, distance_m, best_distance, tuple(findings))


def _own_speed(reference: JoinedRecording, other: SpeedCandidate | None) -> tuple[SpeedCandidate | None, list[Finding]]:
    """The reference's best speed; a wheel of unknown circumference is measured by the other's, or left out."""
    motion = reference.motion
    for source in motion.speeds_mps:
        if source != "wheel" or motion.wheel_scale_known:
            return SpeedCandidate(reference, source, _at_own_samples(reference, source)), []
    if "wheel" not in motion.speeds_mps:
        return None, []
    wheel_mps = _at_own_samples(reference, "wheel")
    ratio = None if other is None else _ratio(other.speed_mps, wheel_mps)
    if ratio is None or other is None or not 0.5 <= ratio * NOMINAL_CIRCUMFERENCE_M <= 3.5:
        return None, [Finding("wheel-circumference-unknown", "warning", {"file": reference.recording.called})]
    circumference_m = ratio * NOMINAL_CIRCUMFERENCE_M
    facts: dict[str, Fact] = {"file": other.joined.recording.called, "wheel_circumference_m": circumference_m}
    found = Finding("wheel-circumference-found", "note", facts)
    return SpeedCandidate(reference, "wheel", wheel_mps * ratio, circumference_m), [found]


def _other_speed(reference: JoinedRecording, others: Sequence[JoinedRecording]) -> SpeedCandidate | None:
    """The best speed of another recording."""
    sources: tuple[SpeedSource, ...] = ("wheel", "device", "positions", "distance")
    for source in sources:
        for other in others:
            if source not in other.motion.speeds_mps or (source == "wheel" and not other.motion.wheel_scale_known):
                continue
            speed_mps = other.speed_at_mps(reference.recording.time_s, source)
            if np.isfinite(speed_mps).any():
                return SpeedCandidate(other, source, speed_mps)
    return None


def _at_own_samples(item: JoinedRecording, source: SpeedSource) -> np.ndarray:
    """A speed at a recording's own samples; means over the step before are moved to where their steps meet.

    Left where they are they would come late by half a step, against the heights and places of a track above all. A
    mean that no other follows, at the end or before a gap, holds until its step ends.
    """
    speed_mps = item.motion.speeds_mps[source]
    if item.motion.moments_s is None or source == "positions":
        return speed_mps
    time_s = item.recording.time_s
    moved_mps = interpolated(time_s, item.moments_s(source), speed_mps, pauses_s=item.pauses_s)
    return np.where(np.isfinite(speed_mps) & np.isfinite(moved_mps), moved_mps, speed_mps)


def _ratio(
    first_mps: np.ndarray, second_mps: np.ndarray, *, moving_mps: float = 2.0, n_least: int = 60
) -> float | None:
    """How much larger the first speed is than the second where both move; ``None`` with too little to tell."""
    both_mask = (first_mps > moving_mps) & (second_mps > moving_mps)
    if both_mask.sum() < n_least:
        return None
    return float(first_mps[both_mask].sum() / second_mps[both_mask].sum())


# Speed in one unit read as in the other, and by what that multiplies or divides it.
UNIT_FACTORS = {"km/h and m/s": 3.6, "mph and km/h": 1.609344, "mph and m/s": 3.6 / 1.609344}


def _unit_slip(ratio: float, *, tolerance: float = 0.04) -> str:
    """The two units that a speed confuses if it is so many times another; "none" where no two are so far apart."""
    factor = max(ratio, 1 / ratio)
    return next((units for units, each in UNIT_FACTORS.items() if abs(factor / each - 1) <= tolerance), "none")


def _scale_finding(own: SpeedCandidate, other: SpeedCandidate, *, limit_pct: float = 3.0) -> list[Finding]:
    """A warning where two speeds differ by more than ``limit_pct``: kinetic energy errs by twice as much."""
    ratio = _ratio(own.speed_mps, other.speed_mps)
    if ratio is None or abs(100 * (ratio - 1)) <= limit_pct:
        return []
    facts: dict[str, Fact] = {
        "file": own.joined.recording.called,
        "other_file": other.joined.recording.called,
        "off_pct": 100 * (ratio - 1),
        "unit_slip": _unit_slip(ratio),
    }
    return [Finding("speeds-disagree", "warning", facts)]


def _sources_finding(speed: SpeedCandidate | None, distance: DistanceCandidate | None) -> Finding:
    facts: dict[str, Fact] = {}
    if speed is not None:
        facts |= {"speed_file": speed.joined.recording.called, "speed_source": speed.source}
    if distance is not None:
        facts |= {"distance_file": distance.joined.recording.called, "distance_source": distance.source}
    return Finding("motion-sources", "note", facts)
