"""What a number rests on that nobody measured, in words: the motor's drag, efficiencies, the rider's power."""

from collections.abc import Mapping

from ridelog.findings import Fact
from ridelog.tell.findings.words import Stated, plus_minus
from ridelog.tell.kinds import FORCE, PERCENTAGE, TORQUE
from ridelog.tell.numbers import METRIC, Style, between, number, with_unit


def ledger_assumptions(assumed: Mapping[str, Fact], style: Style = METRIC) -> str:
    """What a ledger assumes, as a list in one line.

    Parameters
    ----------
    assumed : of `ridelog.answer.ledger.Ledger`
    style : units, digits and signs

    Returns
    -------
    text : parted by semicolons
    """
    stated = Stated("ledger", assumed)
    limit_pct = stated.maybe("rider_power_limit_pct")
    rider = "your own work is not known" if limit_pct is None else f"your power to ±{_percent(limit_pct, style)}"
    arrives = _span_pct(stated, "generator_efficiency", style)
    unknown = "the motor's drag is not known, and is part of brakes and unexplained"
    return "; ".join((f"{arrives} gets from the wheel into the battery", _drag(stated, style, unknown), rider))


def benefit_assumptions(assumed: Mapping[str, Fact], style: Style = METRIC) -> str:
    """What the net gain of regeneration assumes, as a list in one line.

    Parameters
    ----------
    assumed : of `ridelog.answer.worth.Benefit`
    style : units, digits and signs

    Returns
    -------
    text : parted by semicolons
    """
    stated = Stated("benefit", assumed)
    kept, driven = (_span_pct(stated, name, style) for name in ("battery_efficiency", "drive_efficiency"))
    drag = _drag(stated, style, "the motor's drag is not known")
    return "; ".join((drag, f"the battery gives back {kept} of what it stores", f"the drive's efficiency is {driven}"))


def _drag(stated: Stated, style: Style, unknown: str) -> str:
    source = stated.text("motor_drag_from")
    if source == "unknown":
        return unknown
    if source == "freewheel":
        return "no motor drag, as the drive freewheels"
    low_n, high_n = stated.number("motor_drag_low_n"), stated.number("motor_drag_high_n")
    if source == "entered":
        drag = plus_minus((low_n + high_n) / 2, (high_n - low_n) / 2, FORCE, style)
        return f"motor drag {drag} (from the bike file)"
    torque = between(stated.number("motor_drag_low_nm"), stated.number("motor_drag_high_nm"), TORQUE, style, digits=2)
    rim = between(low_n, high_n, FORCE, style, digits=2)
    return f"motor drag {torque}, or {rim} at the rim (no published figure)"


def _span_pct(stated: Stated, name: str, style: Style) -> str:
    return between(stated.number(f"{name}_low_pct"), stated.number(f"{name}_high_pct"), PERCENTAGE, style, digits=2)


def _percent(value: float, style: Style) -> str:
    return with_unit(number(value, style, digits=2), "%", style)
