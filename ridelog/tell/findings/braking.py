"""What braking and the road tell: speed and height that are missing, what was captured, what was assumed."""

from collections.abc import Mapping

from ridelog.tell.findings.words import Stated, Template, case, give_or_take, listed, plus_minus, trimmed
from ridelog.tell.kinds import (
    CURRENT,
    DRAG_AREA,
    ENERGY,
    HEIGHT,
    LENGTH,
    MASS,
    PERCENTAGE,
    PRESSURE,
    RATIO,
    SPEED,
    TEMPERATURE,
)
from ridelog.tell.numbers import Style, amount, counted, number, unit_of, with_unit
from ridelog.tell.times import duration


def no_speed(stated: Stated, _style: Style) -> str:
    """Nothing moves."""
    return case(
        stated,
        "used_for",
        {
            "braking": "No file holds speed, so braking events are found from the returned current alone, and we "
            "cannot say of what kind they are.",
            "nothing": "No file holds speed, and no current shows what came back, so we cannot find any braking.",
            "coasting": "No file holds speed, so we cannot find any coasting.",
        },
    )


def no_height(stated: Stated, style: Style) -> str:
    """Nothing climbs."""
    if stated.text("used_for") == "braking":
        return "No file holds height, so there are no hills, and we cannot say how much energy braking made available."
    within = trimmed(stated.number("level_within_pct"), PERCENTAGE, style)
    return (
        f"No file holds height. The road is assumed to be level to within {within}, which widens the intervals; on any "
        "other road these figures are wrong."
    )


def height_partial(stated: Stated, style: Style) -> str:
    """Some numbers are of a part of the ride."""
    return (
        f"The height is known for only {amount(stated.number('covered_pct'), PERCENTAGE, style, decimals=0)} of the "
        "ride. Available and captured energy, the metres climbed and the hills are for that part; what was drawn and "
        "returned is for the whole ride."
    )


def height_rough(stated: Stated, style: Style) -> str:
    """Heights too rough for grades over the usual length."""
    over, usual = (amount(stated.number(name), LENGTH, style, digits=2) for name in ("over_m", "usual_m"))
    so = (
        f"Even so, they are off by some {amount(stated.number('grade_error_pct'), PERCENTAGE, style, decimals=0)}, so "
        "hills and braking may be missed, or found where there are none."
        if stated.flag("unsure")
        else "Short slopes are smoothed out, and hills and available energy are less certain."
    )
    return (
        f"The height is rough: it wanders by about {give_or_take(stated.number('wander_m'), LENGTH, style)} over "
        f"{trimmed(stated.number('road_m'), LENGTH, style, digits=3)} of road. Grades are therefore taken over {over} "
        f"instead of {usual}. {so} A barometer, or heights taken from a map, would do better."
    )


# What may be assumed of bike and road, in the order of the bike file: fact, its limit, what a rider calls it
_ROAD = (
    ("total_mass_kg", "total_mass_limit_kg", "total mass", MASS),
    ("rotating_mass_kg", "rotating_mass_limit_kg", "rotating mass", MASS),
    ("cda_m2", "cda_limit_m2", "CdA", DRAG_AREA),
    ("crr", "crr_limit", "Crr", RATIO),
    ("air_temperature_c", "air_temperature_limit_c", "air temperature", TEMPERATURE),
    ("air_pressure_hpa", "air_pressure_limit_hpa", "air pressure", PRESSURE),
    ("wind_mps", "wind_limit_mps", "head wind", SPEED),
)
_FOR = {"braking": "available and captured energy", "coasting": "the coast-down"}


def assumed_of_the_road(stated: Stated, style: Style) -> list[str]:
    """``total mass 110 ± 30 kg``: each value that is among the facts, with its limit."""
    values = [
        f"{name} {plus_minus(stated.number(value), stated.number(limit), kind, style)}"
        for value, limit, name, kind in _ROAD
        if value in stated
    ]
    return values or stated.lacks(*(value for value, *_ in _ROAD))


def bike_defaults(stated: Stated, style: Style) -> str:
    """Values that the bike file leaves open."""
    values = "; ".join(assumed_of_the_road(stated, style))
    return f"Not given in a bike file, and therefore assumed for {case(stated, 'used_for', _FOR)}: {values}."


_SENSOR = (
    ("current_zero_limit_a", "current zero", CURRENT),
    ("current_gain_limit_pct", "current gain", PERCENTAGE),
    ("charge_gain_limit_pct", "difference in gain between charge and discharge", PERCENTAGE),
    ("voltage_gain_limit_pct", "voltage gain", PERCENTAGE),
)


def sensor_defaults(stated: Stated, style: Style) -> str:
    """Limits of the sensor that the bike file leaves open."""
    limits = [
        f"{name} {give_or_take(stated.number(limit), kind, style)}" for limit, name, kind in _SENSOR if limit in stated
    ] or stated.lacks(*(limit for limit, *_ in _SENSOR))
    return f"The sensor's accuracy is not given in a bike file, so the intervals assume: {'; '.join(limits)}."


def captured_beyond_available(stated: Stated, style: Style) -> str:
    """More came back than there was."""
    n = stated.count("n_events")
    return (
        f"In {'one braking event' if n == 1 else counted(n, 'braking event', style=style)}, more came back than was "
        "available, by more than the intervals explain (at most "
        f"{amount(stated.number('excess_wh'), ENERGY, style, digits=2)} more). No brake can do that: either you "
        "pedalled against it, or the wind pushed harder than the bike file says, or mass, heights, clocks or the "
        "current are wrong."
    )


def height_still(stated: Stated, style: Style) -> str:
    """The height does not move, and so offers nothing."""
    n = stated.count("n_events")
    return (
        f"The recorded height stays at {amount(stated.number('height_m'), HEIGHT, style, decimals=0)} throughout, "
        f"while {'one braking event' if n == 1 else counted(n, 'braking event', style=style)} returned more than a "
        f"level road has to give (at most {amount(stated.number('excess_wh'), ENERGY, style, digits=2)} more). "
        "It looks as though the device does not measure height: what was available, what was captured and the hills "
        "are then wrong."
    )


def regen_fades(stated: Stated, style: Style) -> str:
    """Less captured at low speed."""
    available_wh, best_high_mps = stated.maybe("available_wh"), stated.maybe("best_high_mps")
    of = f" of the {amount(available_wh, ENERGY, style, digits=2)} available" if available_wh is not None else ""
    best_low_mps = stated.number("best_low_mps")
    where = (
        f"above {trimmed(best_low_mps, SPEED, style, digits=2)}"
        if best_high_mps is None
        else f"from {_span(best_low_mps, best_high_mps, style)}"
    )
    slow, best = (
        amount(stated.number(name), PERCENTAGE, style, decimals=0) for name in ("captured_pct", "best_captured_pct")
    )
    return (
        f"Regen fades at low speed: below {trimmed(stated.number('below_mps'), SPEED, style, digits=2)} it captured "
        f"{slow}{of}, but {best} {where}. A motor that turns slowly produces little voltage to charge with."
    )


def _span(low_mps: float, high_mps: float, style: Style) -> str:
    unit = unit_of(SPEED, style)
    low, high = (number(each * unit.factor, style, digits=2) for each in (low_mps, high_mps))
    return with_unit(f"{low} to {high}", unit.symbol, style)


def regen_limited(stated: Stated, style: Style) -> str:
    """The current stays at a limit."""
    above_mps = stated.maybe("above_mps")
    above = f" above {amount(above_mps, SPEED, style, decimals=0)}" if above_mps is not None else ""
    lasted = duration(stated.number("lasted_s"), style)
    return (
        f"Regen stays at {amount(stated.number('limit_a'), CURRENT, style, decimals=1)}{above} (in "
        f"{counted(stated.count('n_events'), 'braking event', style=style)}, {lasted} in "
        "all): a limit of the controller or the BMS. Braking beyond it turns into heat. Limits protect the pack and "
        "the electronics; what they may be is for their makers to decide."
    )


def hill_cut(stated: Stated, _style: Style) -> str:
    """A hill that begins before the heights do, or ends after them."""
    parts = (("before", "before the heights begin"), ("after", "after they end"))
    where = [words for name, words in parts if stated.flag(f"goes_on_{name}")]
    if where == ["after they end"]:
        where = ["after the heights end"]
    return (
        f"{stated.text('hill')}, may go on {listed(where)}. Its numbers are for the part with known heights, and the "
        "intervals allow for the rest."
    )


TEMPLATES: Mapping[str, Template] = {
    "no-speed": no_speed,
    "no-height": no_height,
    "height-partial": height_partial,
    "height-rough": height_rough,
    "bike-defaults": bike_defaults,
    "sensor-defaults": sensor_defaults,
    "captured-beyond-available": captured_beyond_available,
    "height-still": height_still,
    "regen-fades": regen_fades,
    "regen-limited": regen_limited,
    "hill-cut": hill_cut,
}
