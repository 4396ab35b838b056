"""Missing samples: what a straight line across them misses, learnt from the rest of the same log."""

from dataclasses import dataclass

import numpy as np

from ridelog.analysis.charge import SECONDS_PER_HOUR
from ridelog.analysis.rest import Rest
from ridelog.analysis.runs import Floats, Mask, Runs


@dataclass(frozen=True)
class Readings:
    """What is integrated: shape (n,) arrays on the electrical samples, and what is known of their steps.

    ``weight`` multiplies the current (1 for charge, the voltage for energy). ``quiet`` are stretches in which only the
    mean tells the direction; in ``standing`` nothing can come back. ``counted`` are the steps, shape (n-1,), that are
    integrated; ``bridged`` those of them that span missing samples. ``rest`` is what the sensor shows at rest.
    """

    time_s: Floats
    current_a: Floats
    weight: Floats
    quiet: Runs
    standing: Mask
    counted: Mask
    bridged: Mask
    rest: Rest


@dataclass(frozen=True)
class Bridges:
    """What flowed across missing samples beyond the straight line.

    ``time_s`` is the middle of each bridge, shape (n,), ``draws`` shape (n, 2, n_draws): drawn and returned, in the
    unit of the rate times hours.
    """

    time_s: Floats
    draws: Floats

    def within(self, start_s: float, end_s: float) -> Floats:
        """Draws of all bridges in a window together, shape (2, n_draws)."""
        inside = (self.time_s > start_s) & (self.time_s < end_s)
        total: Floats = self.draws[inside].sum(axis=0)
        return total


def bridges(rate: Floats, readings: Readings, n_draws: int, *, least_alike: int = 30, seed: int = 7) -> Bridges:
    """Learn what straight lines miss.

    A gap of m usual steps is put at every place of the log in turn where the bike was driven, coasting or returning
    before and after it just as here. What the straight line misses there is what it may have missed here: its mean is a
    correction, its spread the uncertainty. Draws are taken from those places themselves, because such errors are rarely
    normal: mostly nothing, now and then a whole stop.

    Parameters
    ----------
    rate : current times weight at the samples, shape (n,)
    readings : the log
    n_draws : number of draws
    least_alike : fewer alike places than this do not speak for themselves; then all places do
    seed : of the draws
    """
    where = np.flatnonzero(readings.bridged)
    result = np.zeros((len(where), 2, n_draws))
    middle = (readings.time_s[where] + readings.time_s[where + 1]) / 2
    if not len(where):
        return Bridges(middle, result)
    rng = np.random.default_rng(seed)
    step_h = np.where(readings.counted, np.diff(readings.time_s), 0.0) / SECONDS_PER_HOUR
    usual_h = float(np.median(step_h[step_h > 0]))
    state = np.sign(np.where(np.abs(rate) < 0.05 * np.abs(rate).max(), 0.0, rate))
    widths = np.maximum(np.round(step_h[where] / usual_h).astype(int), 2)
    for width in np.unique(widths):
        if width >= len(rate) // 2:
            continue
        missed, whole = _missed(rate, step_h, int(width), usual_h)
        for number in np.flatnonzero(widths == width):
            gap = where[number]
            alike = np.flatnonzero(whole & (state[:-width] == state[gap]) & (state[width:] == state[gap + 1]))
            places = alike if len(alike) >= least_alike else np.flatnonzero(whole)
            if len(places):
                result[number] = missed[:, rng.choice(places, n_draws)]
    return Bridges(middle, result)


def _missed(rate: Floats, step_h: Floats, width: int, usual_h: float) -> tuple[Floats, Mask]:
    """What really flowed less the straight line over ``width`` steps from each sample, shape (2, n - width), and where
    no other gap lies within."""
    parts = np.stack([np.maximum(rate, 0.0), np.maximum(-rate, 0.0)])
    running = np.concatenate((np.zeros((2, 1)), np.cumsum((parts[:, 1:] + parts[:, :-1]) / 2 * step_h, axis=1)), axis=1)
    line = (parts[:, width:] + parts[:, :-width]) / 2 * (width * usual_h)
    spans_h = np.convolve(step_h, np.ones(width), "valid")
    whole: Mask = np.abs(spans_h - width * usual_h) < 0.5 * usual_h
    return running[:, width:] - running[:, :-width] - line, whole
