"""The voltage at the samples of the current, where a log holds it less often: blank cells, or a slower device.

A straight line between two voltages misses what the current does in between. Where the pairs of both show how the
voltage answers the current, the line is drawn through the voltage without that answer, and the answer put back.
"""

import numpy as np

from ridelog.arrays import Floats, default_gap_limit_s

SPARSE = 0.8  # of the samples of the current; a voltage known at fewer is one that is logged less often


def volts_at_currents(log_s: Floats, voltage_v: Floats, time_s: Floats, current_a: Floats, longest_s: float) -> Floats:
    """The voltage at the samples whose current is known.

    Parameters
    ----------
    log_s, voltage_v : of the log, NaN where it is not known, shape (n,) [s], [V]
    time_s, current_a : samples whose current is known, shape (m,) [s], [A]
    longest_s : time between two voltages that is bridged at most [s]

    Returns
    -------
    Shape (m,), NaN where no voltage is near [V].
    """
    known = np.isfinite(voltage_v)
    if known.sum() < 2:
        return np.full(len(time_s), np.nan)
    volts_s, volts = log_s[known], voltage_v[known]
    usual_s = default_gap_limit_s(time_s)
    if known.sum() >= SPARSE * len(time_s):  # missing here and there at most
        return between(volts_s, volts, time_s, usual_s)
    amperes = between(time_s, current_a, volts_s, usual_s)
    both = np.isfinite(amperes)
    ohm = sparse_resistance(volts[both], amperes[both])
    limit_s = max(usual_s, min(default_gap_limit_s(volts_s), longest_s))
    unloaded = volts[both] + ohm * amperes[both]
    result: Floats = between(*_to_the_ends(volts_s[both], unloaded, time_s, limit_s), time_s, limit_s) - ohm * current_a
    return result


def _to_the_ends(volts_s: Floats, unloaded_v: Floats, time_s: Floats, limit_s: float) -> tuple[Floats, Floats]:
    """The voltage without load stays as it was first and last read, as far as a line between two would be drawn."""
    first = [time_s[0]] if 0 < volts_s[0] - time_s[0] <= limit_s else []
    last = [time_s[-1]] if 0 < time_s[-1] - volts_s[-1] <= limit_s else []
    reached_s = np.concatenate((first, volts_s, last))
    return reached_s, np.interp(reached_s, volts_s, unloaded_v)


def sparse_resistance(voltage_v: Floats, current_a: Floats, *, n_least: int = 30, n_sigma: float = 5.0) -> float:
    """By how much the voltage falls for an ampere, from neighbouring pairs of both; 0 where that is not clear [ohm].

    Differences are blind to the slow fall with the charge drawn.

    Parameters
    ----------
    voltage_v, current_a : shape (n,) [V], [A]
    n_least : fewer pairs show nothing [1]
    n_sigma : clear is a slope of so many of its own standard uncertainties that lowers the voltage [1]

    Returns
    -------
    Resistance [ohm].
    """
    amperes, volts = np.diff(current_a), np.diff(voltage_v)
    power = float(np.sum(amperes**2))
    if len(amperes) < n_least or power == 0:
        return 0.0
    ohm = -float(np.sum(amperes * volts)) / power
    u_ohm = float(np.std(volts + ohm * amperes)) / np.sqrt(power)
    return ohm if ohm > n_sigma * u_ohm else 0.0


def between(time_s: Floats, values: Floats, at_s: Floats, gap_limit_s: float) -> Floats:
    """Values at ``at_s``: straight lines between known samples that are no gap apart, NaN elsewhere.

    Parameters
    ----------
    time_s, values : shape (n,), NaN where not known [s]
    at_s : shape (m,) [s]
    gap_limit_s : longest time between two samples that a line may span [s]

    Returns
    -------
    Shape (m,).
    """
    known = np.isfinite(values)
    if known.sum() < 2:
        return np.full(len(at_s), np.nan)
    known_s = time_s[known]
    result: Floats = np.interp(at_s, known_s, values[known], left=np.nan, right=np.nan)
    after = np.clip(np.searchsorted(known_s, at_s, side="left"), 1, len(known_s) - 1)
    on_sample = known_s[after] == at_s
    result[(known_s[after] - known_s[after - 1] > gap_limit_s) & ~on_sample] = np.nan
    return result
