"""Whether a channel shows what flowed: current at the end of a range, values that stick, a voltage without sag."""

import itertools
from functools import cached_property
from typing import Literal

import numpy as np

from ridelog.arrays import Floats, Mask, Runs, mask_runs, robust_scale, runs_mask
from ridelog.lazy import dataclass

RUN_STEPS = 3.0  # steps longer than this many usual ones end a run of equal values


@dataclass(frozen=True)
class Samples:
    """The electrical log as its verdicts see it; arrays of shape (n,), at the samples whose current is known.

    Attributes
    ----------
    time_s : increasing [s]
    current_a : positive out of the battery, no NaN [A]
    voltage_v, speed_mps : NaN where not known [V], [m/s]
    other_speed_mps : of another device; NaN where not known [m/s]
    standing : the bike stands
    resolution_a : smallest step of the current; 0 where no step shows [A]
    """

    time_s: Floats
    current_a: Floats
    voltage_v: Floats
    speed_mps: Floats
    other_speed_mps: Floats
    standing: Mask
    resolution_a: float

    @cached_property
    def step_s(self) -> float:
        """The usual step [s]."""
        return float(np.median(np.diff(self.time_s))) if len(self.time_s) > 1 else 1.0

    @cached_property
    def near(self) -> Mask:
        """Steps, shape (n-1,), that are no longer than half above the usual one."""
        mask: Mask = np.diff(self.time_s) <= 1.5 * self.step_s
        return mask


@dataclass(frozen=True)
class Sag:
    """How the voltage answers the current: ``ohm`` less per ampere, uncertain by ``u_ohm``; ``noise_v`` a sample's."""

    ohm: float
    u_ohm: float
    noise_v: float


def voltage_sag(log: Samples, *, over_s: float = 3.0, left_out: Mask | None = None) -> Sag | None:
    """Sag from the differences of voltage and current over ``over_s``; ``None`` where the current hardly changes.

    Differences are blind to the slow fall of the voltage with the state of charge; 3 s forgive a voltage that is read
    a second later than the current.

    Parameters
    ----------
    log : the electrical log
    over_s : time between the two samples of a difference; twenty that do not overlap are the least [s]
    left_out : samples that do not count, shape (n,)

    Returns
    -------
    Resistance with its standard uncertainty [ohm], and the noise of the voltage [V].
    """
    known = np.isfinite(log.voltage_v) & (True if left_out is None else ~left_out)
    apart = max(1, round(over_s / log.step_s))
    whole = known[apart:] & known[:-apart] & (log.time_s[apart:] - log.time_s[:-apart] <= 1.5 * apart * log.step_s)
    amperes, volts = ((x[apart:] - x[:-apart])[whole] for x in (log.current_a, log.voltage_v))
    if len(amperes) < 20 * apart or float(np.sqrt(np.mean(amperes**2))) < 1.0:
        return None
    power = float(np.sum(amperes**2))
    ohm = -float(np.sum(amperes * volts)) / power
    left = volts + ohm * amperes
    u_ohm = float(left.std()) * np.sqrt(apart / power)  # differences that overlap tell no more than one
    still = log.near & known[1:] & known[:-1]
    steps = (np.diff(log.voltage_v) + ohm * np.diff(log.current_a))[still]
    noise_v = float(np.std(steps if len(steps) else left)) / np.sqrt(2)  # volts read less often have no neighbours
    return Sag(ohm, float(u_ohm), noise_v)


def sample_noise_a(log: Samples) -> float:
    """Noise from sample to sample while the bike stands [A]; 0 where the log's steps are too coarse to be sure of it.

    From the median change, so that a light that goes on is none; noise of less than 1.5 steps might hide between two.
    """
    both = log.standing[1:] & log.standing[:-1] & log.near
    if both.sum() < 20:
        return 0.0
    noise_a = robust_scale(np.diff(log.current_a)[both], centre=0.0) / float(np.sqrt(2))
    return noise_a if noise_a > max(1.5 * log.resolution_a, 1e-3) else 0.0


@dataclass(frozen=True)
class Pile:
    """Samples that pile up at the largest current one way.

    ``verdict`` is "range" where noise or voltage show that the true current went on beyond, "limit" where the
    voltage shows that it did not, "open" where nothing tells. ``by_noise``: the noise told it, not the voltage.
    """

    value_a: float
    share_pct: float
    verdict: Literal["range", "limit", "open"]
    by_noise: bool
    mask: Mask


def current_pile(
    log: Samples, *, way: Literal["out", "in"], least_a: float = 2.0, least_n: int = 20, factor: float = 5.0
) -> Pile | None:
    """Whether the current piles up at its extreme out of or into the battery, and what that speaks for.

    Parameters
    ----------
    log : the electrical log
    way : out of or into the battery
    least_a : extremes below this are no limit of any drive [A]
    least_n : fewer piled samples (counted in runs of at least three) show nothing, nor does less than 0.2 % of the log
    factor : the extreme must hold this many times what an equal width next to it holds on average

    Returns
    -------
    The extreme, how often it was read, and what makes it pile up; ``None`` where it does not.
    """
    flow = log.current_a if way == "out" else -log.current_a
    top = float(flow.max(initial=0.0))
    if top < least_a:
        return None
    width = max(log.resolution_a, 1e-3 * top)
    mask = flow >= top - min(width / 2, 1e-6 * top)
    inner = mask[1:-1] & mask[2:] & mask[:-2]
    beside = float(((flow >= top - 10.5 * width) & ~mask).sum()) / 10
    n = int(mask.sum())
    if inner.sum() < least_n / 3 or n < max(least_n, 0.002 * len(flow), factor * beside):
        return None
    by_noise = sample_noise_a(log) > 0
    verdict = "range" if by_noise else _by_voltage(log, mask, top)
    return Pile(top if way == "out" else -top, 100.0 * n / len(flow), verdict, by_noise, mask)


def _by_voltage(log: Samples, mask: Mask, top: float) -> Literal["range", "limit", "open"]:
    """A current that is limited, and not cut off by the sensor, moves the voltage no further while it holds.

    The slow part of a pack's sag may add a tenth or so to what the voltage shows; a quarter is beyond it.
    """
    sag = voltage_sag(log, left_out=mask)
    if sag is None or sag.ohm < 0.02 or sag.ohm < 5 * sag.u_ohm:
        return "open"
    hidden = hidden_current_a(log, mask, sag)
    if len(hidden) < 3:
        return "open"
    middle, u_a = float(np.mean(hidden)), float(np.std(hidden)) / np.sqrt(len(hidden))
    if middle - 3 * u_a > 0.25 * top:
        return "range"
    return "limit" if abs(middle) + 3 * u_a < 0.15 * top else "open"


def hidden_current_a(log: Samples, mask: Mask, sag: Sag, *, within_s: float = 3.0) -> Floats:
    """Current beyond the piled reading that the voltage shows: one value for each run, over its first seconds [A].

    Parameters
    ----------
    log : the electrical log
    mask : samples at the piled reading, shape (n,)
    sag : by how much the voltage falls for an ampere
    within_s : the voltage is looked at for so long after a run begins [s]

    Returns
    -------
    Shape (n_runs,), without runs that a long step leads to [A].
    """
    hidden = []
    for first, last in mask_runs(mask):
        if first == 0 or last - first < 2 or not log.near[first - 1]:
            continue
        stop = min(last, int(np.searchsorted(log.time_s, log.time_s[first] + within_s)))
        step_a = float(log.current_a[first] - log.current_a[first - 1])
        fall_v = float(np.median(log.voltage_v[first - 1] - log.voltage_v[first : stop + 1]))
        if np.isfinite(fall_v):
            hidden.append((fall_v / sag.ohm - step_a) * float(np.sign(step_a)))
    return np.array(hidden)


def equal_runs(time_s: Floats, values: Floats, *, shortest_s: float, least_n: int = 10) -> Runs:
    """First and last sample of each stretch of exactly equal values, no long step within.

    Parameters
    ----------
    time_s, values : shape (n,); a NaN ends a stretch [s]
    shortest_s, least_n : shorter stretches, and those of fewer samples, are left out

    Returns
    -------
    In order of time.
    """
    if len(time_s) < 2:
        return []
    steps = np.diff(time_s)
    change = np.flatnonzero((values[1:] != values[:-1]) | (steps > RUN_STEPS * float(np.median(steps))))
    first, last = np.concatenate(([0], change + 1)), np.concatenate((change, [len(time_s) - 1]))
    long = (time_s[last] - time_s[first] >= shortest_s) & (last - first + 1 >= least_n)
    return list(zip(first[long].tolist(), last[long].tolist(), strict=True))


def stuck_current(log: Samples, piled: Mask, *, shortest_s: float = 30.0) -> Runs:
    """Stretches in which the current repeats itself to the last digit while other channels say that it changed.

    A motor that is off reads the same for minutes, and so does a drive at its limit. Stuck is what keeps still although
    the voltage swings by what amperes do, or a current that drives a bike is read while it both stands and rides, or
    the noise that the sensor shows elsewhere is gone.

    Parameters
    ----------
    log : the electrical log
    piled : samples at a limit of drive or sensor, shape (n,)
    shortest_s : shorter stretches are not looked at [s]

    Returns
    -------
    Stretches in order of time.
    """
    noise_a = sample_noise_a(log)
    runs = equal_runs(log.time_s, log.current_a, shortest_s=shortest_s)
    sag = _clear_sag(log, runs)
    stuck: Runs = []
    for first, last in runs:
        part = slice(first, last + 1)
        value = abs(float(log.current_a[first]))
        speed = log.speed_mps[part]
        with np.errstate(invalid="ignore"):
            stands_and_rides = (speed < 0.3).sum() * log.step_s >= 5 and bool((speed > 3).any())
        moves = bool(np.isfinite(speed).any()) and float(np.nanmax(speed) - np.nanmin(speed)) > 2.0
        silent = noise_a > 0 and value > 0 and moves and not piled[first]
        if silent or (value > 1.0 and stands_and_rides) or (sag and _swings(log, first, last, sag)):
            stuck.append((first, last))
    return stuck


def _clear_sag(log: Samples, runs: Runs) -> Sag | None:
    """The sag that the log shows outside of the runs, where it is beyond doubt."""
    sag = voltage_sag(log, left_out=runs_mask(runs, len(log.time_s))) if runs else None
    return sag if sag and sag.ohm > max(0.02, 5 * sag.u_ohm) else None


def _swings(log: Samples, first: int, last: int, sag: Sag, *, over_s: float = 3.0, least_a: float = 3.0) -> bool:
    """Whether the voltage keeps moving, within ``over_s``, by what at least ``least_a`` would make it move."""
    apart = max(1, round(over_s / log.step_s))
    volts = log.voltage_v[first : last + 1]
    with np.errstate(invalid="ignore"):
        large = np.abs(volts[apart:] - volts[:-apart]) > max(least_a * sag.ohm, 6 * sag.noise_v)
    return bool(large.sum() >= max(10, 0.1 * len(large)))


def stuck_voltage(log: Samples, *, shortest_s: float = 60.0) -> Runs:
    """Stretches in which the voltage repeats itself although the current must have moved it by four of its steps.

    What the current moves it by is told by the rest of the log; where nothing does, see `sag_is_missing`.
    """
    runs = equal_runs(log.time_s, log.voltage_v, shortest_s=shortest_s)
    sag = _clear_sag(log, runs)
    if sag is None:
        return []
    steps = np.abs(np.diff(log.voltage_v))
    least_v = 4 * max(float(np.min(steps[steps > 1e-6], initial=np.inf)), sag.noise_v)
    spread = [np.subtract(*np.quantile(log.current_a[first : last + 1], [0.95, 0.05])) for first, last in runs]
    return [run for run, amperes in zip(runs, spread, strict=True) if sag.ohm * amperes > least_v]


def sag_is_missing(log: Samples, *, least_ohm: float = 0.02, least_ohm_per_v: float = 5e-5) -> bool:
    """Whether the voltage does not answer the current at all, as one from a state-of-charge table or a setting.

    That is so where a slope as small as this is sure and yet not told from none, by its own uncertainty. A slope that
    is told from none is a sag, however small, as long as some pack might have it.

    Parameters
    ----------
    log : the electrical log
    least_ohm : packs of electric bicycles have 0.05 to 0.3 ohm; a slope that may be larger than this says nothing [ohm]
    least_ohm_per_v : large packs of cars have six times as much for each volt; less is no pack's [ohm/V]

    Returns
    -------
    False where the log holds too little voltage or too little change of current.
    """
    if np.isfinite(log.voltage_v).sum() < 0.5 * len(log.time_s):
        return False
    sag = voltage_sag(log)
    if sag is None:
        return False
    size_ohm, u_ohm = abs(sag.ohm), 3 * sag.u_ohm  # turned where the current's sign is: an answer all the same
    told = size_ohm > u_ohm
    return size_ohm + u_ohm < (least_ohm_per_v * float(np.nanmedian(log.voltage_v)) if told else least_ohm)


def stuck_speed(log: Samples, *, shortest_s: float = 30.0, leap_mps2: float = 6.0) -> Runs:
    """Stretches in which the speed repeats itself to the last digit although the bike cannot have kept it.

    A speed that holds for 30 s may be a rider's; stuck is what ends or begins with a leap beyond any brake
    (``leap_mps2``), what another device contradicts, and what stays 0 while the motor drives for a minute, unless the
    bike came to a stop before it or starts after it: then it stood, with a heater or a lamp switched on.

    Parameters
    ----------
    log : the electrical log
    shortest_s : shorter stretches are not looked at [s]
    leap_mps2 : no bicycle brakes or speeds up faster [m/s²]

    Returns
    -------
    Stretches in order of time.
    """
    stuck: Runs = []
    for first, last in equal_runs(log.time_s, log.speed_mps, shortest_s=shortest_s):
        value, part = float(log.speed_mps[first]), slice(first, last + 1)
        apart = np.abs(log.other_speed_mps[part] - value)
        contradicted = np.isfinite(apart).mean() > 0.5 and float(np.nanmedian(apart)) > 1.5
        leaps = value > 0.5 and any(_leaps(log, *pair, leap_mps2) for pair in ((first - 1, first), (last, last + 1)))
        lasted_s = float(log.time_s[last] - log.time_s[first])
        drives = value == 0 and lasted_s >= 60 and float(np.mean(log.current_a[part] > 3.0)) > 0.5
        drives = drives and not (_rolls(log, first, -1, leap_mps2) or _rolls(log, last, 1, leap_mps2))
        if contradicted or leaps or drives:
            stuck.append((first, last))
    return stuck


def _rolls(log: Samples, standing: int, way: Literal[-1, 1], leap_mps2: float, *, within_s: float = 3.0) -> bool:
    """Whether the speed comes to a standstill (way -1) or leaves it (1) as a bike does: without a leap on the way."""
    n = max(2, round(within_s / log.step_s))
    beside = [at for at in range(standing, standing + way * (n + 1), way) if 0 <= at < len(log.time_s)]
    steps = [tuple(sorted(pair)) for pair in itertools.pairwise(beside)]
    near = bool(steps) and bool(log.near[steps[0][0]])
    return near and not any(_leaps(log, low, high, leap_mps2) for low, high in steps)


def _leaps(log: Samples, before: int, after: int, leap_mps2: float, *, least_mps: float = 2.0) -> bool:
    if before < 0 or after >= len(log.time_s) or not log.near[before]:
        return False
    change = abs(float(log.speed_mps[after] - log.speed_mps[before]))
    return change > least_mps and change > leap_mps2 * float(log.time_s[after] - log.time_s[before])
