"""Series resistance of the pack, from the steps of the current that the ride itself made."""

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.electrical.sensor import SensorLimits
from ridelog.arrays import Floats, Mask, robust_scale, running_integral
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import N_TRIALS, Uncertain, known_quantity

Samples = NDArray[np.intp] | slice


@dataclass(frozen=True)
class ResistanceSettings:
    """How steps are taken and when they are enough.

    Attributes
    ----------
    lag_s : the two samples of a pair are this far apart, or one step of the log; long enough for a motor's current to
        change and for voltage and current to be read one after the other, short against what a cell's voltage drifts
        [s]
    longest_lag_s : logs with longer steps do not tell a resistance from that drift [s]
    least_step_a : a step of the current that counts as one [A]
    least_spans : so many spans of ``block_s`` must hold such a step; their spread gives the uncertainty
    block_s : errors of pairs further apart than this are independent [s]
    largest_share : an interval wider than this share of the value to either side tells nothing [1]
    noise_doubt : the noise of the current is known to this share of its variance [1]
    """

    lag_s: float = 1.0
    longest_lag_s: float = 5.0
    least_step_a: float = 2.0
    least_spans: int = 5
    block_s: float = 10.0
    largest_share: float = 0.5
    noise_doubt: float = 0.3


DEFAULT_SETTINGS = ResistanceSettings()
MOST_ROUNDS = 20  # of the robust line; it settles in five or so


@dataclass(frozen=True)
class Steps:
    """Pairs of samples a short lag apart, each shape (n_pairs,).

    ``current_a`` and ``voltage_v`` are the changes, the open-circuit voltage's trend with the charge drawn taken off
    both; ``negative_a`` is the change of the current's negative part, ``block`` numbers the span that a pair lies in.
    """

    current_a: Floats
    voltage_v: Floats
    negative_a: Floats
    block: Floats


def current_steps(
    time_s: Floats,
    current_a: Floats,
    voltage_v: Floats,
    usable: Mask,
    *,
    settings: ResistanceSettings = DEFAULT_SETTINGS,
) -> Steps | None:
    """Changes of current and voltage over a short lag; ``None`` where the log's steps are too long or nothing pairs.

    Parameters
    ----------
    time_s, current_a, voltage_v : shape (n,) [s], [A], [V]
    usable : samples that may be part of a pair, shape (n,)
    settings : thresholds

    Returns
    -------
    The pairs that count, with the part of the ride that each lies in.
    """
    usual_s = float(np.median(np.diff(time_s))) if len(time_s) > 1 else np.inf
    lag_s = max(settings.lag_s, usual_s)
    if lag_s > settings.longest_lag_s:
        return None
    later = np.searchsorted(time_s, time_s + lag_s - usual_s / 2)
    early = np.flatnonzero(later < len(time_s))
    late = later[early]
    del later  # of a long log each array counts
    near = np.abs(time_s[late] - time_s[early] - lag_s) <= 0.51 * usual_s
    good = near & (late > early) & usable[early] & usable[late]
    if good.sum() < 2:
        return None
    steps = int(late[0] - early[0])
    first: Samples = early[good]
    last: Samples = late[good]
    if good.all() and (late - early == steps).all():  # an even log: no copy of each column
        first, last = slice(0, len(time_s) - steps), slice(steps, None)
    del early, late
    drawn_as = _change(running_integral(time_s, current_a), first, last)
    current, voltage = (_without_trend(_change(values, first, last), drawn_as) for values in (current_a, voltage_v))
    into = _change(np.minimum(current_a, 0.0), first, last)
    return Steps(current, voltage, into, np.floor(time_s[first] / settings.block_s))


def _change(values: Floats, first: Samples, last: Samples) -> Floats:
    return np.asarray(values[last] - values[first])


def _without_trend(change: Floats, drawn_as: Floats) -> Floats:
    """Changes without what goes with the charge drawn."""
    return change - drawn_as * _slope(drawn_as, change)


def _slope(x: Floats, y: Floats) -> float:
    square = float(x @ x)
    return float(x @ y) / square if square > 0 else 0.0


def resistance_q(
    steps: Steps | None, limits: SensorLimits, noise_a: float, *, settings: ResistanceSettings = DEFAULT_SETTINGS,
    resolution_v: float = 0.0,
) -> Quantity | None:  # fmt: skip
    """Series resistance over about one second [ohm]; ``None`` where the steps do not tell it.

    V = E − R I, so dV = −R dI for steps that are quick against E. R is the line through 0 of dV on dI with Huber's
    weights. The noise of the current adds 2 σ² to each squared step and so flattens the line; it is taken off (errors
    in variables). The interval holds the gains of the sensor, the spread between spans of the ride, and the doubt
    about that noise.

    Parameters
    ----------
    steps : from `current_steps`
    limits : gain errors of current and voltage
    noise_a : standard deviation of the current's noise, quantisation included [A]
    settings : thresholds
    resolution_v : last digit of the voltage [V]

    Returns
    -------
    Best value with its 95 % interval [ohm].

    References
    ----------
    P. J. Huber, "Robust estimation of a location parameter", Ann. Math. Statist. 35 (1964) 73-101.
    W. A. Fuller, "Measurement Error Models", Wiley 1987, section 1.2 (noise variance known).
    """
    if steps is None:
        return None
    x, y = steps.current_a, -steps.voltage_v
    telling = np.abs(x) >= max(settings.least_step_a, 5 * noise_a)
    if len(np.unique(steps.block[telling])) < settings.least_spans:
        return None
    ohm, weight = _robust_line(x, y, telling, 2 * noise_a**2, resolution_v)
    square = float(weight @ (x * x - 2 * noise_a**2))
    if not ohm > 0 or square <= 0.5 * float(weight @ (x * x)):
        return None
    _, number = np.unique(steps.block, return_inverse=True)
    scores = np.bincount(number, weight * (x * (y - ohm * x) + ohm * 2 * noise_a**2))
    spread_ohm = float(np.sqrt((scores**2).sum())) / square
    doubt = settings.noise_doubt * float(weight.sum()) * 2 * noise_a**2 / square
    from_charge = float(weight @ (steps.negative_a * x)) / float(weight @ (x * x))
    rng = stream("resistance")
    gain, charge_gain, voltage_gain, doubted = rng.uniform(-1, 1, (4, N_TRIALS))
    trials = ohm + spread_ohm * rng.standard_normal(N_TRIALS)
    trials = trials * (1 + limits.gain * gain) * (1 + limits.charge_gain * charge_gain * from_charge)
    trials = trials / (1 + limits.voltage_gain * voltage_gain) * (1 + doubt * doubted)
    found = known_quantity(Uncertain(ohm, trials))
    low, high = found.low95 or 0.0, found.high95 or np.inf
    return found if max(ohm - low, high - ohm) <= settings.largest_share * ohm else None


def _robust_line(
    x: Floats, y: Floats, telling: Mask, noise_a2: float, resolution_v: float, *, huber: float = 3.0
) -> tuple[float, Floats]:
    """Slope of y on x through 0 and the weights; residuals beyond ``huber`` times their usual size count less.

    Their usual size is judged on pairs with a step, for the many without would make every step an outlier.
    """
    weight = np.ones(len(x))
    ohm = float(np.median(y[telling] / x[telling]))
    for _ in range(MOST_ROUNDS):
        off = y - ohm * x
        usual = max(robust_scale(off[telling], centre=0.0), resolution_v, 1e-9)
        weight = np.minimum(1.0, huber * usual / np.maximum(np.abs(off), 1e-12))
        square = float(weight @ (x * x - noise_a2))
        if square <= 0:
            return 0.0, weight
        before, ohm = ohm, float(weight @ (x * y)) / square
        if abs(ohm - before) <= 1e-9 * abs(ohm):
            break
    return ohm, weight
