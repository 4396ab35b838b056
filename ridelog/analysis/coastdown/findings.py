"""What a rider must know of a coast-down before using it, and what to do where nothing could be fitted."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ridelog.analysis.road.load import DEFAULTS
from ridelog.answer.coastdown import CoastDown, CoastStretch
from ridelog.findings import Finding

HOW_TO = (
    "Roll out from about 30 to 10 km/h on a level, straight road, three times each way, in still air, motor off and "
    "not pedalling, sitting as you usually do; only where it is allowed and nobody else is about, hands on the brakes."
)


@dataclass(frozen=True)
class HowSeen:
    """What the logs show of the ride: whether the motor ran, whether the rider pedalled, how high the road is."""

    motor: bool
    pedals: bool
    height: bool


def nothing_fitted(stretches: Sequence[CoastStretch], seen: HowSeen, *, speed_known: bool) -> list[Finding]:
    """Why there are no figures, and how a ride that gives some is made."""
    if not speed_known:
        return [Finding("no-speed", "warning", "No file holds speed: coasting cannot be found.")]
    lasts = [stretch.end_s - stretch.start_s for stretch in stretches]
    if not lasts:
        held = "The ride holds no stretch of coasting of at least 8 s"
        if not seen.motor:
            held += " (where no current that could show regen is logged, only a roll-out counts)"
    else:
        speeds = [speed for each in stretches for speed in (each.start_speed_mps, each.end_speed_mps)]
        fastest, slowest = max(speeds) * 3.6, min(speeds) * 3.6
        n = "1 stretch" if len(lasts) == 1 else f"{len(lasts)} stretches"
        held = (
            f"The ride holds {n} of coasting, {sum(lasts):.0f} s in all, the longest {max(lasts):.0f} s, between "
            f"{slowest:.0f} and {fastest:.0f} km/h: too little to tell air resistance from rolling, or something else "
            "acted as well (a slope that no height tells of, a brake, pedals, a gale), for no bicycle slows like that"
        )
    return [Finding("coasting-short", "warning", f"{held}. {HOW_TO}")]


def coast_findings(answer: CoastDown, seen: HowSeen, assumed: Sequence[str]) -> list[Finding]:
    """What limits the figures of a coast-down."""
    found = []
    if not answer.settled:
        what = " and ".join(less_sure_than_usual(answer))
        text = f"Less sure than what is known of bikes without a measurement: {what}. {HOW_TO}"
        found.append(Finding("coastdown-vague", "warning", text))
    if not _both_ways(answer.used):
        if any(stretch.heading_deg is not None for stretch in answer.used):
            text = "No road was coasted along both ways: wind and grade do not cancel, and widen the intervals."
        else:
            text = "No positions are logged, so that runs both ways cannot be told: wind and grade widen the intervals."
        found.append(Finding("coastdown-one-way", "warning", text))
    if not seen.motor:
        text = (
            "No battery current is logged that could show regen: that the motor was off is only taken from the speed."
        )
        found.append(Finding("motor-unseen", "warning", text))
    if not seen.pedals:
        text = "Neither cadence nor rider power is logged: pedalling without the motor would not be seen here."
        found.append(Finding("pedalling-unseen", "note", text))
    if not seen.height:
        text = (
            "No file holds height: the road is taken for level within 0.5 %, which widens the intervals. On any other "
            "road these figures are wrong."
        )
        found.append(Finding("no-height", "warning", text))
    if answer.crr is None and answer.motor_drag_n is None:
        text = (
            "Rolling and a constant drag of the motor slow a bike alike: this Crr holds both. To part them, coast once "
            "more with the motor's wheel swapped for one that freewheels, or time how a wheel in the air spins down "
            "(torque = moment of inertia × loss of speed a second), and enter road.motor_drag_n."
        )
        found.append(Finding("motor-drag-inside", "note", text))
    n_left_out = len(answer.stretches) - len(answer.used)
    if n_left_out:
        what = "1 stretch was" if n_left_out == 1 else f"{n_left_out} stretches were"
        text = f"{what} left out of the fit: too short beside the others, or not slowed as coasting is."
        found.append(Finding("coasting-left-out", "note", text))
    if assumed:
        text = f"Not in the bike file and therefore assumed: {', '.join(assumed)}."
        found.append(Finding("bike-defaults", "note", text))
    return found


def less_sure_than_usual(answer: CoastDown) -> list[str]:
    """Which figures tell less than the defaults of `ridelog.analysis.road.load`, in words with these."""
    found = []
    for measured, key, name, unit in (
        (answer.cda_m2, "road.cda_m2", "CdA", " m²"),
        (answer.crr_with_drag, "road.crr", "Crr", ""),
    ):
        value, limit = DEFAULTS[key]
        if measured is None or measured.u >= limit / math.sqrt(3):
            found.append(f"{name} (usually {value:g} ± {limit:g}{unit})")
    return found


def _both_ways(used: Sequence[CoastStretch]) -> bool:
    ways = {(stretch.road, stretch.way) for stretch in used}
    return any((road, -way) in ways for road, way in ways)
