"""Missing samples: what a straight line across them misses, learnt from the rest of the same log."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.electrical.charge import SECONDS_PER_HOUR, Rule
from ridelog.analysis.electrical.rest import Rest
from ridelog.arrays import Floats, Mask, Runs
from ridelog.uncertain.seeds import stream


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

    ``time_s`` is the middle of each bridge, shape (n,), ``trials`` shape (n, 2, n_trials): drawn and returned, in the
    unit of the rate times hours.
    """

    time_s: Floats
    trials: Floats

    def within(self, start_s: float, end_s: float) -> Floats:
        """Trials of all bridges in a window together, shape (2, n_trials), or (2, 1) where there is none."""
        inside = (self.time_s > start_s) & (self.time_s <= end_s)
        total: Floats = self.trials[inside].sum(axis=0) if inside.any() else np.zeros((2, 1))
        return total


def bridges(
    rate: Floats, readings: Readings, n_trials: int, *, rule: Rule = "clip", n_alike: int = 30, apart_s: float = 3.0
) -> Bridges:
    """Learn what straight lines miss.

    A gap of m usual steps is put at the places of the log where the flow before and after it was most like here. What
    the straight line misses there is what it may have missed here: its mean is a correction, its spread the
    uncertainty. Trials are taken from those places themselves, because such errors are rarely normal: mostly nothing,
    now and then a whole stop.

    Parameters
    ----------
    rate : current times weight at the samples, shape (n,)
    readings : the log
    n_trials : number of trials
    rule : how samples are integrated
    n_alike : so many places speak for a gap; fewer know too little of what is rare, more are less like it
    apart_s : places are taken at most once in this time, for those next to each other tell the same [s]

    Returns
    -------
    Trials for each gap.
    """
    where = np.flatnonzero(readings.bridged)
    result = np.zeros((len(where), 2, n_trials))
    middle = (readings.time_s[where] + readings.time_s[where + 1]) / 2
    if not len(where):
        return Bridges(middle, result)
    rng = stream("bridges")
    step_h = np.where(readings.counted, np.diff(readings.time_s), 0.0) / SECONDS_PER_HOUR
    usual_h = float(np.median(step_h[step_h > 0]))
    widths = np.maximum(np.round(step_h[where] / usual_h).astype(int), 2)
    for width in np.unique(widths):
        if width >= len(rate) // 2:
            continue
        missed, whole = _missed(rate, step_h, int(width), rule)
        for number in np.flatnonzero(widths == width):
            gap = where[number]
            apart = np.abs(rate[:-width] - rate[gap]) + np.abs(rate[width:] - rate[gap + 1])
            cell = max(int(width), round(apart_s / SECONDS_PER_HOUR / usual_h))
            alike = _nearest(np.where(whole, apart, np.inf), n_alike, cell)
            if len(alike):
                result[number] = missed[:, rng.choice(alike, n_trials)]
    return Bridges(middle, result)


def _nearest(apart: Floats, n_alike: int, width: int) -> NDArray[np.intp]:
    """The places where ``apart`` is least, one in each ``width`` samples."""
    padded = np.full(-(-len(apart) // width) * width, np.inf)
    padded[: len(apart)] = apart
    cells = padded.reshape(-1, width)
    best = np.argmin(cells, axis=1) + width * np.arange(len(cells))
    best = best[np.isfinite(cells.min(axis=1))]
    nearest: NDArray[np.intp] = best[np.argsort(apart[best], kind="stable")[:n_alike]]
    return nearest


def _missed(rate: Floats, step_h: Floats, width: int, rule: Rule) -> tuple[Floats, Mask]:
    """What really flowed less the straight line over ``width`` steps from each sample, shape (2, n - width), and where
    no other gap lies within."""
    usual_h = float(np.median(step_h[step_h > 0]))
    parts = np.stack([np.maximum(rate, 0.0), np.maximum(-rate, 0.0)])
    line = (parts[:, width:] + parts[:, :-width]) / 2
    if rule == "mean":
        flow = parts[:, 1:]
        line = (parts[:, width:] + (width - 1) * line) / width
    else:
        flow = (parts[:, 1:] + parts[:, :-1]) / 2
    running = np.concatenate((np.zeros((2, 1)), np.cumsum(flow * step_h, axis=1)), axis=1)
    spans_h = np.convolve(step_h, np.ones(width), "valid")
    whole: Mask = np.abs(spans_h - width * usual_h) < 0.5 * usual_h
    return running[:, width:] - running[:, :-width] - line * (width * usual_h), whole
