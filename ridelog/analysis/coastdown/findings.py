"""What a rider must know of a coast-down before using it, and what to do where nothing could be fitted."""

import math
from collections.abc import Mapping, Sequence

from ridelog.analysis.coastdown.coasting import CoastingSettings
from ridelog.analysis.road.load import DEFAULTS, limit_key
from ridelog.answer.coastdown import CoastDown, CoastStretch
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass

LEVEL_WITHIN_PCT = 0.5  # a road whose height is not logged; `CoastDownSettings.level_grade_u` is its uncertainty


@dataclass(frozen=True)
class HowSeen:
    """What the logs show of the ride: whether the motor ran, whether the rider pedalled, how high the road is."""

    motor: bool
    pedals: bool
    height: bool


def nothing_fitted(stretches: Sequence[CoastStretch], seen: HowSeen, *, speed_known: bool) -> list[Finding]:
    """Why there are no figures, and how a ride that gives some is made.

    Parameters
    ----------
    stretches : of coasting, that there were
    seen : what the logs show
    speed_known : a file holds speed

    Returns
    -------
    One finding.
    """
    if not speed_known:
        return [Finding("no-speed", "warning", {"used_for": "coasting"})]
    lasts = [stretch.end_s - stretch.start_s for stretch in stretches]
    speeds = [speed for each in stretches for speed in (each.start_speed_mps, each.end_speed_mps)]
    facts: dict[str, Fact] = {
        "n_stretches": len(lasts),
        "shortest_s": CoastingSettings().least_s,
        "lasted_s": sum(lasts),
        "longest_s": max(lasts, default=None),
        "slowest_mps": min(speeds, default=None),
        "fastest_mps": max(speeds, default=None),
        "motor_seen": seen.motor,
    }
    return [Finding("coasting-short", "warning", facts)]


def coast_findings(answer: CoastDown, seen: HowSeen, assumed: Mapping[str, float]) -> list[Finding]:
    """What limits the figures of a coast-down.

    Parameters
    ----------
    answer : without its findings
    seen : what the logs show
    assumed : values that the bike file does not state, with their limits

    Returns
    -------
    In no particular order of gravity.
    """
    found = []
    if not answer.settled:
        found.append(Finding("coastdown-vague", "warning", less_sure_than_usual(answer)))
    if not _both_ways(answer.used):
        positions = any(stretch.heading_deg is not None for stretch in answer.used)
        found.append(Finding("coastdown-one-way", "warning", {"positions_logged": positions}))
    if not seen.motor:
        found.append(Finding("motor-unseen", "warning"))
    if not seen.pedals:
        found.append(Finding("pedalling-unseen", "note"))
    if not seen.height:
        facts: dict[str, Fact] = {"used_for": "coasting", "level_within_pct": LEVEL_WITHIN_PCT}
        found.append(Finding("no-height", "warning", facts))
    if answer.crr is None and answer.motor_drag_n is None:
        found.append(Finding("motor-drag-inside", "note"))
    n_left_out = len(answer.stretches) - len(answer.used)
    if n_left_out:
        found.append(Finding("coasting-left-out", "note", {"n_left_out": n_left_out}))
    if assumed:
        found.append(Finding("bike-defaults", "note", {"used_for": "coasting", **assumed}))
    return found


def less_sure_than_usual(answer: CoastDown) -> dict[str, float]:
    """Which figures tell less than the defaults of `ridelog.analysis.road.load`, with these and their limits."""
    found = {}
    for measured, key in ((answer.cda_m2, "cda_m2"), (answer.crr_with_drag, "crr")):
        value, limit = DEFAULTS[f"road.{key}"]
        if measured is None or measured.u >= limit / math.sqrt(3):
            found.update({key: value, limit_key(key): limit})
    return found


def _both_ways(used: Sequence[CoastStretch]) -> bool:
    ways = {(stretch.road, stretch.way) for stretch in used}
    return any((road, -way) in ways for road, way in ways)
