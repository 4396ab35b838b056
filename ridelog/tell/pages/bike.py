"""What the form of the bike file says."""

from ridelog.tell.kinds import MASS, PERCENTAGE
from ridelog.tell.numbers import Style, amount, fixed, measured, plain
from ridelog.uncertain.budget import Budget
from ridelog.uncertain.quantity import Quantity

TITLE = "The bike"
LEAD = (
    "What you enter here narrows the intervals; an empty field is assumed, with a wide margin. Weigh bike, rider and "
    "load first: the mass decides most."
)
# place in the bike file -> what a rider calls it, and its unit
LABELS: dict[str, tuple[str, str]] = {
    "bike.total_mass_kg": ("Total mass: bike, rider and load", "kg"),
    "bike.total_mass_limit_kg": ("… surely within ±", "kg"),
    "bike.name": ("Name of the bike", ""),
    "bike.wheel_circumference_m": ("Wheel circumference, loaded", "m"),
    "bike.rotating_mass_kg": ("Rotating mass", "kg"),
    "pack.cells_in_series": ("Cells in series", ""),
    "pack.capacity_ah": ("Capacity today", "Ah"),
    "pack.full_cell_v": ("Voltage of a full cell", "V"),
    "pack.max_charge_a": ("Highest charge current", "A"),
    "pack.min_charge_temperature_c": ("Lowest temperature for charging", "°C"),
    "pack.charge_path": ("May charge enter through the discharge terminals?", ""),
    "motor.kind": ("Kind of drive", ""),
    "sensor.current_zero_limit_a": ("Current zero surely within ±", "A"),
    "sensor.current_gain_limit_pct": ("Current scale surely within ±", "%"),
    "sensor.charge_gain_limit_pct": ("Charging against discharging within ±", "%"),
    "sensor.voltage_gain_limit_pct": ("Voltage scale surely within ±", "%"),
    "sensor.standby_draw_a": ("Drawn while standing, switched on", "A"),
    "sensor.averaged": ("Logged values are means over the step", ""),
    "road.cda_m2": ("Drag area CdA", "m²"),
    "road.cda_limit_m2": ("… surely within ±", "m²"),
    "road.crr": ("Rolling resistance Crr", ""),
    "road.crr_limit": ("… surely within ±", ""),
    "road.motor_drag_n": ("Drag of the unpowered motor", "N"),
    "road.air_temperature_c": ("Air temperature", "°C"),
    "road.air_pressure_hpa": ("Air pressure there, not at sea level", "hPa"),
    "road.wind_mps": ("Head wind, positive against you", "m/s"),
    "cost.price_per_kwh": ("Price of a kWh", ""),
    "cost.currency": ("Currency", ""),
    "cost.regen_premium": ("What a drive that regenerates costs more", ""),
    "cost.km_per_year": ("Ridden in a year", "km"),
}
MASS_FIRST = ("bike.total_mass_kg", "bike.total_mass_limit_kg")
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Wheels, and a name", ("bike.name", "bike.wheel_circumference_m", "bike.rotating_mass_kg")),
    ("Battery and drive", tuple(place for place in LABELS if place.startswith(("pack.", "motor.")))),
    ("Current and voltage sensor", tuple(place for place in LABELS if place.startswith("sensor."))),
    ("Air and road", tuple(place for place in LABELS if place.startswith("road."))),
    ("Prices", tuple(place for place in LABELS if place.startswith("cost."))),
)
CHOICES = {
    "allowed": "yes, its maker says so",
    "blocked": "no",
    "unknown": "not known",
    "direct-drive": "direct drive",
    "geared-locked": "geared, turns with the wheel",
    "geared-freewheel": "geared, freewheels",
    "mid-drive": "mid drive",
    "true": "yes",
    "false": "no",
}
SOURCES = {"entered": "entered", "measured": "measured from this ride:", "assumed": "assumed:"}
# rows of the budget of the recovered share -> what in the bike file shrinks them
SHRINKS = {
    "current zero": ("sensor.standby_draw_a", "sensor.current_zero_limit_a"),
    "current gain": ("sensor.current_gain_limit_pct",),
    "charge against discharge gain": ("sensor.charge_gain_limit_pct",),
    "voltage gain": ("sensor.voltage_gain_limit_pct",),
}
MEASURE = "Measure again"
SAVED = "This is what the ride was measured with."
DOWNLOAD, UPLOAD = "Download the bike file", "Choose a bike file …"
ENTER = "Enter the mass"
SHARPEN = "Entering it would sharpen this."


def label(place: str) -> str:
    """What a field is called, with its unit."""
    name, unit = LABELS[place]
    return f"{name}, {unit}" if unit else name


def value_in_words(place: str, value: float | str | bool | None) -> str:
    """A value that was changed, with its name; taken out where ``None``."""
    name, unit = LABELS[place]
    name = name.removeprefix("… ")
    if value is None:
        return f"{name}: not entered"
    if isinstance(value, bool | str):
        word = str(value).lower() if isinstance(value, bool) else value
        text = CHOICES.get(word, word)
    else:
        text = plain(value, 4)
    return f"{name} {text} {unit}".strip()


def source(place: str, value: float | str | bool | None, limit: float | None, origin: str | None) -> str:
    """Where the value that was used came from.

    Parameters
    ----------
    place : in the bike file
    value, limit : as it was used, and its half-width
    origin : "entered", "measured" or "assumed"; ``None`` where nothing was used

    Returns
    -------
    A few words.
    """
    if origin is None or value is None:
        return "not entered"
    if origin == "entered":
        return SOURCES[origin]
    unit = LABELS[place][1]
    if isinstance(value, bool | str):
        word = str(value).lower()
        return f"{SOURCES[origin]} {CHOICES.get(word, word)}"
    text = plain(value, 4) + ("" if limit is None else f" ± {plain(limit, 3)}")
    return f"{SOURCES[origin]} {text} {unit}".strip()


def limit_used(limit: float | None, place: str) -> str:
    """What was taken for the half-width of the value beside it."""
    return "not entered" if limit is None else f"used: {plain(limit, 3)} {LABELS[place][1]}".strip()


def share_of_doubt(place: str, budget: Budget | None) -> str | None:
    """How much of what is unsure about the recovered share a value could take away; ``None`` where that is little."""
    if budget is None:
        return None
    for row in budget.rows:
        if place in SHRINKS.get(row.name, ()) and row.share_pct is not None and row.share_pct >= 10:
            share = fixed(min(row.share_pct, 100.0), 0)
            return f"its kind of error makes {share} % of what is unsure about {budget.quantity}"
    return None


def assumed_mass(value_kg: float, limit_kg: float | None, style: Style) -> str:
    """That the mass was assumed, after what was captured.

    Parameters
    ----------
    value_kg, limit_kg : the mass, and its half-width [kg]
    style : units and digits

    Returns
    -------
    A sentence.
    """
    low_kg, high_kg = value_kg - (limit_kg or 0.0), value_kg + (limit_kg or 0.0)
    low, high = (amount(each, MASS, style, decimals=0) for each in (low_kg, high_kg))
    return f"Captured rests on a mass that was assumed, {low.split()[0]} to {high}. "


def would_be(captured: Quantity, now: Quantity, limit_kg: float, style: Style) -> str:
    """What entering the mass would give, as it was measured with it.

    Parameters
    ----------
    captured : with the mass entered
    now : without
    limit_kg : half-width of the mass that was entered for it
    style : digits

    Returns
    -------
    A sentence.
    """
    if captured.low95 is None or captured.high95 is None or now.low95 is None or now.high95 is None:
        return SHARPEN
    width, before = captured.high95 - captured.low95, now.high95 - now.low95
    half, half_before = fixed(width / 2, 0, style), fixed(before / 2, 0, style)
    if width >= 0.95 * before:
        return f"Entering it would hardly narrow this: to about ± {half} points."
    weighed = amount(limit_kg, MASS, style, decimals=0)
    return f"Entering it, to within {weighed}, would give about ± {half} points instead of ± {half_before}."


def now_and_then(captured: Quantity, now: Quantity, limit_kg: float, style: Style) -> str:
    """Both intervals, beside the field of the mass.

    Parameters
    ----------
    captured : with the mass entered
    now : without
    limit_kg : half-width of the mass that was entered for it
    style : digits

    Returns
    -------
    A sentence.
    """
    before, after = (measured(each, PERCENTAGE, style, digits=2) for each in (now, captured))
    weighed = amount(limit_kg, MASS, style, decimals=0)
    return (
        f"Captured is {before} with the mass that was assumed. Measured with that mass as if it were known to "
        f"{weighed}: {after}. Yours will move the value as well."
    )


def measure_all(n_rides: int) -> str:
    """The button that measures all rides with this bike once more."""
    return f"Measure the {n_rides} rides with this bike again"


def wrong(complaints: int) -> str:
    """What is said where fields hold what the bike file does not take."""
    return (
        "One value is not allowed: see above."
        if complaints == 1
        else f"{complaints} values are not allowed: see above."
    )
