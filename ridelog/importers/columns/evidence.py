"""What the values of a log say where its words do not: units, with the numbers.

Pure functions on arrays of equal length; NaN where a sample is missing. Each answer carries the sentence that
a rider can check it by.
"""

from typing import Literal

import numpy as np

from ridelog.lazy import dataclass
from ridelog.tell.reasons import columns as reasons
from ridelog.vocabulary.units import UNITS, Unit

HIGHEST_CURRENT_A = 400.0  # of ridelog.channels; no electric bicycle's battery gives more
_WAY_SAMPLES = 5000  # of a way between positions; more add time and tell no more
_SHIFTS = (0, 1, 2, -1, -2)  # samples by which voltage may lag behind current
_OHM_RANGE = (0.005, 3.0)  # resistance of a pack and its leads; a thousandth or a thousandfold of it is no pack's


@dataclass(frozen=True)
class Sag:
    """How voltage answers to steps of current.

    ``slope`` is the median of dU/dI over ``n`` steps, ``alike_share`` the share of them with the slope's sign;
    ``contested`` says that with one of the two sampled later the answer would be as strong, but reversed.
    """

    slope: float
    alike_share: float
    n: int
    contested: bool = False

    @property
    def is_clear(self) -> bool:
        """Whether the answer can be believed.

        At least 8 steps of which nine in ten agree, 30 and four in five, or so many that as many would not agree by
        chance: five standard deviations of a fair coin.
        """
        by_chance = (2 * self.alike_share - 1) * self.n**0.5
        enough = (self.n >= 8 and self.alike_share >= 0.9) or (self.n >= 30 and self.alike_share >= 0.8)
        enough = enough or by_chance >= 5
        return enough and not self.contested


def voltage_sag(voltage_v: np.ndarray, current: np.ndarray) -> Sag | None:
    """The answer of the voltage to the larger steps of the current, from sample to sample.

    Only steps of at least a tenth of the current's usual range count, and only those that the voltage answers
    at all. A device may sample one of the two later: they are set against each other at the shift, up to two
    samples, at which the answer is strongest. ``None`` where fewer than four steps remain.
    """
    known_mask = np.isfinite(voltage_v) & np.isfinite(current)
    du, di = np.diff(voltage_v[known_mask]), np.diff(current[known_mask])
    if len(di) < 8:
        return None
    low, high = np.percentile(current[known_mask], [2, 98])
    least = max(0.1 * (high - low), 1e-12)
    shifted = [
        _slopes(du[max(k, 0) : len(du) + min(k, 0)], di[max(-k, 0) : len(di) - max(k, 0)], least) for k in _SHIFTS
    ]
    if min(map(len, shifted)) < 4:
        return None
    medians = np.array([float(np.median(slopes)) for slopes in shifted])
    best = int(np.argmax(np.abs(medians)))
    contested = bool((medians * np.sign(medians[best]) < -0.7 * abs(medians[best])).any())
    answered = shifted[best][shifted[best] != 0]
    if len(answered) < 4:
        return None
    slope = float(np.median(answered))
    return Sag(slope, float(np.mean(np.sign(answered) == np.sign(slope))), len(answered), contested)


def _slopes(du: np.ndarray, di: np.ndarray, least: float) -> np.ndarray:
    """dU/dI at the steps of current that are large enough."""
    step_mask = np.abs(di) >= least
    result: np.ndarray = du[step_mask] / di[step_mask]
    return result


def power_ratio(power: np.ndarray, voltage_v: np.ndarray, current: np.ndarray) -> tuple[float, float] | None:
    """How a power compares with voltage · current.

    Parameters
    ----------
    power, voltage_v, current : shape (n,), NaN where missing; power and current in any unit

    Returns
    -------
    The median of power / (voltage · current) and the share of samples within 15 % of it; ``None`` if too few.
    """
    product = voltage_v * current
    known_mask = np.isfinite(power) & np.isfinite(product)
    if known_mask.sum() < 4:
        return None
    largest = float(np.percentile(np.abs(product[known_mask]), 98))
    loud_mask = known_mask & (np.abs(product) > 0.1 * largest) & (product != 0)
    if largest == 0 or loud_mask.sum() < 4:
        return None
    ratios = power[loud_mask] / product[loud_mask]
    middle = float(np.median(ratios))
    return middle, float(np.mean(np.abs(ratios - middle) <= 0.15 * abs(middle)))


def unit_of_current(
    current: np.ndarray, voltage_v: np.ndarray | None, power_w: np.ndarray | None
) -> tuple[Unit, str] | None:
    """A or mA for a current whose header states neither; ``None`` where nothing decides.

    Evidence, in this order: agreement with power and voltage, the voltage's answer to steps of the current,
    and values that are possible in one of the units only.

    Parameters
    ----------
    current : shape (n,), in the unit sought
    voltage_v, power_w : shape (n,), where the log has them

    Returns
    -------
    The unit, with the facts.
    """
    if voltage_v is not None and power_w is not None:
        found = power_ratio(np.abs(power_w), voltage_v, np.abs(current))
        for spelling, factor in (("a", 1.0), ("ma", 1e-3)):
            if found and found[1] >= 0.6 and abs(found[0] / factor - 1) < 0.2:
                unit = UNITS[spelling]
                return unit, reasons.unit_by_power(unit.name, found[0] / factor)
    if voltage_v is not None and (sag := voltage_sag(voltage_v, current)) and sag.is_clear:
        fits = [u for u in ("a", "ma") if _OHM_RANGE[0] <= abs(sag.slope) / UNITS[u].factor <= _OHM_RANGE[1]]
        if len(fits) == 1:
            unit = UNITS[fits[0]]
            ohm = abs(sag.slope) / unit.factor
            return unit, reasons.unit_by_resistance(unit.name, ohm)
    known = np.abs(current[np.isfinite(current)])
    if not len(known):
        return None
    peak = float(np.percentile(known, 99.5))
    if HIGHEST_CURRENT_A < peak <= 1000 * HIGHEST_CURRENT_A:
        return UNITS["ma"], reasons.unit_by_largest(peak, HIGHEST_CURRENT_A)
    return None


def unit_by_range(values: np.ndarray, choices: tuple[tuple[str, float, float], ...]) -> tuple[Unit, str] | None:
    """The one unit in which the median lies within what is possible; ``None`` where none or several do.

    ``choices`` are spelling, lowest and highest possible value in that unit.
    """
    known = values[np.isfinite(values)]
    if not len(known):
        return None
    middle = float(np.median(known))
    fits = [(spelling, low, high) for spelling, low, high in choices if low <= middle <= high]
    if len(fits) != 1:
        return None
    unit = UNITS[fits[0][0]]
    return unit, reasons.unit_by_median(unit.name, middle)


def unit_of_power(
    power: np.ndarray, voltage_v: np.ndarray | None, current_a: np.ndarray | None
) -> tuple[Unit, str] | None:
    """W or kW for a power whose header states neither; ``None`` where nothing decides.

    Parameters
    ----------
    power : shape (n,), in the unit sought
    voltage_v, current_a : shape (n,), where the log has them

    Returns
    -------
    The unit, with the facts.
    """
    if voltage_v is not None and current_a is not None:
        found = power_ratio(np.abs(power), voltage_v, np.abs(current_a))
        for spelling in ("w", "kw"):
            unit = UNITS[spelling]
            if found and found[1] >= 0.6 and abs(found[0] * unit.factor - 1) < 0.2:
                return unit, reasons.unit_of_power_by_flow(unit.name, found[0] * unit.factor)
    known = np.abs(power[np.isfinite(power)])
    if len(known) and np.percentile(known, 99.5) > 40:
        return UNITS["w"], reasons.WATTS_BY_SIZE
    return None


def unit_by_rate(
    speed: np.ndarray, distance: np.ndarray, time_s: np.ndarray, *, of: Literal["speed", "distance"]
) -> tuple[Unit, str] | None:
    """The unit of a speed (or of a distance) that fits the distance (or the speed), which is known in SI.

    Parameters
    ----------
    speed, distance, time_s : shape (n,), one of the first two in the unit sought
    of : which of the two

    Returns
    -------
    The unit, with the facts.
    """
    known_mask = np.isfinite(speed) & np.isfinite(distance)
    if known_mask.sum() < 10:
        return None
    t, v, s = time_s[known_mask], speed[known_mask], distance[known_mask]
    ridden, grown = float(np.sum(np.diff(t) * (v[1:] + v[:-1]) / 2)), float(s[-1] - s[0])
    if ridden <= 0 or grown <= 0:
        return None
    spellings = ("m/s", "km/h", "mph") if of == "speed" else ("m", "km", "mi")
    factor = grown / ridden if of == "speed" else ridden / grown
    for spelling in spellings:
        unit = UNITS[spelling]
        if abs(factor / unit.factor - 1) < 0.1:
            known: Literal["speed", "distance"] = "distance" if of == "speed" else "speed"
            return unit, reasons.unit_by_rate(unit.name, known, factor, unit.factor)
    return None


def speed_by_position(latitude_deg: np.ndarray, longitude_deg: np.ndarray, time_s: np.ndarray) -> np.ndarray:
    """Speed from each position to the next, on a sphere: good to 0.3 %.

    Parameters
    ----------
    latitude_deg, longitude_deg, time_s : shape (n,)

    Returns
    -------
    speed, shape (n - 1,) [m/s]
    """
    latitude, longitude = np.radians(latitude_deg), np.radians(longitude_deg)
    way_m = 6_371_000 * np.hypot(np.diff(latitude), np.diff(longitude) * np.cos(latitude[1:]))
    result: np.ndarray = way_m / np.diff(time_s)
    return result


def unit_by_way(
    distance: np.ndarray,
    latitude_deg: np.ndarray,
    longitude_deg: np.ndarray,
    *,
    leg_m: float = 50.0,
    n_least: int = 4,
    tolerance_ratio: float = 0.2,
) -> tuple[Unit, str] | None:
    """The unit of a distance that grows as the positions move on.

    Parameters
    ----------
    distance, latitude_deg, longitude_deg : shape (n,), the first in the unit sought
    leg_m : positions are compared this far apart, where their scatter adds little to the way [m]
    n_least : legs needed to tell [1]
    tolerance_ratio : how far the ratio may lie from a unit's; km and miles differ by 1.6 times [1]

    Returns
    -------
    The unit, with the facts.
    """
    known = np.flatnonzero(np.isfinite(distance) & np.isfinite(latitude_deg) & np.isfinite(longitude_deg))
    known = known[:: max(len(known) // _WAY_SAMPLES, 1)]
    grown, north, east = distance[known], np.radians(latitude_deg[known]), np.radians(longitude_deg[known])
    way_m, place, n_legs = 0.0, 0, 0
    while place < len(grown):
        legs_m = 6_371_000 * np.hypot(north[place:] - north[place], (east[place:] - east[place]) * np.cos(north[place]))
        far = int(np.argmax(legs_m >= leg_m))
        if not legs_m[far] >= leg_m:
            break
        way_m, place, n_legs = way_m + float(legs_m[far]), place + far, n_legs + 1
    if n_legs < n_least:
        return None
    rise = float(grown[place] - grown[0])
    if rise <= 0:
        return None
    units = [UNITS[name] for name in ("m", "km", "mi", "ft")]
    fits = [unit for unit in units if abs(way_m / rise / unit.factor - 1) < tolerance_ratio]
    return (fits[0], reasons.unit_by_way(fits[0].name, way_m / rise, fits[0].factor)) if fits else None


def unit_of_speed(
    stated: np.ndarray,
    known_mps: np.ndarray,
    step_s: np.ndarray,
    *,
    slowest_mps: float = 2.0,
    n_least: int = 30,
    tolerance_ratio: float = 0.2,
) -> tuple[Unit | None, str] | None:
    """The unit in which a speed agrees with one that is known.

    Parameters
    ----------
    stated, known_mps : shape (n,), the speed in its unknown unit and the one known
    step_s : time from the sample before, shape (n,); steps of 10 s and more say nothing of the speed [s]
    slowest_mps : below, positions scatter too much to tell [m/s]
    n_least : samples needed to tell [1]
    tolerance_ratio : how far the median ratio may lie from a unit's; km/h and mph differ by 1.6 times [1]

    Returns
    -------
    unit and comparison; the unit is ``None`` where no unit fits, the whole where too few samples tell
    """
    with np.errstate(invalid="ignore"):
        clear_mask = (known_mps > slowest_mps) & (stated > 0) & (step_s < 10)
    if clear_mask.sum() < n_least:
        return None
    ratio = float(np.median(stated[clear_mask] / known_mps[clear_mask]))
    fits = [UNITS[name] for name in ("m/s", "mph", "km/h") if abs(ratio * UNITS[name].factor - 1) < tolerance_ratio]
    return (fits[0] if fits else None), reasons.times_the_positions(ratio)
