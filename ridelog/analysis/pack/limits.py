"""What the pack took against what its maker allows: cell voltage, charge current, temperature while charging."""

from statistics import NormalDist

import numpy as np

from ridelog.analysis.electrical.charge import split_flow
from ridelog.analysis.pack.log import PackLog
from ridelog.arrays import Floats, Mask, mask_runs, running_integral, runs_mask
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import N_TRIALS, Uncertain, known_quantity

LONGEST_CELL_GAP_S = 5.0  # cells logged less often than the current, as many packs do, are taken to change evenly
UNSEEN = 2.0  # a peak between the samples rises above them by up to this times `unseen_peak`


@dataclass(frozen=True)
class Exceeded:
    """A limit and how it was passed: from when to when, how long in all, and the charge put in meanwhile."""

    start_s: float
    end_s: float
    lasted_s: float
    into_ah: float


def _exceeded(log: PackLog, mask: Mask) -> Exceeded | None:
    if not mask.any():
        return None
    where = np.flatnonzero(mask)
    into = split_flow(log.time_s, np.where(mask, log.current_a, 0.0), counted_mask=log.counted).totals[1]
    return Exceeded(float(log.time_s[where[0]]), float(log.time_s[where[-1]]), log.seconds(mask), into)


def lasting_mask(time_s: Floats, mask: Mask, *, shortest_s: float = 0.3, fewest: int = 2) -> Mask:
    """The mask without runs of a single sample, which a spike in the log makes as well.

    Kept are runs of ``fewest`` samples that last ``shortest_s``, and single ones that stand for a second or more.

    Parameters
    ----------
    time_s : sample times, shape (n,), increasing [s]
    mask : shape (n,)
    shortest_s : shorter runs are left out [s]
    fewest : runs of fewer samples are left out, unless a sample stands for a second or more

    Returns
    -------
    Mask, shape (n,).
    """
    step_s = float(np.median(np.diff(time_s)))
    kept = [
        (first, last)
        for first, last in mask_runs(mask)
        if step_s >= 1.0 or (last - first + 1 >= fewest and time_s[last] - time_s[first] + step_s >= shortest_s)
    ]
    return runs_mask(kept, len(mask))


def highest_cell_q(log: PackLog, connected: Mask) -> Quantity | None:
    """The highest cell voltage of the ride [V]; ``None`` where cells are neither logged nor counted.

    The highest of the medians of three samples, which a spike does not move (of the samples, where they are a second
    apart). The interval holds the voltage's gain (rectangular), its last digit, and what a peak between the samples may
    have been higher. Where only the pack's voltage is known it is the mean of its cells, and single cells lie above.

    Parameters
    ----------
    log : of one recording
    connected : samples at which the voltage is the pack's, shape (n,)
    """
    known = connected & np.isfinite(log.cell_v)
    if not known.any():
        return None
    cell_v = log.cell_v[known]
    value = float((_median_of_three(cell_v) if log.step_s < 1.0 else cell_v).max())
    rng = stream("cell voltage")
    gain, digit = rng.uniform(-1, 1, (2, N_TRIALS))
    unseen_v = max(unseen_peak(cell_v), float(cell_v.max()) - value) * rng.uniform(0, UNSEEN, N_TRIALS)
    trials = (value + log.cell_step_v / 2 * digit + unseen_v) / (1 + log.limits.voltage_gain * gain)
    return known_quantity(Uncertain(value, trials))


def unseen_peak(values: Floats) -> float:
    """What the highest of ``values`` loses where only every second one is read, the worse of the two ways.

    As much again may lie between the values themselves.
    """
    if len(values) < 4:
        return 0.0
    return float(values.max() - min(values[::2].max(), values[1::2].max()))


def _median_of_three(values: Floats) -> Floats:
    if len(values) < 3:
        return values
    middle: Floats = np.median(np.stack([values[:-2], values[1:-1], values[2:]]), axis=0)
    return middle


@dataclass(frozen=True)
class OverVoltage:
    """Cells above full while current went in; ``certain`` where the gain of the voltage does not explain it.

    ``highest_v`` is the highest logged, ``may_be_v`` what it may have been at the far end of the gain's limit.
    """

    exceeded: Exceeded
    highest_v: float
    may_be_v: float
    certain: bool


def over_voltage(log: PackLog, full_cell_v: float) -> OverVoltage | None:
    """Cells above ``full_cell_v`` while charge went in; ``None`` where there were none, or nothing tells them.

    Parameters
    ----------
    log : of one recording
    full_cell_v : voltage of a full cell, from its maker [V]
    """
    gain, digit_v = log.limits.voltage_gain, log.cell_step_v / 2
    cell_v = _between_known(log.time_s, log.cell_v)
    with np.errstate(invalid="ignore"):
        over = log.charging & (cell_v > full_cell_v + digit_v)
        beyond = over & (cell_v / (1 + gain) > full_cell_v + digit_v)
    beyond = lasting_mask(log.time_s, beyond)
    over = lasting_mask(log.time_s, over)
    exceeded = _exceeded(log, over)
    if exceeded is None:
        return None
    known = np.isfinite(cell_v)
    lasting_v = cell_v.copy()
    if log.step_s < 1.0 and known.sum() > 2:  # a single reading far above its neighbours is a fault of the log
        seen_v = cell_v[known]
        lasting_v[known] = np.concatenate((seen_v[:1], _median_of_three(seen_v), seen_v[-1:]))
    highest = float(lasting_v[over].max())
    return OverVoltage(exceeded, highest, highest / (1 - gain), bool(beyond.any()))


def _between_known(time_s: Floats, values: Floats) -> Floats:
    """Values with straight lines across gaps of up to `LONGEST_CELL_GAP_S`, shape (n,), NaN where not known."""
    known = np.isfinite(values)
    if known.sum() < 2:
        return values
    at_s = time_s[known]
    after = np.clip(np.searchsorted(at_s, time_s), 1, len(at_s) - 1)
    near = (at_s[after] - at_s[after - 1] <= LONGEST_CELL_GAP_S) & (time_s >= at_s[0]) & (time_s <= at_s[-1])
    return np.where(near & ~known, np.interp(time_s, at_s, values[known]), values)


def charge_current_q(log: PackLog) -> Quantity | None:
    """The highest current into the battery [A]; ``None`` where the log cannot show one.

    The highest of many noisy readings is too high, by what noise adds on average to the highest of as many as lie
    within five of its standard deviations, if all of them were the same current, and by less, if they were not. Four
    fifths are taken off, the interval holds two to six; and what a peak between the samples may have been higher.
    """
    if not log.shows_return:
        return None
    into = -log.current_a
    top = float(into.max())
    if not log.charging.any():
        return Quantity(0.0, 0.0, max(0.0, top + log.zero_half_a))
    near = int((into >= top - 5 * log.noise_a).sum())
    extra_a = log.noise_a * NormalDist().inv_cdf((near - 0.375) / (near + 0.25)) if near > 1 else 0.0
    rng = stream("charge current")
    zero, gain, charge_gain, alike = rng.uniform(-1, 1, (4, N_TRIALS))
    noise = (0.7 if near > 2 else 1.0) * log.noise_a * rng.standard_normal(N_TRIALS)
    value = max(top - 0.8 * extra_a, 0.0)
    unseen_a = max(unseen_peak(into) - 2 * log.noise_a, 0.0) * rng.uniform(0, UNSEEN, N_TRIALS)
    trials = (top - extra_a * (0.8 + 0.4 * alike) + noise + log.zero_half_a * zero + unseen_a) / (
        (1 + log.limits.gain * gain) * (1 + log.limits.charge_gain * charge_gain)
    )
    return known_quantity(Uncertain(value, trials).at_least(0.0))


def highest_mean_charge_a(log: PackLog, *, over_s: float = 10.0) -> float | None:
    """The highest mean of the current into the battery over ``over_s`` [A]; ``None`` where no such span is whole."""
    if not log.shows_return or log.time_s[-1] - log.time_s[0] < over_s or log.step_s > over_s / 2:
        return None
    running = running_integral(log.time_s, -log.current_a)
    missing = np.concatenate(([0], np.cumsum(~log.counted)))
    starts = log.time_s[log.time_s <= log.time_s[-1] - over_s]
    ends = starts + over_s
    means = (np.interp(ends, log.time_s, running) - running[: len(starts)]) / over_s
    whole = np.ceil(np.interp(ends, log.time_s, missing)) == missing[: len(starts)]
    return max(0.0, float(means[whole].max())) if whole.any() else None


@dataclass(frozen=True)
class OverCurrent:
    """Charge current above its limit; ``certain`` where zero, gains and noise of the sensor do not explain it."""

    exceeded: Exceeded
    certain: bool


def over_current(log: PackLog, max_charge_a: float) -> OverCurrent | None:
    """Current into the battery above ``max_charge_a`` [A]; ``None`` where there was none."""
    over = log.charging & (-log.current_a > max_charge_a)
    exceeded = _exceeded(log, over)
    if exceeded is None:
        return None
    gain = (1 + log.limits.gain) * (1 + log.limits.charge_gain)
    explained_a = max_charge_a * gain + log.zero_half_a + 4 * log.noise_a
    sure = lasting_mask(log.time_s, log.charging & (-log.current_a > explained_a))
    return OverCurrent(exceeded, bool(sure.any()))


@dataclass(frozen=True)
class ColdCharge:
    """Charge put in below the temperature for it; ``certain`` where a usual sensor's error does not explain it."""

    exceeded: Exceeded
    lowest_c: float
    certain: bool


def cold_charge(
    log: PackLog, min_temperature_c: float, *, sensor_c: float = 1.0, least_ah: float = 0.0005
) -> ColdCharge | None:
    """Current into the battery while it was colder than charging allows; ``None`` where there was none.

    Parameters
    ----------
    log : of one recording
    min_temperature_c : lowest temperature for charging, from the pack's maker [°C]
    sensor_c : temperature sensors of packs are right to about this (common practice, no source) [°C]
    least_ah : less is no charging, but an unsteady zero [Ah]

    Returns
    -------
    When, how much flowed, at which lowest temperature, and whether that is colder than the sensor may err.
    """
    with np.errstate(invalid="ignore"):
        cold = log.charging & (log.temperature_c < min_temperature_c)
    exceeded = _exceeded(log, cold)
    if exceeded is None or exceeded.into_ah < least_ah:
        return None
    lowest = float(log.temperature_c[cold].min())
    return ColdCharge(exceeded, lowest, lowest < min_temperature_c - sensor_c)
