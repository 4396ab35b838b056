"""Which recording's speed and distance the ride is told by, and what its sources say of each other."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ridelog.findings import Finding, Severity
from ridelog.timeline.motion.speeds import NOMINAL_CIRCUMFERENCE_M
from ridelog.timeline.series import Joined, combined_distance_m, interpolated

_SOURCES = {
    "wheel": "its wheel",
    "device": "its own record",
    "positions": "its positions",
    "distance": "its distance",
    "speed": "its speed",
}


@dataclass
class BestMotion:
    """Best speed and distance at the reference's samples, shape (n,), ``None`` where there is none [m/s], [m]."""

    speed_mps: np.ndarray | None = None
    track_speed_mps: np.ndarray | None = None
    distance_m: np.ndarray | None = None
    findings: list[Finding] = field(default_factory=list)
    speed_source: str | None = None
    distance_source: str | None = None
    wheel_circumference_m: float | None = None


def best_motion(reference: Joined, others: Sequence[Joined]) -> BestMotion:
    """Choose speed and distance, and hold the sources against each other.

    Speed: the reference's wheel, its own record, then the others' records, then positions; never two mixed, for
    a step between two sources looks like braking. Distance: see `_distance`.

    Parameters
    ----------
    reference : the recording that the series stands on
    others : recordings whose clocks are joined
    """
    best = BestMotion()
    own_source, own_mps = _own_speed(reference, others, best)
    other, other_source, other_mps = _other_speed(reference, others)
    if own_mps is not None and (other_mps is None or own_source in ("wheel", "device")):
        best.speed_mps, best.track_speed_mps, told_by = own_mps, other_mps, (reference, own_source)
    elif other_mps is not None and other is not None:
        best.speed_mps, told_by = other_mps, (other, other_source)
    else:
        told_by = (reference, None)
    if best.track_speed_mps is not None and best.speed_mps is not None and other is not None:
        best.findings += _scale_finding(reference, other, best.speed_mps, best.track_speed_mps)
    best.distance_m, distance_by = _distance(reference, others, own_source, own_mps, best.findings)
    best.speed_source = told_by[1]
    best.distance_source = distance_by[1] if distance_by is not None else None
    if best.speed_mps is not None or best.distance_m is not None:
        best.findings.append(_sources_finding(told_by, distance_by))
    return best


def _own_speed(reference: Joined, others: Sequence[Joined], best: "BestMotion") -> tuple[str | None, np.ndarray | None]:
    """The reference's best speed; a wheel of unknown circumference is measured against positions, or left out."""
    motion = reference.motion
    for source, values in motion.speeds_mps.items():
        if source != "wheel" or motion.wheel_scale_known:
            return source, _at_own_samples(reference, source, values)
    if "wheel" not in motion.speeds_mps:
        return None, None
    wheel_mps = _at_own_samples(reference, "wheel", motion.speeds_mps["wheel"])
    other, _, other_mps = _other_speed(reference, others)
    ratio = None if other_mps is None else _ratio(other_mps, wheel_mps)
    name = reference.recording.called
    if ratio is None or other is None or not 0.5 <= ratio * NOMINAL_CIRCUMFERENCE_M <= 3.5:
        message = (
            f"{name} counts turns of the wheel, but not how far one goes: set bike.wheel_circumference_m to use it."
        )
        best.findings.append(Finding("wheel-circumference-unknown", "warning", message))
        return None, None
    best.wheel_circumference_m = ratio * NOMINAL_CIRCUMFERENCE_M
    message = (
        f"The circumference of the wheel was taken from {other.recording.called}: "
        f"{ratio * NOMINAL_CIRCUMFERENCE_M:.2f} m; bike.wheel_circumference_m would say better."
    )
    best.findings.append(Finding("wheel-circumference-found", "note", message))
    return "wheel", wheel_mps * ratio


def _other_speed(reference: Joined, others: Sequence[Joined]) -> tuple[Joined | None, str | None, np.ndarray | None]:
    """The best speed that another recording offers, at the reference's samples."""
    for wanted in ("wheel", "device", "positions", "distance"):
        for other in others:
            for source, values in other.motion.speeds_mps.items():
                if source != wanted or (source == "wheel" and not other.motion.wheel_scale_known):
                    continue
                at_s = other.join.to_reference_s(_moments_s(other, source))
                at_rows = interpolated(reference.recording.time_s, at_s, values, pauses_s=other.pauses_s)
                if np.isfinite(at_rows).any():
                    return other, source, at_rows
    return None, None, None


def _moments_s(item: Joined, source: str) -> np.ndarray:
    """The moments that a speed of a recording stands for, on its own clock [s]."""
    moments_s = item.motion.moments_s
    return item.recording.time_s if moments_s is None or source == "positions" else moments_s


def _at_own_samples(item: Joined, source: str, values: np.ndarray) -> np.ndarray:
    """A speed at a recording's own samples; means over the step before are moved to where their steps meet.

    Left where they are they would come late by half a step, against the heights and places of a track above all. A
    mean that no other follows, at the end or before a gap, holds until its step ends.
    """
    if item.motion.moments_s is None or source == "positions":
        return values
    moved_mps = interpolated(item.recording.time_s, _moments_s(item, source), values, pauses_s=item.pauses_s)
    return np.where(np.isfinite(values) & np.isfinite(moved_mps), moved_mps, values)


def _ratio(
    first_mps: np.ndarray, second_mps: np.ndarray, *, moving_mps: float = 2.0, n_least: int = 60
) -> float | None:
    """How much larger the first speed is than the second where both move; ``None`` with too little to tell."""
    both_mask = (first_mps > moving_mps) & (second_mps > moving_mps)
    if both_mask.sum() < n_least:
        return None
    return float(first_mps[both_mask].sum() / second_mps[both_mask].sum())


def _scale_finding(
    reference: Joined, other: Joined, own_mps: np.ndarray, other_mps: np.ndarray, *, limit_pct: float = 3.0
) -> list[Finding]:
    """A warning where two speeds differ by more than ``limit_pct``: kinetic energy errs by twice as much."""
    ratio = _ratio(own_mps, other_mps)
    if ratio is None or abs(100 * (ratio - 1)) <= limit_pct:
        return []
    more = "more" if ratio > 1 else "less"
    message = (
        f"{reference.recording.called} shows {abs(100 * (ratio - 1)):.0f} % {more} speed than "
        f"{other.recording.called}; is the circumference of the wheel set right in the device?"
    )
    return [Finding("speeds-disagree", "warning", message)]


Offer = tuple[Joined, str, np.ndarray]


def _distance(
    reference: Joined,
    others: Sequence[Joined],
    own_source: str | None,
    own_mps: np.ndarray | None,
    findings: list[Finding],
    *,
    limit_pct: float = 5.0,
) -> tuple[np.ndarray | None, Offer | None]:
    """Distance along the ride, and which offer it mainly stands on.

    Devices' own distances come first where they count finely and agree with the positions to ``limit_pct``,
    then the way along the positions, then turns of the wheel and integrals of speed; the next ones fill holes.
    """
    everyone = [reference, *others]
    along = [_offer(item, "positions") for item in everyone]
    counted = [_offer(item, "device") for item in everyone]
    integrals = [_offer(item, name) for name in ("wheel", "speed") for item in everyone]
    checked_against = next((offer for offer in along if offer), None)
    fine: list[Offer] = []
    coarse: list[Offer] = []
    for offer in counted:
        if offer is None:
            continue
        off_pct = None if checked_against is None else _off_pct(offer, checked_against)
        if off_pct is not None and abs(off_pct) > limit_pct:
            findings.append(_distance_finding(offer, checked_against, off_pct))
        elif _is_coarse(offer[2]):
            coarse.append(offer)
        else:
            fine.append(offer)
    if own_source == "wheel" and own_mps is not None and not reference.motion.wheel_scale_known:
        from ridelog.arrays import time_gaps
        from ridelog.timeline.motion.counted import integral_m

        time_s = reference.recording.time_s
        integrals.append((reference, "wheel", integral_m(time_s, own_mps, ~time_gaps(time_s))))
    offers = [offer for offer in (*fine, *along, *integrals, *coarse) if offer is not None]
    findings += bridged_findings(offers)
    distance_m = combined_distance_m(
        reference.recording.time_s, [(item.reference_s, values, item.pauses_s) for item, _, values in offers]
    )
    return distance_m, offers[0] if offers else None


def _offer(item: Joined, name: str) -> Offer | None:
    values = {str(source): values for source, values in item.motion.distances_m.items()}.get(name)
    return None if values is None or np.isfinite(values).sum() < 2 else (item, name, values)


def bridged_findings(
    offers: Sequence[Offer], *, least_s: float = 20.0, least_m: float = 100.0, warn_pct: float = 5.0
) -> list[Finding]:
    """A finding where the distance stands on positions that are missing for longer stretches of road.

    Parameters
    ----------
    offers : of distance, best first; the first one is judged, the others are what it is held against
    least_s : shorter gaps bend away from the straight line by little [s]
    least_m : less in all does not matter [m]
    warn_pct : share of the ride, or of what another source counts across the gaps, that makes it a warning [%]
    """
    if not offers or offers[0][1] != "positions":
        return []
    item, _, along_m = offers[0]
    known = np.flatnonzero(np.isfinite(along_m))
    at_s, metres = item.reference_s[known], np.diff(along_m[known])
    gaps = np.flatnonzero(np.diff(at_s) > least_s)
    straight_m, lasted_s = float(metres[gaps].sum()), float(np.diff(at_s)[gaps].sum())
    others_m = [_across_m(offer, at_s[gaps], at_s[gaps + 1]) for offer in offers[1:] if offer[1] != "positions"]
    other_m = next((found_m for found_m in others_m if found_m is not None), None)
    if max(straight_m, other_m or 0.0) < least_m:
        return []
    off_m = abs(other_m - straight_m) if other_m is not None else 0.0
    share_pct = (
        100
        * max(straight_m if other_m is None else 0.0, off_m)
        / max(float(np.ptp(along_m[known])), straight_m, other_m or 0.0)
    )
    held = f"; by turns of the wheel or by speed it was {other_m:.0f} m" if other_m is not None else ""
    where = "once" if len(gaps) == 1 else f"{len(gaps)} times"
    message = (
        f"{item.recording.called} has no position for {lasted_s:.0f} s in all ({where}). The way across is counted "
        f"straight, {straight_m:.0f} m{held}; the road itself, and hills there, may be longer."
    )
    severity: Severity = "warning" if share_pct > warn_pct else "note"
    return [Finding("way-bridged", severity, message, float(at_s[gaps[0]]), float(at_s[gaps[-1] + 1]))]


def _across_m(offer: Offer, start_s: np.ndarray, end_s: np.ndarray) -> float | None:
    """Metres that another source counts over spans; ``None`` where it does not know all of them."""
    item, _, along_m = offer
    ends_m = [interpolated(at_s, item.reference_s, along_m, pauses_s=item.pauses_s) for at_s in (start_s, end_s)]
    metres = float(np.sum(ends_m[1] - ends_m[0]))
    return metres if np.isfinite(metres) else None


def _is_coarse(distance_m: np.ndarray, *, limit_m: float = 5.0) -> bool:
    """Whether a counter jumps by more than ``limit_m`` and mostly stands still between its jumps."""
    steps_m = np.diff(distance_m[np.isfinite(distance_m)])
    jumps_m = steps_m[steps_m > 0]
    return len(jumps_m) < 0.5 * len(steps_m) and float(np.median(jumps_m)) > limit_m


def _off_pct(offer: Offer, other: Offer) -> float | None:
    """By how much the offer's total exceeds the other's over the time that both know; ``None`` below 200 m [%]."""
    at_s = offer[0].reference_s
    values = interpolated(at_s, other[0].reference_s, other[2], pauses_s=other[0].pauses_s)
    both = np.flatnonzero(np.isfinite(values) & np.isfinite(offer[2]))
    if len(both) < 2 or values[both[-1]] - values[both[0]] < 200.0:
        return None
    own_m = offer[2][both[-1]] - offer[2][both[0]]
    return float(100 * (own_m / (values[both[-1]] - values[both[0]]) - 1))


def _distance_finding(offer: Offer, other: Offer | None, off_pct: float) -> Finding:
    by = other[0].recording.called if other else ""
    message = (
        f"The distance that {offer[0].recording.called} counts is {abs(off_pct):.0f} % "
        f"{'longer' if off_pct > 0 else 'shorter'} than the way along the positions of {by}; the positions are used."
    )
    return Finding("distances-disagree", "warning", message)


def _sources_finding(speed_by: tuple[Joined, str | None], distance_by: Offer | None) -> Finding:
    parts = []
    if speed_by[1] is not None:
        parts.append(f"Speed is that of {speed_by[0].recording.called} ({_SOURCES[speed_by[1]]})")
    if distance_by is not None:
        named = f"{distance_by[0].recording.called} ({_SOURCES[distance_by[1]]})"
        parts.append(f"distance that of {named}" if parts else f"Distance is that of {named}")
    return Finding("motion-sources", "note", "; ".join(parts) + ".")
