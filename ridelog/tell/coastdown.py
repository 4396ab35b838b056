"""A coast-down in words, and what of it goes into a bike file."""

import math

from ridelog.answer.coastdown import CoastDown, Measured
from ridelog.tell.kinds import ANGLE, DRAG_AREA, FORCE, GRADE, LENGTH, RATIO, SPEED, SPEED_ERROR, TIME
from ridelog.tell.numbers import METRIC, Style, amount, between, counted, measured
from ridelog.tell.table import Column, Span, Table
from ridelog.tell.times import duration

# What the bike file allows (`settings.bike`), and what is known without a measurement (standard uncertainties of the
# defaults: half-widths 0.29 m² and 0.0062 over √3). A result that is less sure than these is not written.
ALLOWED = {"cda_m2": (0.1, 3.0), "crr": (0.001, 0.1), "motor_drag_n": (0.0, 100.0)}
USUAL_U = {"cda_m2": 0.29 / math.sqrt(3), "crr": 0.0062 / math.sqrt(3), "motor_drag_n": math.inf}


def headline(answer: CoastDown, style: Style = METRIC) -> str:
    """The one sentence that answers, or why there is no answer."""
    if answer.cda_m2 is None or answer.crr_with_drag is None:
        return "Nothing could be fitted: there was too little coasting, or something besides the bike's own drag acted."
    return f"CdA {measured(answer.cda_m2.quantity, DRAG_AREA, style)}; {_rolling(answer, style)}."


def _rolling(answer: CoastDown, style: Style) -> str:
    if answer.crr is not None:
        return f"Crr {measured(answer.crr.quantity, RATIO, style)}"
    if answer.motor_drag_n is not None:
        return f"motor drag {measured(answer.motor_drag_n.quantity, FORCE, style)}"
    if answer.crr_with_drag is None:
        return ""
    return f"Crr {measured(answer.crr_with_drag.quantity, RATIO, style)}, with the motor's drag in it"


def key_figures(answer: CoastDown, style: Style = METRIC) -> list[tuple[str, str]]:
    """Names and figures for people."""
    if answer.cda_m2 is None or answer.constant_n is None:
        return []
    constant = measured(answer.constant_n.quantity, FORCE, style)
    rows = [
        ("drag area", f"CdA {measured(answer.cda_m2.quantity, DRAG_AREA, style)}"),
        ("constant drag", f"{constant}, rolling and motor together"),
        ("rolling", _rolling_row(answer, style)),
    ]
    if answer.motor_drag_n is not None:
        drag = measured(answer.motor_drag_n.quantity, FORCE, style)
        rows.append(("motor drag", f"{drag}, with the Crr of the bike file"))
    count = f"{counted(len(answer.used), 'stretch', 'stretches')} of coasting, {duration(answer.used_s)}"
    speeds = answer.used_speeds_mps
    ridden = f", {between(*speeds, SPEED, style, digits=2)}" if speeds is not None else ""
    rows.append(("from", f"{count}{ridden}{_noise(answer, style)}"))
    return rows


def _rolling_row(answer: CoastDown, style: Style) -> str:
    if answer.crr is not None:
        drag = answer.drag_known_n
        less = "" if not drag else f", once {amount(drag, FORCE, style)} of motor drag is taken off"
        return f"Crr {measured(answer.crr.quantity, RATIO, style)}{less}"
    if answer.crr_with_drag is None:
        return ""
    return f"Crr {measured(answer.crr_with_drag.quantity, RATIO, style)}, if all of it were rolling"


def _noise(answer: CoastDown, style: Style) -> str:
    if answer.speed_noise_mps is None:
        return ""
    return f"; speeds scatter about the fit by {amount(answer.speed_noise_mps, SPEED_ERROR, style, decimals=2)}"


def stretches(answer: CoastDown) -> Table:
    """The stretches of coasting; a road that was ridden the other way too has the same number."""
    columns = (
        Column("start", "from", TIME, decimals=0),
        Column("lasts", "lasts", TIME, decimals=0),
        Column("speed", "speed", SPEED, decimals=1),
        Column("length", "length", LENGTH, decimals=0),
        Column("grade", "grade", GRADE, decimals=1),
        Column("heading", "heading", ANGLE, decimals=0),
        Column("road", "road"),
        Column("used", "used"),
    )
    rows = tuple(
        (
            each.start_s, each.end_s - each.start_s, Span(each.start_speed_mps, each.end_speed_mps), each.length_m,
            each.mean_grade_pct, each.heading_deg, f"{each.road + 1}{' back' if each.way < 0 else ''}",
            "yes" if each.used else "no",
        )
        for each in answer.stretches
    )  # fmt: skip
    return Table("stretches", "Stretches of coasting", columns, rows)


def bike_values(answer: CoastDown) -> dict[str, float]:
    """Keys of ``[road]`` that the coast-down measured better than is known without it; empty where none.

    A limit is the half-width of a rectangular distribution with the same standard uncertainty, √3 u. A Crr that holds
    the motor's drag is not written: read back, it would count that drag as rolling, and the motor as free of it.
    """
    parts: list[tuple[str, Measured | None]] = [("cda_m2", answer.cda_m2), ("crr", answer.crr)]
    drag = answer.motor_drag_n
    if drag is not None and drag.quantity.low95 is not None and drag.quantity.low95 > 0:
        parts.append(("motor_drag_n", drag))
    values: dict[str, float] = {}
    for key, found in parts:
        if found is None:
            continue
        low, high = ALLOWED[key]
        if low <= found.quantity.value <= high and found.u < USUAL_U[key]:
            values[key] = found.quantity.value
            if key != "motor_drag_n":
                values[f"{key.removesuffix('_m2')}_limit{'_m2' if key == 'cda_m2' else ''}"] = math.sqrt(3) * found.u
    return values
