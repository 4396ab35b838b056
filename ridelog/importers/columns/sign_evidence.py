"""What the columns of a log say of the sign of its current: voltage, state of charge and the device's own counters.

Pure functions on arrays of equal length; NaN where a sample is missing. How the bike moved and how much flowed each way
is in `ridelog.signs`.
"""

from typing import Literal

import numpy as np

from ridelog.findings import Fact
from ridelog.importers.columns.evidence import voltage_sag
from ridelog.signs import SignEvidence, fresh_rows, net_and_gross


def sign_by_sag(voltage_v: np.ndarray, current_a: np.ndarray) -> SignEvidence | None:
    """Current out of a battery lowers its voltage.

    A device may hold a voltage for seconds while the current goes on: all rows are asked, and those at which the
    voltage was read anew.
    """
    fresh = fresh_rows(voltage_v)
    found = [voltage_sag(voltage_v, current_a), voltage_sag(voltage_v[fresh], current_a[fresh])]
    sags = [each for each in found if each is not None]
    if not sags:
        return None
    clear = [each for each in sags if each.is_clear]
    if len({each.slope < 0 for each in clear}) > 1:
        clear = []
    sag = max(clear or sags, key=lambda each: each.n * each.alike_share)
    facts: dict[str, Fact] = {
        "volts_per_ampere": sag.slope,
        "volts_per_ampere_clear": bool(clear),
        "volts_per_ampere_alike_pct": 100 * sag.alike_share,
        "n_current_steps": sag.n,
    }
    if not clear:
        return SignEvidence("unclear", facts)
    return SignEvidence("as read" if sag.slope < 0 else "reversed", facts)


def sign_by_fall(level_pct: np.ndarray, current_a: np.ndarray, time_s: np.ndarray) -> SignEvidence | None:
    """The net current out of a battery lowers its state of charge.

    Parameters
    ----------
    level_pct, current_a, time_s : shape (n,) [%], [A], [s]

    Returns
    -------
    Which way positive flows, with the facts; ``None`` where the log holds too little.
    """
    net, gross = net_and_gross(current_a, time_s)
    known = level_pct[np.isfinite(level_pct)]
    if len(known) < 2 or gross == 0 or abs(net) < 0.3 * gross:
        return None
    fall = float(known[0] - known[-1])
    if abs(fall) < 2:
        return None
    out = (fall > 0) == (net > 0)
    return SignEvidence("as read" if out else "reversed", {"state_of_charge_fall_pct": fall, "net_charge_as": net})


def sign_by_counter(
    counter_ah: np.ndarray, current_a: np.ndarray, time_s: np.ndarray, which: Literal["drawn", "returned", "net"]
) -> SignEvidence | None:
    """The device's own count of charge grows by the integral of the current that it counts.

    Parameters
    ----------
    counter_ah, current_a, time_s : shape (n,)
    which : the direction that the counter counts

    Returns
    -------
    Which way positive flows, with the facts; ``None`` where the log holds too little.
    """
    known = counter_ah[np.isfinite(counter_ah)]
    net, gross = net_and_gross(current_a, time_s)
    if len(known) < 2 or gross == 0:
        return None
    grown = float(known[-1] - known[0])
    out, back = (gross + net) / 7200, (gross - net) / 7200
    expected = {"drawn": (out, back), "returned": (back, out), "net": (out - back, back - out)}[which]
    off = [abs(grown - value) for value in expected]
    if min(off) > 0.25 * max(off):
        return None
    fits = off[0] < off[1]
    facts: dict[str, Fact] = {f"{which}_counter_rise_ah": grown, f"{which}_counter_fits_as_read": fits}
    return SignEvidence("as read" if fits else "reversed", facts)


def verdict(evidence: list[SignEvidence]) -> SignEvidence:
    """What all evidence says together; where kinds of evidence contradict each other, "unclear"."""
    ways = {item.way for item in evidence} - {"unclear"}
    facts = {name: fact for item in evidence if item.way != "unclear" or not ways for name, fact in item.facts.items()}
    return SignEvidence(ways.pop() if len(ways) == 1 else "unclear", facts)
