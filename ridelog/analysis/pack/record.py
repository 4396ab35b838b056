"""Was the pack treated well: what it took against what its maker allows, and what a rider must hear of it.

Every finding states what was logged against the limit that the user entered.
"""

import numpy as np
import pandas as pd

from ridelog.analysis.electrical.flow import ElectricalFlow
from ridelog.analysis.electrical.rest import resolution
from ridelog.analysis.pack.cut_out import CutOut, Weakening, cut_outs, weakening
from ridelog.analysis.pack.headroom import headroom_q, start_charge_pct
from ridelog.analysis.pack.limits import (
    charge_current_q,
    cold_charge,
    highest_cell_q,
    highest_mean_charge_a,
    lasting_mask,
    over_current,
    over_voltage,
)
from ridelog.analysis.pack.log import PackLog, pack_log
from ridelog.analysis.pack.resistance import current_steps, resistance_q
from ridelog.answer.pack import Pack
from ridelog.findings import Fact, Finding, Severity
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, PackSection
from ridelog.uncertain.quantity import Quantity

# Where the bike file gives no limit: usual for lithium-ion cells (common practice, no source); named in the finding.
USUAL_FULL_CELL_V = 4.20
USUAL_MIN_TEMPERATURE_C = 0.0

HARMFUL_ABOVE_FULL_V = 0.10  # 4.3 V: cells age fast (common practice, no source)
DANGEROUS_ABOVE_FULL_V = 0.30  # 4.5 V: lithium metal, gas, fire (common practice, no source)
LEAST_HEADROOM_AH = 0.01  # less is not worth a word


def pack_record(
    recording: Recording | None, flow: ElectricalFlow, series: pd.DataFrame, bike: Bike
) -> tuple[Pack, list[Finding]]:
    """How the pack was treated, and its findings.

    Parameters
    ----------
    recording : the electrical recording, ``None`` without one
    flow : what was integrated of it
    series : at its samples; ``speed_mps`` and ``braking_mask`` are used
    bike : limits of the pack and of the sensor

    Returns
    -------
    pack, findings : what is not known is ``None``
    """
    log = pack_log(recording, flow, series, bike)
    if log is None:
        return Pack(), []
    full_v = full_cell_v(bike.pack)
    cuts = cut_outs(log, full_v, coldest_c(bike.pack))
    connected = np.ones(len(log.time_s), dtype=bool)
    for cut in cuts:
        connected &= ~((log.time_s > cut.start_s) & (log.time_s <= cut.end_s))
    headroom = None
    if flow.charge is not None and flow.current_a is not None and flow.shows_return:
        headroom = headroom_q(flow.charge, flow.current_a, log.counted)
    resistance = _resistance(log, connected)
    weaker = weakening(log, full_v, resistance.value) if resistance is not None else None
    pack = Pack(
        resistance_ohm=resistance,
        highest_cell_v=highest_cell_q(log, connected),
        highest_charge_a=charge_current_q(log),
        start_charge_headroom_ah=headroom,
    )
    cells = cell_findings(log, bike.pack)
    findings = [
        *charge_path_findings(log, bike.pack),
        *cut_out_findings(cuts, bike.pack),
        *weakening_findings(weaker, bike.pack),
        *cells,
        *cold_findings(log, bike.pack),
        *current_findings(log, pack.highest_charge_a, bike.pack),
        *headroom_findings(headroom, bike.pack, too_full=bool(cuts) or any(cell.severity != "note" for cell in cells)),
    ]
    return pack, findings


def _resistance(log: PackLog, connected: np.ndarray) -> Quantity | None:
    usable = connected & np.isfinite(log.voltage_v)
    if not log.shows_return:  # below zero such a log holds something else than the current
        usable &= log.current_a > max(0.3, 4 * log.noise_a)
    if usable.sum() < 2:
        return None
    steps = current_steps(log.time_s, log.current_a, np.nan_to_num(log.voltage_v), usable)
    return resistance_q(steps, log.limits, log.noise_a, resolution_v=resolution(log.voltage_v[usable]))


def full_cell_v(pack: PackSection) -> float:
    """Voltage of a full cell [V]."""
    return pack.full_cell_v if pack.full_cell_v is not None else USUAL_FULL_CELL_V


def coldest_c(pack: PackSection) -> float:
    """Lowest temperature for charging [°C]."""
    given = pack.min_charge_temperature_c
    return given if given is not None else USUAL_MIN_TEMPERATURE_C


def _full(pack: PackSection) -> dict[str, float | bool]:
    return {"full_cell_v": full_cell_v(pack), "full_cell_given": pack.full_cell_v is not None}


def charge_path_findings(log: PackLog, pack: PackSection) -> list[Finding]:
    """Charge that went in where the bike file does not say that it may."""
    charging = lasting_mask(log.time_s, log.charging)
    if pack.charge_path == "allowed" or not charging.any():
        return []
    stated = "charge_path" in pack.model_fields_set
    severity: Severity = "danger" if pack.charge_path == "blocked" else "warning" if stated else "note"
    highest_a = float(-log.current_a[charging].min())
    facts: dict[str, Fact] = {"charge_path": pack.charge_path, "stated": stated, "highest_charge_a": highest_a}
    return [Finding("charge-path", severity, facts)]


def cut_out_findings(cuts: list[CutOut], pack: PackSection) -> list[Finding]:
    """The charge path opened while the bike was braked."""
    if not cuts:
        return []
    cut = cuts[0]
    facts: dict[str, Fact] = {
        "first_s": cut.start_s,
        "last_s": cuts[-1].start_s,
        "n_times": len(cuts),
        "returned_a": cut.returned_a,
        "before_v": cut.before_v,
        "after_v": cut.after_v,
        "voltage_jumped": cut.bus_jumped,
        "cells_full": cut.full,
        "cell_v": cut.cell_v,
        "too_cold": cut.cold,
        "min_charge_temperature_c": coldest_c(pack),
        **_full(pack),
    }
    return [Finding("charge-cut-out", "danger", facts, cut.start_s, cuts[-1].end_s)]


def weakening_findings(weaker: Weakening | None, pack: PackSection) -> list[Finding]:
    """Regen that was taken back as the pack filled up."""
    if weaker is None:
        return []
    facts: dict[str, Fact] = {
        "first_s": weaker.start_s,
        "lasted_s": weaker.end_s - weaker.start_s,
        "before_a": weaker.before_a,
        "after_a": weaker.after_a,
        "cell_v": weaker.cell_v,
        **_full(pack),
    }
    return [Finding("regen-weakened", "note", facts, weaker.start_s, weaker.end_s)]


def cell_findings(log: PackLog, pack: PackSection) -> list[Finding]:
    """Charge put into cells that were above full."""
    full_v = full_cell_v(pack)
    over = over_voltage(log, full_v)
    if over is None:
        return []
    severity: Severity = "warning"
    if not over.certain:
        severity, verdict = "note", "within-error"
    elif over.may_be_v >= full_v + DANGEROUS_ABOVE_FULL_V:
        severity, verdict = "danger", "dangerous"
    elif over.highest_v >= full_v + HARMFUL_ABOVE_FULL_V:
        verdict = "harmful"
    else:
        verdict = "above"
    facts: dict[str, Fact] = {
        "verdict": verdict,
        "lasted_s": over.exceeded.lasted_s,
        "highest_v": over.highest_v,
        "cells_logged": bool(log.n_cells_logged),
        "cells_in_series": None if log.n_cells_logged else pack.cells_in_series,
        "voltage_gain_limit_pct": 100 * log.limits.voltage_gain,
        "dangerous_v": full_v + DANGEROUS_ABOVE_FULL_V,
        **_full(pack),
    }
    return [Finding("cell-overcharged", severity, facts, over.exceeded.start_s, over.exceeded.end_s)]


def cold_findings(log: PackLog, pack: PackSection) -> list[Finding]:
    """Charge put into a pack that was too cold for it."""
    lowest_c = coldest_c(pack)
    cold = cold_charge(log, lowest_c)
    if cold is None:
        return []
    facts: dict[str, Fact] = {
        "charge_ah": cold.exceeded.into_ah,
        "min_charge_temperature_c": lowest_c,
        "min_charge_temperature_given": pack.min_charge_temperature_c is not None,
        "lowest_c": cold.lowest_c,
        "within_error": not cold.certain,
    }
    severity: Severity = "warning" if cold.certain else "note"
    return [Finding("charged-cold", severity, facts, cold.exceeded.start_s, cold.exceeded.end_s)]


def current_findings(log: PackLog, highest: Quantity | None, pack: PackSection) -> list[Finding]:
    """Charge current above what the pack may take.

    Parameters
    ----------
    log : of one recording
    highest : highest current into the battery [A]
    pack : what the bike file says of the pack

    Returns
    -------
    One finding, a note where the sensor's own error explains it; none where the bike file states no limit.
    """
    limit_a = pack.max_charge_a
    over = over_current(log, limit_a) if limit_a is not None else None
    if over is None or highest is None or limit_a is None:
        return []
    facts: dict[str, Fact] = {
        "limit_a": limit_a,
        "lasted_s": over.exceeded.lasted_s,
        "highest_a": highest.value,
        "mean_10_s_a": highest_mean_charge_a(log),
        "within_error": not over.certain,
    }
    severity: Severity = "warning" if over.certain else "note"
    return [Finding("charge-current-high", severity, facts, over.exceeded.start_s, over.exceeded.end_s)]


def headroom_findings(headroom: Quantity | None, pack: PackSection, *, too_full: bool) -> list[Finding]:
    """The state of charge at which this ride may be begun so that all that it returned fits.

    Parameters
    ----------
    headroom : charge that must be free at the start; ``None`` where not known [Ah]
    pack : what the bike file says of the pack
    too_full : charging broke off, or cells came above full

    Returns
    -------
    One finding; none where the ride was never charged above its start.
    """
    if headroom is None or headroom.value < LEAST_HEADROOM_AH:
        return []
    needed_ah, capacity_ah = headroom.high95 or headroom.value, pack.capacity_ah
    facts: dict[str, Fact] = {
        "headroom_ah": headroom.value,
        "needed_ah": needed_ah,
        "capacity_ah": capacity_ah,
        "leave_at_pct": None if capacity_ah is None else start_charge_pct([needed_ah], capacity_ah),
        "too_full": too_full,
    }
    return [Finding("start-charge", "note", facts)]
