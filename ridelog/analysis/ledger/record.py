"""The ledger put together, and what it tells that a rider must know: too much returned, fading regen, a limit."""

from collections.abc import Sequence

import numpy as np

from ridelog.analysis.braking.events import Event, Events
from ridelog.analysis.braking.passes import HillPass
from ridelog.analysis.ledger.bands import return_limit, speed_bands
from ridelog.analysis.ledger.entries import GENERATOR_EFFICIENCY, RIDER_LIMIT_RATIO, Accounts
from ridelog.analysis.road.drag import Drag, drag_facts
from ridelog.analysis.scene import Scene
from ridelog.answer.ledger import Ledger, ReturnLimit, SpeedBand
from ridelog.findings import Fact, Facts, Finding
from ridelog.uncertain.quantity import Quantity


def ledger_record(
    scene: Scene, events: Events, passes: Sequence[HillPass]
) -> tuple[Ledger | None, tuple[SpeedBand, ...], list[Finding]]:
    """The ledger of a ride, braking by speed, and findings; ``None`` without heights, speed or battery energy.

    Parameters
    ----------
    scene : of the ride
    events : its braking events
    passes : over its hills

    Returns
    -------
    Ledger, braking by speed, and findings.
    """
    if scene.heights is None or scene.flow.energy is None:
        return None, (), []
    accounts = Accounts(scene, events)
    ride = accounts.ride()
    if ride is None:
        return None, (), []
    bands = speed_bands(scene, events)
    limit = return_limit(scene.flow, scene.time_s, scene.motion.speed_mps)
    hills = accounts.hills(passes)
    assumed = assumptions(scene.drag, rider_known=ride.rider_wh is not None)
    ledger = Ledger(ride, hills, accounts.each_event(), assumed, limit)
    return ledger, bands, [*beyond_available(scene, events), *fading(bands), *limited(limit)]


def assumptions(drag: Drag | None, *, rider_known: bool) -> Facts:
    """What the ledger assumes."""
    low, high = GENERATOR_EFFICIENCY
    return Facts(
        {
            "generator_efficiency_low_pct": 100 * low,
            "generator_efficiency_high_pct": 100 * high,
            **drag_facts(drag),
            "rider_power_limit_pct": 100 * RIDER_LIMIT_RATIO if rider_known else None,
        }
    )


def beyond_available(
    scene: Scene, events: Sequence[Event], *, least_u: float = 2.0, least_wh: float = 0.05
) -> list[Finding]:
    """Braking events from which more came back than was available, by more than ``least_u`` standard uncertainties.

    Parameters
    ----------
    scene, events : of the ride
    least_u : excess over its standard uncertainty; by chance 2 is exceeded once in 44 events
    least_wh : a smaller excess is no matter, and events are many [Wh]

    Returns
    -------
    One finding at most, of the event with the largest excess.
    """
    facts_of = [(event.run, event.facts) for event in events]
    over = [  # never one of which either is not known
        (run, each.excess_wh) for run, each in facts_of if each.excess_wh > max(least_u * each.excess_u_wh, least_wh)
    ]
    if not over:
        return []
    time_s = scene.time_s
    (first, last), most_wh = max(over, key=lambda each: each[1])
    facts: dict[str, Fact] = {"n_events": len(over), "excess_wh": most_wh}
    height_m = still_height_m(scene)
    if height_m is not None:
        return [Finding("height-still", "warning", {**facts, "height_m": height_m})]
    return [Finding("captured-beyond-available", "warning", facts, float(time_s[first]), float(time_s[last]))]


def still_height_m(scene: Scene, *, least_change_m: float = 0.5, least_m: float = 1000.0) -> float | None:
    """The height at which a whole ride stays; ``None`` where it changes, or too little was ridden to tell [m].

    Parameters
    ----------
    scene : of the ride
    least_change_m : no road stays within this for long [m]
    least_m : a shorter ride may be level [m]

    Returns
    -------
    The mean height.
    """
    track = scene.track
    known = np.isfinite(track.altitude_m) & np.isfinite(track.distance_m)
    if not known.any() or float(np.ptp(track.distance_m[known])) < least_m:
        return None
    heights_m = track.altitude_m[known]
    return float(heights_m.mean()) if float(np.ptp(heights_m)) < least_change_m else None


def fading(bands: Sequence[SpeedBand]) -> list[Finding]:
    """Less of what was available was captured at the lowest speeds than at others, beyond the intervals.

    Told of the band that captured most of those whose intervals lie apart: one that hardly had anything to capture is
    not compared with.
    """
    told = [(band, band.captured_pct) for band in bands if band.captured_pct is not None]
    if not told or told[0][0].low_kmh > 0:
        return []
    slow, low = told[0]
    apart = [(band, share) for band, share in told if _beyond(share, low)]
    if not apart:
        return []
    best, high = max(apart, key=lambda each: each[1].value)
    facts: dict[str, Fact] = {
        "below_mps": (slow.high_kmh or 0.0) / 3.6,
        "captured_pct": low.value,
        "available_wh": slow.available_wh.value if slow.available_wh is not None else None,
        "best_low_mps": best.low_kmh / 3.6,
        "best_high_mps": best.high_kmh / 3.6 if best.high_kmh is not None else None,
        "best_captured_pct": high.value,
    }
    return [Finding("regen-fades", "note", facts)]


def limited(limit: ReturnLimit | None) -> list[Finding]:
    """Regeneration meets a limit."""
    if limit is None:
        return []
    facts: dict[str, Fact] = {
        "limit_a": limit.current_a.value,
        "above_mps": limit.above_mps,
        "n_events": limit.n_events,
        "lasted_s": limit.time_s,
    }
    return [Finding("regen-limited", "note", facts)]


def _beyond(more: Quantity, less: Quantity) -> bool:
    """Whether one interval lies above another."""
    return more.low95 is not None and less.high95 is not None and more.low95 > less.high95
