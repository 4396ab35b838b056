"""Which way positive current and power flow: by words, by the map, or by what else the log shows."""

from typing import TYPE_CHECKING, Literal

import numpy as np

from ridelog.findings import Fact, Finding
from ridelog.importers.columns import evidence
from ridelog.importers.columns.evidence import SignEvidence
from ridelog.tell.findings.signs import evidence_words
from ridelog.tell.reasons import columns as reasons

if TYPE_CHECKING:
    from ridelog.importers.columns.column import Assignment, Column


def settle_signs(todo: "Assignment") -> None:
    """Give current and power their sign, with the reason on the column and a finding where it was turned."""
    currents, powers = todo.of("battery current"), todo.of("battery power")
    if len(currents) == 1:
        current = currents[0]
        if current.unit and not current.meaning.unsigned:
            _settle(todo, current, _for_current(todo, current))
    if len(powers) == 1 and powers[0].unit and not powers[0].meaning.unsigned:
        _settle_power(todo, powers[0], currents)


def _for_current(todo: "Assignment", current: "Column") -> list[SignEvidence]:
    """All evidence on the sign of the current; acceleration only where nothing else speaks."""
    amperes, time_s = current.si, todo.time_s
    volts = todo.first("battery voltage") or todo.first("cell voltage 1")
    power = todo.first("battery power")
    found = [evidence.sign_by_sag(volts.si, amperes)] if volts else []
    if level := todo.first("state of charge"):
        found.append(evidence.sign_by_fall(level.si, amperes, time_s))
    found += _by_counters(todo, amperes)
    if power and power.sign_settled and volts:
        found.append(_by_power(power.si, volts.si, amperes))
    speaks = any(item and item.way != "unclear" for item in found)
    if not speaks and (speed := todo.first("speed")):
        found.append(evidence.sign_by_speeding(speed.si, amperes, time_s))
    return [item for item in found if item]


def _by_counters(todo: "Assignment", amperes: np.ndarray) -> list[SignEvidence | None]:
    """The evidence of the device's own counts of charge."""
    ways: tuple[Literal["drawn", "returned", "net"], ...] = ("drawn", "returned", "net")
    counters = [(way, todo.first("net charge" if way == "net" else f"charge {way}")) for way in ways]
    return [evidence.sign_by_counter(c.si, amperes, todo.time_s, way) for way, c in counters if c]


def _by_power(power_w: np.ndarray, voltage_v: np.ndarray, current_a: np.ndarray) -> SignEvidence | None:
    ratio = evidence.power_ratio(power_w, voltage_v, current_a)
    if ratio is None or ratio[1] < 0.6 or not (power_w < 0).any():
        return None
    same = ratio[0] > 0
    return SignEvidence("as read" if same else "reversed", {"power_sign_same": same})


def _settle(todo: "Assignment", column: "Column", found: list[SignEvidence]) -> None:
    """Turn the sign, keep it, or keep it with a word of doubt."""
    verdict = evidence.verdict(found)
    words = evidence_words(verdict.facts)
    facts: dict[str, Fact] = {"file": todo.name, "column": column.header, **verdict.facts}
    if column.sign_settled:
        if verdict.way == "reversed" and not (column.entry and column.entry.sign):
            todo.findings.append(Finding("sign-doubtful", "warning", facts))
        return
    if verdict.way == "reversed":
        column.sign = -column.sign
        column.reasons.append(reasons.sign_turned(words))
        todo.findings.append(Finding("sign-reversed", "warning", facts))
        return
    if verdict.way == "as read":
        column.reasons.append(reasons.sign_shown(words))
        return
    column.reasons.append(reasons.sign_usual(words))
    values = column.si[np.isfinite(column.si)]
    if not (values < 0).any():
        return
    doubtful = float(values.sum()) < 0
    facts |= {"quantity": column.quantity, "more_back_than_drawn": doubtful}
    todo.findings.append(Finding("sign-assumed", "warning" if doubtful else "note", facts))


def _settle_power(todo: "Assignment", power: "Column", currents: list["Column"]) -> None:
    """Power takes the current's sign where it agrees with voltage · current; without a current, its own evidence."""
    volts = todo.first("battery voltage") or todo.first("cell voltage 1")
    if not (currents and volts):
        if not currents and not power.sign_settled:
            _settle(todo, power, _for_power_alone(todo, power, volts))
        return
    flow = sum(np.nan_to_num(c.si) for c in currents)
    ratio = evidence.power_ratio(power.si, volts.si, np.asarray(flow, dtype=float))
    if ratio and ratio[0] < -0.5 and ratio[1] >= 0.5 and not power.sign_settled:
        power.sign = -power.sign
        power.reasons.append(reasons.POWER_SIGN_TURNED)
    product = np.asarray(flow * volts.si, dtype=float)
    back_mask = product < -0.02 * float(np.nanmax(np.abs(product), initial=0.0))
    if back_mask.sum() >= 4 and not (power.si[back_mask] < 0).any() and (power.si[back_mask] > 0).mean() > 0.8:
        power.leave_out(reasons.NO_SIGN)


def _for_power_alone(todo: "Assignment", power: "Column", volts: "Column | None") -> list[SignEvidence]:
    found = []
    if volts:
        # Voltage per watt has the same sign as voltage per ampere.
        sag = evidence.voltage_sag(volts.si, power.si)
        if sag and sag.is_clear:
            found.append(SignEvidence("as read" if sag.slope < 0 else "reversed", {"volts_per_watt": sag.slope}))
    if not found and (speed := todo.first("speed")):
        by_speed = evidence.sign_by_speeding(speed.si, power.si, todo.time_s, what="power")
        found += [by_speed] if by_speed else []
    return found
