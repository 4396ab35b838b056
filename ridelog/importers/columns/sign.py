"""Which way positive current and power flow: by words, by the map, or by what else the log shows.

Where only the amounts that flowed each way tell, or nothing does, a track of the same ride may still: the column's
reading says what its sign rests on, and `ridelog.timeline.sign` looks on.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal

import numpy as np

from ridelog.findings import Fact, Finding, Severity
from ridelog.importers.columns import evidence, sign_evidence
from ridelog.importers.columns.sign_evidence import verdict
from ridelog.signs import STRONG_A, STRONG_W, SignEvidence, sign_by_amounts, sign_by_effort
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
    """All evidence on the sign of the current, its amounts apart."""
    amperes, time_s = current.si, todo.time_s
    volts = todo.first("battery voltage") or todo.first("cell voltage 1")
    power = todo.first("battery power")
    found = [sign_evidence.sign_by_sag(volts.si, amperes)] if volts else []
    if level := todo.first("state of charge"):
        found.append(sign_evidence.sign_by_fall(level.si, amperes, time_s))
    found += _by_counters(todo, amperes)
    if power and power.sign_settled and volts:
        found.append(_by_power(power.si, volts.si, amperes))
    found.append(_by_effort(todo, amperes, "current"))
    return [item for item in found if item]


def _by_effort(todo: "Assignment", flow: np.ndarray, what: str) -> SignEvidence | None:
    """The evidence of how the bike moved."""
    speed, height = todo.first("speed"), todo.first("altitude")
    return sign_by_effort(flow, speed.si, todo.time_s, height.si if height else None, what=what) if speed else None


def _by_counters(todo: "Assignment", amperes: np.ndarray) -> list[SignEvidence | None]:
    """The evidence of the device's own counts of charge."""
    ways: tuple[Literal["drawn", "returned", "net"], ...] = ("drawn", "returned", "net")
    counters = [(way, todo.first("net charge" if way == "net" else f"charge {way}")) for way in ways]
    return [sign_evidence.sign_by_counter(c.si, amperes, todo.time_s, way) for way, c in counters if c]


def _by_power(power_w: np.ndarray, voltage_v: np.ndarray, current_a: np.ndarray) -> SignEvidence | None:
    ratio = evidence.power_ratio(power_w, voltage_v, current_a)
    if ratio is None or ratio[1] < 0.6 or not (power_w < 0).any():
        return None
    same = ratio[0] > 0
    return SignEvidence("as read" if same else "reversed", {"power_sign_same": same})


def _settle(todo: "Assignment", column: "Column", found: list[SignEvidence]) -> None:
    """Turn the sign, keep it, or leave it open with a question."""
    together = verdict(found)
    if column.sign_settled:
        _hold_against(todo, column, together)
    elif together.way == "unclear":
        _by_amounts(todo, column, found)
    else:
        column.sign_basis = "values"
        if together.way == "as read":
            column.reasons.append(reasons.sign_shown(evidence_words(together.facts)))
            return
        column.sign = -column.sign
        column.reasons.append(reasons.sign_turned(evidence_words(together.facts)))
        todo.findings.append(Finding("sign-reversed", "warning", _facts(todo, column, together.facts)))


def _facts(todo: "Assignment", column: "Column", *others: Mapping[str, Fact]) -> dict[str, Fact]:
    facts: dict[str, Fact] = {"file": todo.name, "column": column.header}
    for each in others:
        facts |= each
    return facts


def _hold_against(todo: "Assignment", column: "Column", together: SignEvidence) -> None:
    """Words or a map say the sign: what contradicts it is told, and the sign kept."""
    by_map = bool(column.entry and column.entry.sign)
    column.sign_basis = "map" if by_map else "words"
    if together.way == "reversed":
        facts = _facts(todo, column, together.facts, {"by_map": by_map})
        todo.findings.append(Finding("sign-doubtful", "warning", facts))


def _by_amounts(todo: "Assignment", column: "Column", found: list[SignEvidence]) -> None:
    """Nothing else shows the sign, or what does contradicts itself: by how much flowed each way, or not at all."""
    values = column.si[np.isfinite(column.si)]
    strong = STRONG_A if column.channel == "current_a" else STRONG_W
    amounts = sign_by_amounts(column.si, todo.time_s, strong=strong)
    words = evidence_words(verdict(found).facts)
    if not (values < 0).any() or amounts is None:
        column.reasons.append(reasons.sign_usual(words))
        return
    facts = _facts(todo, column, amounts.facts, {"quantity": column.quantity})
    contradicting = {item.way for item in found} >= {"as read", "reversed"}
    if amounts.way == "unclear" or contradicting:
        column.sign_basis = "nothing"
        column.reasons.append(reasons.sign_usual(words))
        todo.findings.append(Finding("sign-open", "warning", facts | {"contradicting": contradicting}))
        return
    column.sign_basis = "amounts"
    turned = amounts.way == "reversed"
    if turned:
        column.sign = -column.sign
        column.reasons.append(reasons.sign_turned(evidence_words(amounts.facts)))
    else:
        column.reasons.append(reasons.sign_usual(words))
    severity: Severity = "note" if amounts.facts["sure"] and not turned else "warning"
    todo.findings.append(Finding("sign-assumed", severity, facts | {"turned": turned}))


def _settle_power(todo: "Assignment", power: "Column", currents: list["Column"]) -> None:
    """Power takes the current's sign where it agrees with voltage · current; without a current, its own evidence."""
    volts = todo.first("battery voltage") or todo.first("cell voltage 1")
    if not currents:
        _settle(todo, power, _for_power_alone(todo, power, volts))
        return
    flow = np.asarray(sum(np.nan_to_num(c.si) for c in currents), dtype=float)
    # without a voltage, power over current is one: it moves by a few per cent
    voltage_v = volts.si if volts else np.ones(len(flow))
    ratio = evidence.power_ratio(power.si, voltage_v, flow)
    if ratio and ratio[0] < 0 and ratio[1] >= 0.5 and not power.sign_settled and (ratio[0] < -0.5 or not volts):
        power.sign = -power.sign
        power.reasons.append(reasons.POWER_SIGN_TURNED)
    power.sign_basis = next((c.sign_basis for c in currents), None)
    product = flow * voltage_v
    back_mask = product < -0.02 * float(np.nanmax(np.abs(product), initial=0.0))
    if back_mask.sum() >= 4 and not (power.si[back_mask] < 0).any() and (power.si[back_mask] > 0).mean() > 0.8:
        power.leave_out(reasons.NO_SIGN)


def _for_power_alone(todo: "Assignment", power: "Column", volts: "Column | None") -> list[SignEvidence]:
    found: list[SignEvidence | None] = []
    if volts:
        # Voltage per watt has the same sign as voltage per ampere.
        by_sag = sign_evidence.sign_by_sag(volts.si, power.si)
        if by_sag and by_sag.way != "unclear":
            found.append(SignEvidence(by_sag.way, {"volts_per_watt": by_sag.facts["volts_per_ampere"]}))
    if level := todo.first("state of charge"):
        found.append(sign_evidence.sign_by_fall(level.si, power.si, todo.time_s))
    found.append(_by_effort(todo, power.si, "power"))
    return [item for item in found if item]
