"""How sure drawn and returned are: what the sensor, the sampling and the gaps may have done to them.

The current reading is ``x = g (1 + a·[i < 0]) i + b + noise``. The zero error b, the gain g and the charge gain a are
the same for the whole ride, so they shift drawn, returned and every hill together: one set of trials serves all
(JCGM 101:2008). What happens between the samples and in the gaps is each window's own.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ridelog.analysis.electrical.bridges import Readings, bridges
from ridelog.analysis.electrical.charge import SECONDS_PER_HOUR, Rule, split_flow
from ridelog.analysis.electrical.means import hidden
from ridelog.analysis.electrical.rest import false_flow
from ridelog.analysis.electrical.zero import Zero
from ridelog.arrays import Floats
from ridelog.settings.bike import SensorSection
from ridelog.uncertain.seeds import stream, window_stream
from ridelog.uncertain.trials import N_TRIALS, UNKNOWN, Uncertain

# The errors that act on drawn and returned, by the names that a budget gives them.
ZERO, GAIN, CHARGE_GAIN, VOLTAGE_GAIN, SAMPLING, MISSING = ERRORS = (
    "current zero",
    "current gain",
    "charge against discharge gain",
    "voltage gain",
    "sampling and noise",
    "missing samples",
)

LEAST_SEEN_S = 1e-6  # less of a window between samples is the rounding of its bounds
N_ZEROS = 7  # zero errors at which the integrals are evaluated; between them straight lines

# Limits (half-widths of rectangular distributions) where the bike file gives none: what controllers and battery
# management systems commonly keep to (common practice, no source).
DEFAULT_LIMITS = {
    "current_zero_limit_a": 0.15,
    "current_gain_limit_pct": 2.0,
    "charge_gain_limit_pct": 0.5,
    "voltage_gain_limit_pct": 1.0,
}


@dataclass(frozen=True)
class SensorLimits:
    """Half-widths of rectangular distributions (JCGM 100:2008, 4.3.7) and the standby draw, if known."""

    zero_a: float
    gain: float
    charge_gain: float
    voltage_gain: float
    standby_a: float | None
    assumed: Mapping[str, float]  # those that the bike file does not give, by its keys


def sensor_limits(sensor: SensorSection) -> SensorLimits:
    """The bike file's limits, completed by `DEFAULT_LIMITS`."""
    given = {key: getattr(sensor, key) for key in DEFAULT_LIMITS}
    limits = {key: value if value is not None else DEFAULT_LIMITS[key] for key, value in given.items()}
    assumed = {key: limits[key] for key, value in given.items() if value is None}
    return SensorLimits(
        limits["current_zero_limit_a"],
        limits["current_gain_limit_pct"] / 100,
        limits["charge_gain_limit_pct"] / 100,
        limits["voltage_gain_limit_pct"] / 100,
        sensor.standby_draw_a,
        assumed,
    )


@dataclass(frozen=True)
class Throughput:
    """What left the battery terminals and what went back into them, as charge [Ah] or as energy [Wh]."""

    drawn: Uncertain
    returned: Uncertain

    def __add__(self, other: "Throughput") -> "Throughput":
        """Both together."""
        return Throughput(self.drawn + other.drawn, self.returned + other.returned)

    @property
    def net(self) -> Uncertain:
        """Drawn less returned."""
        return self.drawn - self.returned

    @property
    def recovered_pct(self) -> Uncertain:
        """100 × returned / drawn, in which the gains that both share cancel; unknown where nothing was drawn [%]."""
        share = self.returned.share_pct(self.drawn)
        return replace(share, sources=share.sources - {GAIN, VOLTAGE_GAIN})


UNKNOWN_THROUGHPUT = Throughput(UNKNOWN, UNKNOWN)


class FlowModel:
    """Drawn and returned in any window of a ride, with all that may be wrong with them.

    Parameters
    ----------
    readings : the log
    zero : the zero error of the current
    limits : what the sensor keeps to
    rule : how samples are integrated
    with_voltage : the voltage's gain error counts as well
    """

    def __init__(
        self, readings: Readings, zero: Zero, limits: SensorLimits, *, rule: Rule = "clip", with_voltage: bool = False
    ) -> None:
        self.time_s = readings.time_s
        self.zero = zero
        self.common = common_trials(zero, limits, with_voltage=with_voltage)
        self.zeros = zero.between(N_ZEROS)
        flows = [_flow(readings, b, rule) for b in self.zeros]
        self._drawn = np.stack([flow[0] for flow in flows])
        self._returned = np.stack([flow[1] for flow in flows])
        self._spread = _own_errors(readings, zero.value_a, readings.rest.noise_a, rule)
        self._in_common = np.zeros((2, len(self.time_s)))
        if rule == "mean":
            step_h = np.where(readings.counted, np.diff(readings.time_s), 0.0) / SECONDS_PER_HOUR
            cancelled = hidden(levelled(readings, zero.value_a) * readings.weight, readings.counted & ~readings.bridged)
            self._spread = self._spread + cancelled.variances(step_h)
            self._in_common = cancelled.in_common(step_h)
        self._bridges = bridges(levelled(readings, zero.value_a) * readings.weight, readings, N_TRIALS, rule=rule)
        steps_s = np.diff(readings.time_s)
        self._missing_s = np.concatenate(([0.0], np.cumsum(np.where(readings.counted, 0.0, steps_s))))
        self._seen_s = np.concatenate(([0.0], np.cumsum(np.where(readings.counted, steps_s, 0.0))))

    def window(
        self,
        start_s: float,
        end_s: float,
        *,
        bounds_u_s: tuple[float, float] = (0.0, 0.0),
        acting: Collection[str] = ERRORS,
    ) -> Throughput:
        """What flowed in one window: what is common to the ride is the same in all, what is between its samples is not.

        Parameters
        ----------
        start_s, end_s : of the window [s]
        bounds_u_s : standard uncertainties of start and end, where these are not the user's own [s]
        acting : the errors that act, all by default

        Returns
        -------
        Drawn and returned; unknown where no part of the window was seen.
        """
        if end_s > start_s and not np.diff(np.interp([start_s, end_s], self.time_s, self._seen_s))[0] > LEAST_SEEN_S:
            return UNKNOWN_THROUGHPUT
        drawn, returned = (self._at_zeros(part, start_s, end_s) for part in (self._drawn, self._returned))
        across = self._bridges.within(start_s, end_s)
        best = [
            max(float(np.interp(self.zero.value_a, self.zeros, part)) + mean, 0.0)
            for part, mean in zip((drawn, returned), across.mean(axis=1), strict=True)
        ]
        rng = window_stream(start_s - float(self.time_s[0]), end_s - float(self.time_s[0]))
        own = self._moved(start_s, end_s, bounds_u_s, rng)
        if SAMPLING in acting:
            shared = np.array([np.diff(np.interp([start_s, end_s], self.time_s, row))[0] for row in self._in_common])
            own = own + self._own(start_s, end_s, rng) + shared @ self.common.cancelled
        own = own + (across if MISSING in acting else across.mean(axis=1, keepdims=True))
        common = self.common.only(acting, self.zero.value_a)
        out = np.interp(common.zero_a, self.zeros, drawn) / common.gain + own[0]
        back = np.interp(common.zero_a, self.zeros, returned) / (common.gain * common.charge_gain) + own[1]
        unseen = self._unseen(start_s, end_s, rng) if MISSING in acting else np.zeros((2, 1))
        out, back = (np.maximum(part * (1 + more), 0.0) for part, more in zip((out, back), unseen, strict=True))
        sources = frozenset(acting)
        return Throughput(Uncertain(best[0], out, sources - {CHARGE_GAIN}), Uncertain(best[1], back, sources))

    def _moved(self, start_s: float, end_s: float, bounds_u_s: tuple[float, float], rng: np.random.Generator) -> Floats:
        """What drawn and returned change by where the bounds move, shape (2, N_TRIALS)."""
        if not any(bounds_u_s):
            return np.zeros((2, 1))
        at = int(np.argmin(np.abs(self.zeros - self.zero.value_a)))
        starts, ends = (
            bound + u_s * rng.standard_normal(N_TRIALS) for bound, u_s in zip((start_s, end_s), bounds_u_s, strict=True)
        )
        moved = [
            np.interp(ends, self.time_s, row[at]) - np.interp(starts, self.time_s, row[at])
            for row in (self._drawn, self._returned)
        ]
        still = [np.diff(np.interp([start_s, end_s], self.time_s, row[at]))[0] for row in (self._drawn, self._returned)]
        change: Floats = np.stack(moved) - np.array(still)[:, None]
        return change

    def _unseen(self, start_s: float, end_s: float, rng: np.random.Generator) -> Floats:
        """Share of what was seen that may have flowed in gaps too long to be bridged, shape (2, N_TRIALS).

        Nothing is assumed to have flowed there; anything up to twice the usual flow may have.
        """
        missing_s = float(np.diff(np.interp([start_s, end_s], self.time_s, self._missing_s))[0])
        seen_s = end_s - start_s - missing_s
        if missing_s <= 0 or seen_s <= 0:
            return np.zeros((2, 1))
        return rng.uniform(0, 2 * missing_s / seen_s, (2, N_TRIALS))

    def _at_zeros(self, running: Floats, start_s: float, end_s: float) -> Floats:
        bounds = [start_s, end_s]
        ends = np.array([np.interp(bounds, self.time_s, row) for row in running])
        flowed: Floats = ends[:, 1] - ends[:, 0]
        return flowed

    def _own(self, start_s: float, end_s: float, rng: np.random.Generator) -> Floats:
        """Trials of what sampling and noise did in the window, shape (2, N_TRIALS)."""
        var_d, var_r, cov = (float(np.diff(np.interp([start_s, end_s], self.time_s, row))[0]) for row in self._spread)
        normal = rng.standard_normal((2, N_TRIALS))
        if var_d <= 0 or var_r <= 0:
            return np.sqrt(np.maximum([[var_d], [var_r]], 0.0)) * normal
        tie = np.clip(cov / np.sqrt(var_d * var_r), -1.0, 1.0)
        returned = tie * normal[0] + np.sqrt(1 - tie**2) * normal[1]
        return np.stack([np.sqrt(var_d) * normal[0], np.sqrt(var_r) * returned])


@dataclass(frozen=True)
class Common:
    """Trials of what is common to the whole ride, shape (N_TRIALS,); ``cancelled`` (2, N_TRIALS), of the unit 1."""

    zero_a: Floats
    current_gain: Floats
    charge_gain: Floats
    voltage_gain: Floats
    cancelled: Floats

    @property
    def gain(self) -> Floats:
        """Gain of drawn and returned alike."""
        return self.current_gain * self.voltage_gain

    def only(self, acting: Collection[str], zero_a: float) -> "Common":
        """The trials with only some errors acting; the others at their best values."""
        still = np.ones(N_TRIALS)
        return Common(
            self.zero_a if ZERO in acting else zero_a * still,
            self.current_gain if GAIN in acting else still,
            self.charge_gain if CHARGE_GAIN in acting else still,
            self.voltage_gain if VOLTAGE_GAIN in acting else still,
            self.cancelled,
        )


def common_trials(zero: Zero, limits: SensorLimits, *, with_voltage: bool) -> Common:
    """Trials of zero and gains, and of what cancels within means; the voltage's gain is 1 for charge.

    Parameters
    ----------
    zero : the zero error of the current
    limits : what the sensor keeps to
    with_voltage : energy is counted, not charge

    Returns
    -------
    Trials, each shape (n_trials,).
    """
    rng = stream("sensor")
    parts = rng.uniform(-1, 1, (4, N_TRIALS))
    zero_a = zero.spread_over((parts[0] + 1) / 2) + zero.noise_a * rng.standard_normal(N_TRIALS)
    voltage_gain = limits.voltage_gain if with_voltage else 0.0
    return Common(
        zero_a,
        1 + limits.gain * parts[1],
        1 + limits.charge_gain * parts[2],
        1 + voltage_gain * parts[3],
        rng.standard_normal((2, N_TRIALS)),
    )


def _flow(readings: Readings, zero_a: float, rule: Rule) -> tuple[Floats, Floats]:
    """Running drawn and returned for one zero error."""
    current = levelled(readings, zero_a)
    rate = current * readings.weight
    flow, at_rest = (
        split_flow(
            readings.time_s,
            np.where(chosen, rate, 0.0),
            rule=rule,
            counted_mask=readings.counted,
            bridged_mask=readings.bridged,
        )
        for chosen in (~readings.standing, readings.standing)
    )
    step_h = np.where(readings.counted, np.diff(readings.time_s), 0.0) / SECONDS_PER_HOUR
    extra = -_feigned(readings, zero_a) * readings.weight
    if rule == "mean":
        extra = extra + hidden(rate, readings.counted & ~readings.bridged).best
    both_ways = np.concatenate(([0.0], np.cumsum(extra[1:] * step_h)))
    return flow.drawn + both_ways + at_rest.drawn - at_rest.returned, flow.returned + both_ways


def levelled(readings: Readings, zero_a: float) -> Floats:
    """The current less its zero error, with quiet stretches at their mean."""
    current = readings.current_a - zero_a
    for first, last in readings.quiet:
        current[first : last + 1] = current[first : last + 1].mean()
    return current


def _feigned(readings: Readings, zero_a: float) -> Floats:
    """What the noise of a quiet stretch's mean feigns each way if only the standby draw flowed, shape (n,) [A]."""
    feigned = np.zeros(len(readings.time_s))
    rest = readings.rest
    level_a = (rest.mean_a if rest.mean_a is not None else zero_a) - zero_a
    for first, last in readings.quiet:
        noise_a = rest.noise_a / np.sqrt(last - first + 1)
        feigned[first : last + 1] = false_flow(np.array(level_a), np.array(noise_a))
    return np.where(readings.standing, 0.0, feigned)


def _own_errors(readings: Readings, zero_a: float, noise_a: float, rule: Rule) -> Floats:
    """Running variances of drawn and returned and their covariance, shape (3, n), from sampling and noise."""
    current = levelled(readings, zero_a)
    rate = current * readings.weight
    step_h = np.where(readings.counted, np.diff(readings.time_s), 0.0) / SECONDS_PER_HOUR
    parts = np.maximum(rate, 0.0), np.maximum(-rate, 0.0)
    noise = noise_a * readings.weight
    terms = _sampling(parts, noise, step_h) if rule != "mean" else np.zeros((3, len(rate)))
    active = (rate > 0, rate < 0)
    for index in (0, 1):
        terms[index, 1:] += np.where(active[index][1:], noise[1:] ** 2, 0.0) * step_h**2
    running: Floats = np.cumsum(terms, axis=1)
    return running


def _bends(values: Floats) -> Floats:
    result = np.zeros_like(values)
    result[1:-1] = values[:-2] - 2 * values[1:-1] + values[2:]
    return result


def _sampling(parts: tuple[Floats, Floats], noise: Floats, step_h: Floats) -> Floats:
    """Variance of the trapezoid between samples, from the log's own bends.

    A jump J between two samples leaves an error uniform over ±J h/2 and two second differences ±J, so its variance is
    h²/24 of the sum of their squares. A kink leaves h²/480 of it. Which of the two the log is made of shows when it is
    thinned to every second sample: the sum stays (jumps) or grows fourfold (kinks); between the two the factor follows
    a power of that growth. White noise adds 6 σ² to each squared second difference, which is taken off.
    """
    h2 = np.concatenate((step_h**2, [0.0]))
    bends = [_bends(part) for part in parts]
    factors = []
    for part, bend in zip(parts, bends, strict=True):
        noisy = 6 * float((noise[part > 0] ** 2).sum())
        own = max(float((bend**2).sum()) - noisy, 1e-30)
        thinned = float(np.mean([(_bends(part[start::2]) ** 2).sum() for start in (0, 1)])) - noisy / 2
        growth = float(np.clip(thinned / own, 1.0, 4.0)) if thinned > 0 else 1.0
        signal = own / max(float((bend**2).sum()), 1e-30)
        factors.append(signal * growth ** -(np.log(20) / np.log(4)) / 24)
    return np.stack(
        [
            factors[0] * h2 * bends[0] ** 2,
            factors[1] * h2 * bends[1] ** 2,
            np.sqrt(factors[0] * factors[1]) * h2 * bends[0] * bends[1],
        ]
    )
