"""What flowed while a bike was held back, in a log that drops the sign of its current: drawn or returned, nobody knows.

Such a log holds the size of the current alone. Let F be all that flowed, and B what flowed while nothing drove the
bike: when it was braked, and wherever the force on it is less than a quarter of what the current's power would push
with. Any part of B may have been return. Then between F - B and F was drawn, and between F - 2B and F used on the
whole; the interval holds the 95 % of either end. Heights are needed for this: without them a bike that holds its speed
may be driven along a level road or held back on a descent, and no lower bound is given.

A log that clips at zero is another thing: while braked it shows hardly any current, and what it drew is all there.
"""

import numpy as np

from ridelog.analysis.electrical.flow_model import FlowModel
from ridelog.arrays import Floats, Mask, Runs
from ridelog.lazy import dataclass
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import N_TRIALS, UNKNOWN, Uncertain

LEAST_FLOWING_SHARE = 0.25  # of the braked samples: with less, the current merely ends late or begins early
LEAST_BRAKED_S = 5.0  # braked for less shows nothing
DRIVEN_SHARE = 0.25  # of the force that the current's power would push with; drives reach 0.65 to 0.85 of it
EDGE_S = 1.0  # before and after braking, where speed and force lag behind the current
LEAST_SPEED_MPS = 0.5  # slower is standing: electronics only draw


@dataclass(frozen=True)
class EitherWay:
    """Spans in which what flowed may have been drawn or returned.

    Attributes
    ----------
    spans_s : starts and ends, shape (2, k), in order and apart [s]
    bounded : false where more than these may have been return, since the heights are not known
    """

    spans_s: Floats
    bounded: bool

    def flowed(self, model: FlowModel, start_s: float, end_s: float) -> float:
        """What flowed in the spans within a window.

        Parameters
        ----------
        model : of the charge or the energy
        start_s, end_s : of the window [s]

        Returns
        -------
        In the unit of the model.
        """
        starts, ends = np.clip(self.spans_s, start_s, end_s)
        return float((model.drawn_until(ends) - model.drawn_until(starts)).sum())

    def less(self, drawn: Uncertain, model: FlowModel, window_s: tuple[float, float], *, times: int = 1) -> Uncertain:
        """A window's drawn, less ``times`` what may have been return: none of it in half of the trials, else all.

        Which half is the same for the whole ride.

        Parameters
        ----------
        drawn : all that flowed in the window, taken as drawn
        model : of the charge or the energy
        window_s : start and end [s]
        times : 1 for what was drawn, 2 for drawn less returned

        Returns
        -------
        The value is the middle; without trials where no bound is known.
        """
        if not drawn.known:
            return UNKNOWN
        if not self.bounded:
            return Uncertain(drawn.value, np.array([np.nan]), drawn.sources)
        part = times * min(self.flowed(model, *window_s), drawn.value)
        if part <= 0:
            return drawn
        returned_mask = stream("direction").permutation(N_TRIALS) < N_TRIALS // 2
        trials = drawn.trials * np.where(returned_mask, 1 - part / drawn.value, 1.0)
        return Uncertain(drawn.value - part / 2, trials, drawn.sources)


def either_way(
    time_s: Floats, speed_mps: Floats, power_w: Floats, braking: Runs, *, force_n: Floats | None, least_w: float
) -> EitherWay | None:
    """Where what flowed may have been drawn or returned; ``None`` where hardly anything flowed while braked.

    Parameters
    ----------
    time_s, speed_mps, power_w : of the ride, shape (n,); the size of the battery's power [s], [m/s], [W]
    braking : first and last sample of each stretch of braking
    force_n : what slows the bike beyond air, rolling and grade, shape (n,); ``None`` without heights [N]
    least_w : a smaller power is that of a bike at rest, or noise [W]

    Returns
    -------
    Spans, as wide as braking that lags behind its current may be.
    """
    braked = np.zeros(len(time_s), dtype=bool)
    for first, last in braking:
        braked[first : last + 1] = True
    with np.errstate(invalid="ignore"):
        moving = ~(speed_mps < LEAST_SPEED_MPS)  # where nothing tells, it may
        flowing = power_w > least_w
        held = braked & moving & np.isfinite(power_w)
        if force_n is not None:
            pushes_n = power_w / np.maximum(speed_mps, LEAST_SPEED_MPS)  # a force that is not known drives nothing
            braked = braked | (moving & flowing & ~(force_n <= -DRIVEN_SHARE * pushes_n))
    step_s = float(np.median(np.diff(time_s))) if len(time_s) > 1 else 0.0
    if held.sum() * step_s < LEAST_BRAKED_S or (held & flowing).sum() < LEAST_FLOWING_SHARE * held.sum():
        return None
    return EitherWay(_spans(time_s, braked), bounded=force_n is not None)


def _spans(time_s: Floats, mask: Mask) -> Floats:
    """Spans around all samples of a mask, joined where they touch, shape (2, k)."""
    at_s = time_s[mask]
    apart = np.flatnonzero(np.diff(at_s) > 2 * EDGE_S)
    starts = at_s[np.concatenate(([0], apart + 1))] - EDGE_S
    ends = at_s[np.concatenate((apart, [len(at_s) - 1]))] + EDGE_S
    return np.stack([starts, ends])
