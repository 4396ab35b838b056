"""What cancels within single steps of an averaged log, where the current turns, and how sure that is.

A mean over a step in which the current changes its direction hides as much of what was drawn as of what came back.
How much shows when the log itself is averaged over steps twice and four times as long: what then disappears is known,
and what had disappeared before is of a kind with it.
"""

import numpy as np

from ridelog.analysis.electrical.charge import SECONDS_PER_HOUR, usual_step_h
from ridelog.arrays import Floats, Mask
from ridelog.lazy import dataclass

# All of these were fitted to waveforms whose hidden part is known, read as means over 0.1 to 10 s: 50 simulated rides
# (seeds 20000 to 20049, at 0.02 s) and four measured trips of electric cars (at 10 Hz), as much weight on either.
# The ratio of what a step hides to what doubling it hides, where the log shows too little of its own: at 1 s, its power
# of the step, and its power of what doubling twice hides beyond doubling once, which is usually three times as much.
USUAL_RATIO, STEP_POWER, GROWTH_POWER, USUAL_GROWTH = 0.92, 0.37, 1.15, 3.0
USUAL_WEIGHT = 7.6  # in turns: so many of a log's own speak as loudly as what is usual
# Standard uncertainty of what one step hides: as much as it is told to hide, and one and a half times as much as
# doubling it says. Looked at on eight measured trips (at 0.2 to 2 s) and forty made-up rides of another simulation, in
# which the current follows the lever within 0.05 to 0.4 s; of thirty others 96 of 100 braking events were held.
OWN_U, DOUBLED_U = 1.0, 1.5
LEAST_SHAPE = 0.25  # what a step hides along a straight line that crosses zero in its middle, of what it does at a jump
# Were the growth the same at all steps, as along straight lines and at jumps, a log's own ratio would be 1/(q − 1) and
# not 1/q, with q what doubling twice hides beyond doubling once. Measured currents of vehicles keep near 1/q, those of
# a tester that is set anew every second near 1/(q − 1). So far above, at most twice as high, as it is at jumps (q = 2),
# the ratio is expected once in fifteen times (one and a half standard uncertainties), and as far below once in
# forty-five (two).
MOST_ABOVE, ABOVE_IN_U, BELOW_IN_U = 2.0, 1.5, 2.0
LEAST_GROWTH, MOST_GROWTH = 1.3, 8.0  # of the log's own; beyond, it is too steep or too flat to be told from chance


@dataclass(frozen=True)
class Hidden:
    """What cancelled up to each sample, the same in both directions, each shape (n,), in the unit of the rate × hours.

    ``best`` is the running best value, ``variances`` the running variance of what each step hides by itself.
    ``reach`` is how far above its best value all turns of a ride together may lie, as a logarithm.
    """

    best: Floats
    variances: Floats
    reach: float

    def shared(self, normal: Floats) -> Floats:
        """By what factor all turns may hide more or less than their best value, from normal numbers, shape (n,)."""
        in_u = np.where(normal > 0, ABOVE_IN_U, BELOW_IN_U)
        factor: Floats = np.exp(self.reach * normal / in_u)
        return factor


def hidden(rate: Floats, step_h: Floats, whole: Mask) -> Hidden:
    """What cancelled within single steps of an averaged log.

    Averaged over two steps at a time, the log loses D more of what came back, and over four D₄. The steps themselves
    hide ρ D. Where a log has many turns ρ is its own, 1/(D₄/D − 1): steps half as long hide less in about the
    proportion that steps twice as long hide more. Where it has few, ρ is drawn towards what is usual.

    What all hide together is shared among them by what each would hide if the current had jumped within it, from the
    mean before it to the mean after it: a step between 8 A and −4 A whose mean is 0 A hides the most, though doubling
    it hides nothing more.

    Parameters
    ----------
    rate : means over the step that ends at each sample, shape (n,)
    step_h : the steps, shape (n - 1,) [h]
    whole : steps that span no missing samples, shape (n - 1,); nothing is told of a change next to any other

    Returns
    -------
    hidden : in both directions alike
    """
    nothing = np.zeros(len(rate))
    pairs, fours = (_lost(rate, step_h, whole, n) for n in (2, 4))
    pairs[_on_edge(rate)] = 0.0
    if not pairs.any():
        return Hidden(nothing, nothing, 0.0)
    ratio, reach = _ratio(pairs, fours, usual_step_h(step_h) * SECONDS_PER_HOUR)
    doubled = nothing.copy()
    doubled[2:] += ratio * pairs / 4  # each pair overlaps the next, and is shared by its two steps
    doubled[1:-1] += ratio * pairs / 4
    shares = doubled / ratio
    if len(rate) > 3:
        turns, at_jump = _at_jumps(rate, step_h, whole)
        shares[2:-1] = np.where(turns, at_jump, shares[2:-1])
    best = doubled if not shares.any() else float(doubled.sum() / shares.sum()) * shares
    variance = (OWN_U * best) ** 2 + (DOUBLED_U * doubled) ** 2
    return Hidden(np.cumsum(best), np.cumsum(variance), reach)


def _at_jumps(rate: Floats, step_h: Floats, whole: Mask) -> tuple[Mask, Floats]:
    """Which steps lie between means of opposite signs, and what each would hide had the current jumped within it.

    Between steady means on either side as much as a jump hides; the more the means before and after go the same way,
    as along a straight line, the less. Both of the third to the last but one, shape (n - 3,).
    """
    before, here, after = rate[1:-2], rate[2:-1], rate[3:]
    earlier, later = np.concatenate((rate[1:2], rate[1:-3])), np.concatenate((rate[4:], rate[-1:]))
    turns = (before * after < 0) & whole[:-2] & whole[1:-1] & whole[2:]
    jump = np.where(turns, before - after, 1.0)
    share = np.clip((here - after) / jump, 0.0, 1.0)  # of the step went by before it
    beside = np.abs(earlier - before) + np.abs(later - after)
    shape = np.clip(2 * np.abs(jump) / (np.abs(jump) + beside) - 1, LEAST_SHAPE, 1.0)
    return turns, shape * np.minimum(share * np.abs(before), (1 - share) * np.abs(after)) * step_h[1:-1]


def _ratio(pairs: Floats, fours: Floats, step_s: float) -> tuple[float, float]:
    """What the steps hide over what doubling them hides, and how far above it may lie, as a logarithm."""
    n_turns = float(pairs.sum() ** 2 / (pairs**2).sum()) / 2  # as many of equal size would vary as much
    own = n_turns / (n_turns + USUAL_WEIGHT)
    growth = float(fours.mean()) / 4 / (float(pairs.mean()) / 2) if fours.any() else USUAL_GROWTH
    growth = float(np.clip(growth, LEAST_GROWTH, MOST_GROWTH))
    usual = np.log(USUAL_RATIO) + STEP_POWER * np.log(step_s) + GROWTH_POWER * np.log(growth / USUAL_GROWTH)
    return float(np.exp((1 - own) * usual - own * np.log(growth - 1))), _ratio_reach(growth - 1)


def _ratio_reach(further: float) -> float:
    """How far above the ratio may lie, in logarithms."""
    above = further / (further - 1) if further > 1 else MOST_ABOVE
    return float(np.log(min(above, MOST_ABOVE)))


def _on_edge(rate: Floats) -> Mask:
    """Pairs of steps between which the current jumped from one steady value to another: no step holds both."""
    steady = np.diff(rate) == 0
    mask = np.zeros(max(len(rate) - 2, 0), dtype=bool)
    mask[:-1] = steady[:-2] & steady[2:]
    return mask


def _lost(rate: Floats, step_h: Floats, whole: Mask, n: int) -> Floats:
    """What came back in every ``n`` steps in a row less what their mean shows of it; 0 where one of them is not whole.

    The first sample ends no step of its own: the means are those from the second on.
    """
    if len(step_h) < n:
        return np.zeros(0)
    flowed = np.concatenate(([0.0], np.cumsum(rate[1:] * step_h)))
    back = np.concatenate(([0.0], np.cumsum(np.maximum(-rate[1:], 0.0) * step_h)))
    n_whole = np.concatenate(([0], np.cumsum(whole)))
    lost = back[n:] - back[:-n] - np.maximum(flowed[:-n] - flowed[n:], 0.0)
    rounding = 1e-12 * (float(np.abs(flowed).max()) + float(back[-1]))
    result: Floats = np.where((n_whole[n:] - n_whole[:-n] == n) & (lost > rounding), lost, 0.0)
    return result
