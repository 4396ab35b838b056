"""Whether the pack stopped taking charge while the bike was still braked: a charge path that opened."""

import numpy as np

from ridelog.analysis.pack.log import PackLog
from ridelog.arrays import Floats, Mask
from ridelog.lazy import dataclass


@dataclass(frozen=True)
class CutOutSettings:
    """What counts as a charge path that opened.

    Attributes
    ----------
    least_a : at least this was returned just before; ends of weaker regen are ends of braking [A]
    within_s : it stops within this time, or one step of the log; a hand that lets go of the lever and a controller
        that obeys take some 0.7 s [s]
    left_ratio : "stopped" is less than this share of what was returned [1]
    lasts_s : and stays so for this long while the bike goes on [s]
    rolling_mps : at more than this all the time; below, controllers end regen by themselves [m/s]
    braked_share : share of that time in which the bike is still braked [1]
    hard_mps2 : so hard a deceleration is braking; coasting from a descent onto the level gives 0.4 m/s² [m/s²]
    braked_s : for weaker braking it must go on for this long, for grades are blurred over some seconds of road [s]
    near_full : the cell voltage stood at least at this share of full; protections trip above full, and voltage gains
        of usual sensors are known to 1 % [1]
    jump_share : a bus whose voltage rises by this share as the current ends has lost the pack, for a pack's own voltage
        falls then [1]
    jump_within_s : and does so within this time [s]
    """

    least_a: float = 1.5
    within_s: float = 0.3
    left_ratio: float = 0.15
    lasts_s: float = 2.0
    rolling_mps: float = 2.0
    braked_share: float = 0.8
    hard_mps2: float = 0.7
    braked_s: float = 5.0
    near_full: float = 0.99
    jump_share: float = 0.02
    jump_within_s: float = 1.0


STANDING_A = 0.5  # display, lights and a zero error draw less than this; it is as good as nothing [A]

DEFAULT_SETTINGS = CutOutSettings()


@dataclass(frozen=True)
class CutOut:
    """One moment at which current into the battery broke off.

    ``start_s`` is the last sample with current, ``end_s`` the last before any current flowed again or the braking
    ended; ``bus_jumped`` says that the voltage rose as the current ended, ``cell_v`` is the cell voltage just before
    (``None`` where not known), ``full`` and ``cold`` that cells were full, or colder than they may be charged.
    """

    start_s: float
    end_s: float
    returned_a: float
    before_v: float | None
    after_v: float | None
    cell_v: float | None
    bus_jumped: bool
    full: bool
    cold: bool


def cut_outs(
    log: PackLog, full_cell_v: float, min_temperature_c: float, *, settings: CutOutSettings = DEFAULT_SETTINGS
) -> list[CutOut]:
    """Moments at which the current into the battery stopped at once while the bike went on.

    A rider who lets go of the brake ends regen as well. So it is told only where the bus voltage rose as the current
    ended, or where the bike was still braked and the cells were full or colder than they may be charged.

    Parameters
    ----------
    log : of one recording
    full_cell_v : voltage of a full cell [V]
    min_temperature_c : lowest temperature for charging [°C]
    settings : thresholds

    Returns
    -------
    In order of time; empty where the log cannot show a return.
    """
    if not log.shows_return:
        return []
    found: list[CutOut] = []
    later_s = log.time_s + max(settings.within_s, 1.1 * log.step_s)
    later_a = log.current_a[np.searchsorted(log.time_s, later_s, side="right") - 1]
    stops = (log.current_a <= -settings.least_a) & (later_a >= settings.left_ratio * log.current_a)
    for before in np.flatnonzero(stops).tolist():
        if found and log.time_s[before] <= found[-1].end_s:
            continue
        cut = _cut_at(log, before, (full_cell_v, min_temperature_c), settings)
        if cut is not None:
            found.append(cut)
    return found


def _cut_at(log: PackLog, before: int, limits: tuple[float, float], settings: CutOutSettings) -> CutOut | None:
    """The cut-out whose last sample with current is ``before``, if that is one."""
    still_a = settings.left_ratio * float(log.current_a[before])
    after = _stopped_at(log, before, still_a, settings)
    if after is None:
        return None
    until = int(np.searchsorted(log.time_s, log.time_s[after] + settings.lasts_s))
    if until >= len(log.time_s) or not log.counted[after:until].all():
        return None
    if not _nothing(log.current_a[after : until + 1], still_a).all():
        return None
    if not bool((log.speed_mps[after : until + 1] >= settings.rolling_mps).all()):  # nor where no speed is known
        return None
    near = int(np.searchsorted(log.time_s, log.time_s[after] + settings.jump_within_s))
    before_v, highest_v = log.voltage_v[before], _highest(log.voltage_v[after : near + 1])
    jumped = bool(highest_v > before_v * (1 + settings.jump_share))
    full = bool(log.cell_v[before] >= settings.near_full * limits[0])
    cold = bool(log.temperature_c[before] < limits[1])
    if not jumped and not ((full or cold) and _still_braked(log, after, until, settings)):
        return None
    end = until
    while end + 1 < len(log.time_s) and _nothing(log.current_a[end + 1], still_a) and log.braking_mask[end + 1]:
        end += 1
    after_v = highest_v if jumped else log.voltage_v[after]
    return CutOut(
        float(log.time_s[before]), float(log.time_s[end]), -float(log.current_a[before]), _known(before_v),
        _known(after_v), _known(log.cell_v[before]), jumped, full, cold,
    )  # fmt: skip


def _stopped_at(log: PackLog, before: int, still_a: float, settings: CutOutSettings) -> int | None:
    """The first sample without current after ``before``, if it comes at once and ``before`` is the last with all."""
    latest_s = log.time_s[before] + max(settings.within_s, 1.1 * log.step_s)
    stop = int(np.searchsorted(log.time_s, latest_s, side="right"))
    inside = _nothing(log.current_a[before + 1 : stop], still_a)
    if not inside.any():
        return None
    after = before + 1 + int(np.argmax(inside))
    later_full = after > before + 1 and log.current_a[before + 1] < 0.8 * log.current_a[before]
    return None if later_full or not log.counted[before:after].all() else after


def _nothing(current_a: Floats, still_a: float) -> Mask:
    """Whether as good as no current flows: not more into the battery than ``still_a`` (negative), nor any drive."""
    mask: Mask = (current_a >= still_a) & (current_a <= STANDING_A)
    return mask


def _still_braked(log: PackLog, after: int, until: int, settings: CutOutSettings) -> bool:
    """Whether the rider still braked: by the brake's signal, by hard slowing, or by braking that goes on for long."""
    if bool((log.brake_ratio[after : until + 1] > 0.05).all()):
        return True
    if float(log.braking_mask[after : until + 1].mean()) < settings.braked_share:
        return False
    slowed_mps = log.speed_mps[after] - log.speed_mps[until]
    if slowed_mps >= settings.hard_mps2 * (log.time_s[until] - log.time_s[after]):
        return True
    long = int(np.searchsorted(log.time_s, log.time_s[after] + settings.braked_s))
    return long < len(log.time_s) and float(log.braking_mask[after : long + 1].mean()) >= settings.braked_share


def _highest(values: Floats) -> float:
    known = values[np.isfinite(values)]
    return float(known.max()) if len(known) else float("nan")


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


@dataclass(frozen=True)
class Weakening:
    """Regen that was taken back because the pack was full: from ``before_a`` to ``after_a`` into the battery [A]."""

    start_s: float
    end_s: float
    before_a: float
    after_a: float
    cell_v: float


@dataclass(frozen=True)
class WeakeningSettings:
    """When regen that grows weaker is taken for a voltage that somebody holds.

    Attributes
    ----------
    within_s : over so long the current is compared [s]
    least_a : it must have fallen by this, and by five times its noise [A]
    held_ratio : the voltage fell by less than this share of what the current alone makes [1]
    near_full : cells stood at least at this share of full [1]
    """

    within_s: float = 3.0
    least_a: float = 1.0
    held_ratio: float = 0.3
    near_full: float = 0.99


DEFAULT_WEAKENING = WeakeningSettings()


def weakening(
    log: PackLog, full_cell_v: float, resistance_ohm: float, *, settings: WeakeningSettings = DEFAULT_WEAKENING
) -> Weakening | None:
    """The first time that regen grew weaker while the voltage of full cells was held; ``None`` without any.

    When a rider eases the brake, the voltage falls by R times the current that is missing. Where it stays, and the
    bike is braked on at the same speed, somebody holds the voltage: the controller or the BMS.

    Parameters
    ----------
    log : of one recording
    full_cell_v : voltage of a full cell [V]
    resistance_ohm : of the pack [ohm]
    settings : thresholds

    Returns
    -------
    When, from and to which current, at which voltage.
    """
    later = np.searchsorted(log.time_s, log.time_s + settings.within_s)
    first = np.flatnonzero(later < len(log.time_s))
    last = later[first]
    lost_a = log.current_a[last] - log.current_a[first]
    fell_v = log.voltage_v[first] - log.voltage_v[last]
    unbraked = np.concatenate(([0], np.cumsum(~(log.braking_mask & log.charging))))
    whole = np.concatenate(([0], np.cumsum(~log.counted)))
    with np.errstate(invalid="ignore"):
        weaker = (
            (unbraked[last + 1] == unbraked[first])
            & (whole[last] == whole[first])
            & (lost_a >= max(settings.least_a, 5 * log.noise_a))
            & (fell_v < settings.held_ratio * resistance_ohm * lost_a)
            & (log.cell_v[first] >= settings.near_full * full_cell_v)
            & (log.speed_mps[last] >= 0.9 * log.speed_mps[first])
        )
    if not weaker.any():
        return None
    at = int(np.argmax(weaker))
    start, end = int(first[at]), int(last[at])
    into = -log.current_a
    return Weakening(
        float(log.time_s[start]), float(log.time_s[end]), float(into[start]), float(into[end]), float(log.cell_v[start])
    )
