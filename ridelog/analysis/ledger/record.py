"""The ledger put together, and what it tells that a rider must know: too much returned, fading regen, a limit."""

from collections.abc import Sequence

import numpy as np

from ridelog.analysis.ledger.bands import return_limit, speed_bands
from ridelog.analysis.ledger.entries import GENERATOR_EFFICIENCY, RIDER_LIMIT_RATIO, Basis, Book, Told
from ridelog.answer.hills import Hill
from ridelog.answer.ledger import Ledger, ReturnLimit, SpeedBand
from ridelog.findings import Fact, Finding


def ledger_record(basis: Basis, hills: Sequence[Hill]) -> tuple[Ledger | None, tuple[SpeedBand, ...], list[Finding]]:
    """The ledger of a ride, braking by speed, and findings; ``None`` without heights, speed or battery energy."""
    roadside = basis.roadside
    if roadside.course is None or roadside.road is None or basis.flow.energy is None:
        return None, (), []
    book = Book(basis)
    entries = book.entries(hills)
    if not entries:
        return None, (), []
    bands = speed_bands(book)
    limit = return_limit(basis.flow, roadside.motion.time_s, roadside.motion.speed_mps)
    by_kind = {kind: tuple(entry for entry in entries if entry.kind == kind) for kind in ("hill", "event")}
    assumed = assumed_words(basis, rider_known=entries[0].rider_wh is not None)
    ledger = Ledger(entries[0], by_kind["hill"], by_kind["event"], assumed, limit)
    return ledger, bands, [*beyond_available(book), *fading(bands), *limited(limit)]


def assumed_words(basis: Basis, *, rider_known: bool) -> tuple[str, ...]:
    """What the ledger takes for granted, for people."""
    low, high = GENERATOR_EFFICIENCY
    drag = basis.drag.words if basis.drag is not None else "the motor's drag is not known: it is in brakes and rest"
    rider = f"rider power ± {100 * RIDER_LIMIT_RATIO:g} %" if rider_known else "the rider's work is not known"
    return (f"from wheel to battery {100 * low:g} to {100 * high:g} % arrive", drag, rider)


def beyond_available(book: Book, *, least_u: float = 2.0, least_wh: float = 0.05) -> list[Finding]:
    """Braking events from which more came back than they had to offer, by more than ``least_u`` standard uncertainties.

    Parameters
    ----------
    book : the sums along the ride
    least_u : excess over its standard uncertainty; by chance 2 is exceeded once in 44 events
    least_wh : a smaller excess is no matter, and events are many [Wh]
    """
    over = []
    for run, available, returned in book.caught():
        excess_wh, u_wh = _excess(available, returned)
        if excess_wh > max(least_u * u_wh, least_wh):
            over.append((run, excess_wh))
    if not over:
        return []
    time_s = book.basis.roadside.motion.time_s
    (first, last), most_wh = max(over, key=lambda each: each[1])
    facts: dict[str, Fact] = {"n_events": len(over), "excess_wh": most_wh}
    return [Finding("captured-beyond-available", "warning", facts, float(time_s[first]), float(time_s[last]))]


def _excess(available: Told, returned: Told) -> tuple[float, float]:
    """Returned less available, and its standard uncertainty; 0 where one is not known [Wh]."""
    if available is None or returned is None or not np.isfinite(available).all():
        return 0.0, 0.0
    return float(returned[0] - available[0]), float((returned[1:] - available[1:]).std())


def fading(bands: Sequence[SpeedBand]) -> list[Finding]:
    """Less of what braking offered was captured at the lowest speeds than at others, beyond the intervals."""
    told = [band for band in bands if band.captured_pct is not None and band.captured_pct.high95 is not None]
    if len(told) < 2 or told[0].low_kmh > 0:
        return []
    slow, best = told[0], max(told, key=lambda band: _captured(band))
    low, high = slow.captured_pct, best.captured_pct
    if low is None or high is None or low.high95 is None or high.low95 is None or low.high95 >= high.low95:
        return []
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


def _captured(band: SpeedBand) -> float:
    return band.captured_pct.value if band.captured_pct is not None else -1.0
