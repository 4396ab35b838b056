"""Missing samples: what a straight line across them misses, learnt from the rest of the same log."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.electrical.charge import SECONDS_PER_HOUR, Rule, usual_step_h
from ridelog.analysis.electrical.gaps.places import Places
from ridelog.analysis.electrical.gaps.trials import Across, Learnt
from ridelog.analysis.electrical.rest import Rest
from ridelog.arrays import Floats, Mask, Runs
from ridelog.lazy import dataclass

# A step spans missing samples beyond so many times what nine of ten steps keep to. Loggers that write whenever a value
# comes in keep no even steps; what lies between their samples is sampling, not loss.
MISSING_STEPS, USUAL_QUANTILE = 1.5, 0.9


@dataclass(frozen=True)
class BridgeSettings:
    """Which places of a log speak for a gap.

    Attributes
    ----------
    n_near : so many tell the mean of what it misses
    n_alike : so many tell how far it may lie from that
    apart_s : of the places within this time one is taken, for those next to each other tell the same [s]
    """

    n_near: int = 8
    n_alike: int = 50
    apart_s: float = 3.0


BRIDGES = BridgeSettings()


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

    @property
    def step_h(self) -> Floats:
        """The steps, shape (n-1,); 0 where they do not count [h]."""
        steps: Floats = np.where(self.counted, np.diff(self.time_s), 0.0) / SECONDS_PER_HOUR
        return steps


@dataclass(frozen=True)
class Bridges:
    """What flowed across missing samples beyond the straight line.

    ``time_s`` is the middle of each bridge, shape (n,), ``trials`` of drawn and returned, in the unit of the rate times
    hours, and ``best`` their best values, shape (n, 2).
    """

    time_s: Floats
    trials: Across
    best: Floats

    def within(self, start_s: float, end_s: float) -> tuple[Floats, Floats]:
        """All bridges in a window together: best values, shape (2, 1), and trials, (2, n_trials or 1)."""
        first, end = np.searchsorted(self.time_s, (start_s, end_s), side="right").tolist()
        if end <= first:
            return np.zeros((2, 1)), np.zeros((2, 1))
        return self.best[first:end].sum(axis=0)[:, None], self.trials.summed(first, end)

    def above_nothing(self, lines: Floats) -> "Bridges":
        """The same, but in no gap less than nothing flowed, by best values.

        The mean of what lines miss elsewhere may take that much off the line of one gap. It is made up for by the other
        gaps, in proportion to what flowed there.

        Parameters
        ----------
        lines : what the straight lines have across each gap, shape (n, 2)

        Returns
        -------
        Bridges with the trials as they are.
        """
        flowed = lines + self.best
        there = np.maximum(flowed, 0.0)
        together = there.sum(axis=0)
        share = np.divide(np.maximum(flowed.sum(axis=0), 0.0), together, out=np.zeros(2), where=together > 0)
        return replace(self, best=share * there - lines)


def missing_steps(time_s: Floats, counted: Mask) -> Mask:
    """Counted steps that span missing samples, shape (n - 1,)."""
    steps_s = np.diff(time_s)
    usual_s = float(np.quantile(steps_s, USUAL_QUANTILE)) if len(steps_s) else 0.0
    mask: Mask = counted & (steps_s > MISSING_STEPS * usual_s)
    return mask


def bridges(
    rate: Floats,
    readings: Readings,
    n_trials: int,
    *,
    rule: Rule = "clip",
    hidden: Floats | None = None,
    settings: BridgeSettings = BRIDGES,
) -> Bridges:
    """Learn what straight lines miss.

    A gap of m usual steps is put at the places of the log where the flow before and after it was most like here. What
    the straight line misses there is what it may have missed here. The few that are nearest tell the mean, for those
    further off come from higher or lower flows and would bend it; many tell how far from their mean a single gap may
    lie, for what is rare, such as a whole stop, shows in many only. Trials are taken from those places themselves:
    such errors are not normal.

    A log holds no more than some such places, and gaps that are alike learn from the same: in each trial every place
    counts for more or less than one, the same for all gaps (the Bayesian bootstrap).

    Parameters
    ----------
    rate : current times weight at the samples, shape (n,)
    readings : the log
    n_trials : number of trials
    rule : how samples are integrated
    hidden : what cancelled within the steps of an averaged log up to each sample, in both directions, shape (n,)
    settings : which places speak for a gap

    Returns
    -------
    Trials for each gap, their means as best values.

    References
    ----------
    D. B. Rubin, The Bayesian bootstrap, Annals of Statistics 9 (1981), 130-134 (from memory).
    """
    where = np.flatnonzero(readings.bridged)
    middle = (readings.time_s[where] + readings.time_s[where + 1]) / 2
    learnt = Learnt(len(where), n_trials, n_alike=settings.n_alike, n_near=settings.n_near)
    trials, best = Across(len(where), n_trials, learnt.again), np.zeros((len(where), 2))
    step_h = readings.step_h
    usual_h = usual_step_h(step_h) if len(where) else 0.0
    widths = np.maximum(np.round(step_h[where] / usual_h).astype(int), 2)
    for width in np.unique(widths):
        if width >= len(rate) // 2:
            continue
        spans = _spans(readings, width * usual_h, usual_h)
        if not len(spans.first):
            continue
        missed = _missed(rate, step_h, spans, usual_h, rule, hidden)
        cell = max(int(width), round(settings.apart_s / SECONDS_PER_HOUR / usual_h))
        gaps = np.flatnonzero(widths == width)
        around = np.stack([rate[spans.first], rate[spans.last]])
        places = Places(around, spans.first // cell, settings.n_alike, len(gaps))
        for number in gaps.tolist():
            gap = where[number]
            alike = places.nearest(rate[gap], rate[gap + 1])
            drawn = learnt.first(number, missed[:, alike], places.cell[alike], float(step_h[gap]))
            best[number] = drawn.mean(axis=1)
            trials.put(number, drawn)
    return Bridges(middle, trials, best)


@dataclass(frozen=True)
class Spans:
    """Stretches of the log as long as a gap: their first and last samples, shape (m,)."""

    first: NDArray[np.intp]
    last: NDArray[np.intp]


def _spans(readings: Readings, span_h: float, usual_h: float) -> Spans:
    """From each sample on the stretch that is as long as the gap to half a usual step, if nothing is missing in it."""
    broken = readings.bridged | ~readings.counted
    elapsed_h = np.concatenate(([0.0], np.cumsum(readings.step_h)))
    n_broken = np.concatenate(([0], np.cumsum(broken)))
    last = np.searchsorted(elapsed_h, elapsed_h + span_h - 0.5 * usual_h)
    first = np.flatnonzero(last < len(elapsed_h))
    last = last[first]
    whole = (n_broken[last] == n_broken[first]) & (last >= first + 2)
    whole &= elapsed_h[last] - elapsed_h[first] < span_h + 0.5 * usual_h
    return Spans(first[whole], last[whole])


def _missed(rate: Floats, step_h: Floats, spans: Spans, usual_h: float, rule: Rule, hidden: Floats | None) -> Floats:
    """What really flowed less the straight line, over each stretch and for each hour of it, shape (2, m).

    Both are taken over the time that the stretch really lasted, so that a steady flow misses nothing at any stamps.
    """
    parts = np.stack([np.maximum(rate, 0.0), np.maximum(-rate, 0.0)])
    span_h = _lasted_h(step_h, spans)
    line = (parts[:, spans.last] + parts[:, spans.first]) / 2
    if rule == "mean":
        own = usual_h / span_h
        line = own * parts[:, spans.last] + (1 - own) * line
        flow = parts[:, 1:]
    else:
        flow = (parts[:, 1:] + parts[:, :-1]) / 2
    running = np.concatenate((np.zeros((2, 1)), np.cumsum(flow * step_h, axis=1)), axis=1)
    if hidden is not None:
        running = running + hidden
    missed: Floats = (running[:, spans.last] - running[:, spans.first]) / span_h - line
    return missed


def _lasted_h(step_h: Floats, spans: Spans) -> Floats:
    """How long the stretches last, shape (m,) [h]."""
    elapsed_h = np.concatenate(([0.0], np.cumsum(step_h)))
    lasted: Floats = elapsed_h[spans.last] - elapsed_h[spans.first]
    return lasted
