"""A coast-down in words, and what of it goes into a bike file."""

import math

from ridelog.answer.coastdown import CoastDown, Measured
from ridelog.tell.ride import fixed, interval

# What the bike file allows (`settings.bike`), and what is known without a measurement (standard uncertainties of the
# defaults: half-widths 0.29 m² and 0.0062 over √3). A result that is less sure than these is not written.
ALLOWED = {"cda_m2": (0.1, 3.0), "crr": (0.001, 0.1), "motor_drag_n": (0.0, 100.0)}
USUAL_U = {"cda_m2": 0.29 / math.sqrt(3), "crr": 0.0062 / math.sqrt(3), "motor_drag_n": math.inf}


def headline(answer: CoastDown) -> str:
    """The one sentence that answers, or why there is no answer."""
    if answer.cda_m2 is None or answer.crr_with_drag is None:
        return "Nothing could be fitted: the coasting was too little, or more than the bike's own drag acted."
    return f"CdA {interval(answer.cda_m2.quantity, unit='m²')}; {_rolling(answer)}."


def _rolling(answer: CoastDown) -> str:
    if answer.crr is not None:
        return f"Crr {interval(answer.crr.quantity)}"
    if answer.motor_drag_n is not None:
        return f"motor drag {interval(answer.motor_drag_n.quantity, unit='N')}"
    return f"Crr with the motor's drag in it {interval(answer.crr_with_drag.quantity)}" if answer.crr_with_drag else ""


def key_figures(answer: CoastDown) -> list[tuple[str, str]]:
    """Names and figures for people."""
    if answer.cda_m2 is None or answer.constant_n is None:
        return []
    used = answer.used
    rows = [
        ("drag area", f"CdA {interval(answer.cda_m2.quantity, unit='m²')}"),
        ("constant drag", f"{interval(answer.constant_n.quantity, unit='N')}, rolling and motor together"),
        ("rolling", _rolling_row(answer)),
    ]
    if answer.motor_drag_n is not None:
        rows.append(("motor", f"{interval(answer.motor_drag_n.quantity, unit='N')}, with the Crr of the bike file"))
    lasts = sum(stretch.end_s - stretch.start_s for stretch in used)
    fastest = max(max(stretch.start_speed_mps, stretch.end_speed_mps) for stretch in used) * 3.6
    slowest = min(min(stretch.start_speed_mps, stretch.end_speed_mps) for stretch in used) * 3.6
    count = "1 stretch" if len(used) == 1 else f"{len(used)} stretches"
    rows.append(("from", f"{count} of coasting, {lasts:.0f} s, {slowest:.0f} to {fastest:.0f} km/h{_noise(answer)}"))
    return rows


def _rolling_row(answer: CoastDown) -> str:
    if answer.crr is not None:
        less = "" if not answer.drag_known_n else f", {answer.drag_known_n:.3g} N of motor drag taken off"
        return f"Crr {interval(answer.crr.quantity)}{less}"
    if answer.crr_with_drag is None:
        return ""
    return f"Crr {interval(answer.crr_with_drag.quantity)}, were all of it rolling"


def _noise(answer: CoastDown) -> str:
    return "" if answer.speed_noise_mps is None else f"; speeds lie {answer.speed_noise_mps:.2f} m/s about the fit"


def stretch_rows(answer: CoastDown) -> dict[str, list[str]]:
    """A table of the stretches: columns by heading."""
    stretches = answer.stretches
    return {
        "from s": [f"{stretch.start_s:.0f}" for stretch in stretches],
        "lasts s": [f"{stretch.end_s - stretch.start_s:.0f}" for stretch in stretches],
        "km/h": [f"{3.6 * s.start_speed_mps:.1f} to {3.6 * s.end_speed_mps:.1f}" for s in stretches],
        "length m": [f"{stretch.length_m:.0f}" for stretch in stretches],
        "grade %": [fixed(stretch.mean_grade_pct, 1) for stretch in stretches],
        "heading °": [fixed(stretch.heading_deg, 0) for stretch in stretches],
        "road": [f"{stretch.road + 1}{' back' if stretch.way < 0 else ''}" for stretch in stretches],
        "used": ["yes" if stretch.used else "no" for stretch in stretches],
    }


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
    for key, measured in parts:
        if measured is None:
            continue
        low, high = ALLOWED[key]
        if low <= measured.quantity.value <= high and measured.u < USUAL_U[key]:
            values[key] = measured.quantity.value
            if key != "motor_drag_n":
                values[f"{key.removesuffix('_m2')}_limit{'_m2' if key == 'cda_m2' else ''}"] = math.sqrt(3) * measured.u
    return values
