"""What cancels within single steps of an averaged log, where the current turns, and how sure that is.

A mean over a step in which the current changes its direction hides as much of what was drawn as of what came back.
How much, hangs on how sharply the current turns. That shows when the log itself is averaged over steps twice as long:
what then disappears is known.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.electrical.charge import SECONDS_PER_HOUR
from ridelog.arrays import Floats, Mask

# Sharpness is 0 where the current turns along straight lines and 1 where it jumps. A turn of a given duration looks the
# sharper the longer the step: twice as sharp at twice the step while the step is short, equally sharp (1) when it is
# long. Between the two the sharpness at the log's own step is 0.4 to 1 of what doubling the step shows.
OWN_OF_DOUBLED, OWN_OF_DOUBLED_U = 0.7, 0.3
# What is expected before a log has shown its own, and how many turns that weighs: 200 simulated rides at 0.1 to 1 s.
USUAL_SHARPNESS, USUAL_WEIGHT = 0.06, 30
# Pulses shorter than a step leave no change of direction to see: of the same rides, this share of the most that could
# cancel at twice the step, for each second of step up to one (standard uncertainty).
UNSEEN_PER_S = 0.1


@dataclass(frozen=True)
class Hidden:
    """What cancelled in each step, the same in both directions, each shape (n,), in the unit of the rate.

    ``best`` is the best value, ``most`` the most that it can be, ``coarse`` the most that it could be were the steps
    twice as long; ``sharpness_u`` is the standard uncertainty of the sharpness that all turns share.
    """

    best: Floats
    most: Floats
    coarse: Floats
    sharpness_u: float

    def variances(self, step_h: Floats) -> Floats:
        """Running variance of what is put back, each turn by itself: rectangular, ± half the most."""
        running: Floats = np.cumsum((self.most * np.concatenate(([0.0], step_h))) ** 2 / 12)
        return running

    def in_common(self, step_h: Floats) -> Floats:
        """Running standard uncertainties that all turns of a ride share, shape (2, n): sharpness, pulses unseen."""
        steps = np.concatenate(([0.0], step_h))
        usual_s = float(np.median(step_h[step_h > 0])) * SECONDS_PER_HOUR if (step_h > 0).any() else 0.0
        sharpness = self.sharpness_u * np.cumsum(self.most * steps)
        unseen = UNSEEN_PER_S * min(usual_s, 1.0) * np.cumsum(self.coarse * steps)
        return np.stack([sharpness, unseen])


def hidden(rate: Floats, whole: Mask) -> Hidden:
    """What cancelled within single steps of an averaged log.

    Between a step that only draws (mean a) and one that only returns (mean −b) lies one whose mean x holds both. Had
    the current jumped, at the fraction f = (x + b)/(a + b), min(f a, (1 − f) b) would have cancelled: the most that can
    be. Along a straight line of the slope s = (a + b)/2 per step it is (s/2 − |x|)²/2s. The best value lies between the
    two by the sharpness that the log itself shows.

    Parameters
    ----------
    rate : means over the step that ends at each sample, shape (n,)
    whole : steps that span no missing samples, shape (n-1,); nothing is told of a change next to any other
    """
    usable = np.concatenate(([False], whole))
    line, most = _turning(rate, usable)
    coarse, coarse_line, lost = np.zeros_like(rate), 0.0, 0.0
    for first in (1, 2):  # pairs of steps, beginning at either; each way counts half
        ends = np.arange(first + 1, len(rate), 2)
        pairs = (rate[ends] + rate[ends - 1]) / 2
        both = usable[ends] & usable[ends - 1]
        pair_line, pair_most = _turning(pairs, both)
        coarse[ends] += pair_most
        coarse_line += float(pair_line.sum())
        lost += float((_back(rate[ends]) / 2 + _back(rate[ends - 1]) / 2 - _back(pairs))[both].sum())
    shown = _shown(lost + float(line.sum()) - coarse_line, float(coarse.sum() - most.sum()))
    n_turns = int((most > 0).sum())
    own_weight = n_turns / (n_turns + USUAL_WEIGHT)
    sharpness = own_weight * OWN_OF_DOUBLED * shown + (1 - own_weight) * USUAL_SHARPNESS
    best = np.minimum(line + sharpness * most, most)
    return Hidden(best, most, coarse, own_weight * OWN_OF_DOUBLED_U * shown)


def _shown(more: float, span: float) -> float:
    """The sharpness that doubling the step shows: what is lost beyond straight lines, over what jumps would lose."""
    return float(np.clip(more / span, 0.0, 1.5)) if span > 0 else 0.0


def _back(rate: Floats) -> Floats:
    return np.maximum(-rate, 0.0)


def _turning(rate: Floats, usable: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """What cancelled in each step along straight lines, and the most that can have, shape (n,)."""
    before, after, inner = rate[:-2], rate[2:], rate[1:-1]
    turns = (before * after < 0) & usable[1:-1] & usable[:-2] & usable[2:]
    high, low = np.maximum(before, after), -np.minimum(before, after)
    slope = np.where(turns, (high + low) / 2, 1.0)
    fraction = np.clip((inner + low) / (2 * slope), 0.0, 1.0)
    line, most = np.zeros_like(rate), np.zeros_like(rate)
    most[1:-1] = np.where(turns, np.minimum(fraction * high, (1 - fraction) * low), 0.0)
    straight = np.where(turns, np.maximum(slope / 2 - np.abs(inner), 0.0) ** 2 / (2 * slope), 0.0)
    line[1:-1] = np.minimum(straight, most[1:-1])
    return line, most
