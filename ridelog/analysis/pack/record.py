"""Was the pack treated well: what it took against what its maker allows, and what a rider must hear of it.

Every sentence states what was logged against the limit that the user entered. None calls anything harmless.
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
from ridelog.findings import Finding, Severity
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, PackSection
from ridelog.uncertain.quantity import Quantity

# Where the bike file gives no limit: usual for lithium-ion cells (common practice, no source); named in the finding.
USUAL_FULL_CELL_V = 4.20
USUAL_MIN_TEMPERATURE_C = 0.0

HARMFUL_ABOVE_FULL_V = 0.10  # 4.3 V: cells age fast (common practice, no source)
DANGEROUS_ABOVE_FULL_V = 0.30  # 4.5 V: lithium metal, gas, fire (common practice, no source)
LEAST_HEADROOM_AH = 0.01  # less is not worth a word

ASK = "Ask the pack's maker or a qualified technician"
DISTRESS = "If the pack swells, gets hot, smells or smokes, stop, move away from it and call the emergency services."


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
    full_v, _ = full_cell(bike.pack)
    cuts = cut_outs(log, full_v, coldest(bike.pack)[0])
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


def full_cell(pack: PackSection) -> tuple[float, str]:
    """Voltage of a full cell [V], and where that number is from."""
    if pack.full_cell_v is not None:
        return pack.full_cell_v, "bike file"
    return USUAL_FULL_CELL_V, "usual for lithium-ion; the bike file gives no `full_cell_v`"


def coldest(pack: PackSection) -> tuple[float, str]:
    """Lowest temperature for charging [°C], and where that number is from."""
    if pack.min_charge_temperature_c is not None:
        return pack.min_charge_temperature_c, "bike file"
    return USUAL_MIN_TEMPERATURE_C, "usual for lithium-ion; the bike file gives no `min_charge_temperature_c`"


def charge_path_findings(log: PackLog, pack: PackSection) -> list[Finding]:
    """Charge that went in where the bike file does not say that it may."""
    charging = lasting_mask(log.time_s, log.charging)
    if pack.charge_path == "allowed" or not charging.any():
        return []
    flowed = f"the log shows up to {float(-log.current_a[charging].min()):.1f} A into the battery"
    if pack.charge_path == "blocked":
        text = (
            f"Charge must not enter this pack through its discharge terminals, says the bike file, and {flowed}. Its "
            f"BMS may not watch over charge that comes in there. {ASK} before riding with regen again. {DISTRESS}"
        )
        return [Finding("charge-path", "danger", text)]
    stated = "charge_path" in pack.model_fields_set
    says = "says that it is unknown" if stated else "does not say (`charge_path`)"
    text = (
        f"Whether charge may enter this pack through its discharge terminals, the bike file {says}, and {flowed}. Not "
        "every BMS watches over charge that comes in there. Ask the pack's maker."
    )
    return [Finding("charge-path", "warning" if stated else "note", text)]


def cut_out_findings(cuts: list[CutOut], pack: PackSection) -> list[Finding]:
    """The charge path opened while the bike was braked."""
    if not cuts:
        return []
    cut = cuts[0]
    volts = ""
    if cut.before_v is not None and cut.after_v is not None:
        way = "jumped" if cut.bus_jumped else "went"
        volts = f", the voltage {way} from {cut.before_v:.1f} to {cut.after_v:.1f} V"
    again = f" It did so {len(cuts)} times, last at {_clock(cuts[-1].start_s)}." if len(cuts) > 1 else ""
    text = (
        f"At {_clock(cut.start_s)} the current into the battery broke off from {cut.returned_a:.1f} A at once{volts}, "
        f"and the bike rolled on{_why(cut, pack)}. That is how it looks when a BMS opens the charge path: regen "
        "braking is gone without warning, and the motor's voltage may be left to the controller alone."
        f"{again} Count on both friction brakes only. {ASK} before riding with regen on such a pack again. {DISTRESS}"
    )
    return [Finding("charge-cut-out", "danger", text, cut.start_s, cuts[-1].end_s)]


def _why(cut: CutOut, pack: PackSection) -> str:
    reasons = []
    if cut.full and cut.cell_v is not None:
        full_v, source = full_cell(pack)
        reasons.append(f"cells stood at {cut.cell_v:.2f} V, full is {full_v:.2f} V ({source})")
    if cut.cold:
        reasons.append(f"the battery was colder than the {coldest(pack)[0]:g} °C for charging")
    return f"; {' and '.join(reasons)}" if reasons else ""


def weakening_findings(weaker: Weakening | None, pack: PackSection) -> list[Finding]:
    """Regen that was taken back as the pack filled up."""
    if weaker is None:
        return []
    full_v, source = full_cell(pack)
    text = (
        f"At {_clock(weaker.start_s)} the current into the battery fell from {weaker.before_a:.1f} to "
        f"{weaker.after_a:.1f} A in {weaker.end_s - weaker.start_s:.0f} s of braking at one speed, while cells "
        f"were held at {weaker.cell_v:.2f} V (full is {full_v:.2f} V, {source}): controllers take regen back as a pack "
        "fills up. Expect less braking from it there."
    )
    return [Finding("regen-weakened", "note", text, weaker.start_s, weaker.end_s)]


def cell_findings(log: PackLog, pack: PackSection) -> list[Finding]:
    """Charge put into cells that were above full."""
    full_v, source = full_cell(pack)
    over = over_voltage(log, full_v)
    if over is None:
        return []
    span = over.exceeded.start_s, over.exceeded.end_s
    cells = "the highest cell" if log.n_cells_logged else "the mean of the cells"
    above = f"for {_lasted(over.exceeded.lasted_s)} up to {over.highest_v:.3f} V ({cells})"
    hidden = "" if log.n_cells_logged else " Single cells may lie above their mean."
    limit = f"the {full_v:.2f} V of a full cell ({source})"
    gain = f"± {100 * log.limits.voltage_gain:g} % of the voltage reading"
    if not over.certain:
        text = f"While charge went in, cells may have been above {limit}: {above}. {gain} explain as much.{hidden}"
        return [Finding("cell-overcharged", "note", text, *span)]
    text = f"Charge went into cells above {limit}: {above}; {gain} do not explain it.{hidden} "
    severity: Severity = "warning"
    if over.may_be_v >= full_v + DANGEROUS_ABOVE_FULL_V:
        severity = "danger"
        text += (
            f"From {full_v + DANGEROUS_ABOVE_FULL_V:.1f} V or so on, such cells can catch fire, also later. "
            f"Do not charge or ride with this pack until its maker or a qualified technician has judged it. {DISTRESS}"
        )
    elif over.highest_v >= full_v + HARMFUL_ABOVE_FULL_V:
        text += f"So much above full costs cells much of their life. {ASK} before charging it so again. {DISTRESS}"
    else:
        text += f"Above full, cells age faster. {ASK}, and start such a ride with less charge."
    return [Finding("cell-overcharged", severity, text, *span)]


def cold_findings(log: PackLog, pack: PackSection) -> list[Finding]:
    """Charge put into a pack that was too cold for it."""
    lowest_c, source = coldest(pack)
    cold = cold_charge(log, lowest_c)
    if cold is None:
        return []
    text = (
        f"{cold.exceeded.into_ah:.3f} Ah went into the battery while it was colder than the {lowest_c:g} °C from which "
        f"it may be charged ({source}): {cold.lowest_c:.1f} °C at the coldest. In the cold, lithium plates out in the "
        f"cells, which costs capacity and may short them later. {ASK} whether regen may be used at this temperature."
    )
    if not cold.certain:
        text += " The difference is no more than what usual temperature sensors err."
    severity: Severity = "warning" if cold.certain else "note"
    return [Finding("charged-cold", severity, text, cold.exceeded.start_s, cold.exceeded.end_s)]


def current_findings(log: PackLog, highest: Quantity | None, pack: PackSection) -> list[Finding]:
    """Charge current above what the pack may take."""
    limit_a = pack.max_charge_a
    over = over_current(log, limit_a) if limit_a is not None else None
    if over is None or highest is None or limit_a is None:
        return []
    mean_a = highest_mean_charge_a(log)
    steady = "" if mean_a is None else f", and {mean_a:.1f} A as the mean of the hardest 10 s"
    says = "went above" if over.certain else "may have been above"
    text = (
        f"The current into the battery {says} the {limit_a:g} A of the bike file for "
        f"{_lasted(over.exceeded.lasted_s)}: {highest.value:.1f} A at most{steady}. "
    )
    if not over.certain:
        text += "What the sensor may be off by explains as much."
        return [Finding("charge-current-high", "note", text, over.exceeded.start_s, over.exceeded.end_s)]
    text += "Whether the pack takes short pulses above its limit, only its maker can say; else turn regen down."
    return [Finding("charge-current-high", "warning", text, over.exceeded.start_s, over.exceeded.end_s)]


def headroom_findings(headroom: Quantity | None, pack: PackSection, *, too_full: bool) -> list[Finding]:
    """The state of charge at which this ride may be begun so that all that it returned fits."""
    if headroom is None or headroom.value < LEAST_HEADROOM_AH:
        return []
    needed_ah = headroom.high95 or headroom.value
    text = (
        f"At its highest point of charge this ride had put {headroom.value:.2f} Ah more into the battery than it had "
        f"drawn since the start; so much must be free when leaving"
    )
    if too_full:
        text += ". That is not enough: charging broke off, or cells came above full: leave with less charge than then"
    elif pack.capacity_ah is not None:
        leave_pct = start_charge_pct([needed_ah], pack.capacity_ah)
        text += f". Of {pack.capacity_ah:g} Ah, leave at {leave_pct} % or less"
    return [Finding("start-charge", "note", f"{text}.")]


def _lasted(seconds: float) -> str:
    if seconds < 10:
        return f"{seconds:.1f} s"
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"


def _clock(seconds: float) -> str:
    """ "1:45" or "2:01:45": when it was, from the first sample of the electrical log."""
    whole = int(seconds)
    hours, minutes = whole // 3600, whole % 3600 // 60
    return f"{hours}:{minutes:02d}:{whole % 60:02d}" if hours else f"{minutes}:{whole % 60:02d} min"
