"""How far apart the fixes of a way are, and by how much its bends between them make the straight legs too short."""

import numpy as np

from ridelog.lazy import dataclass
from ridelog.timeline.motion.fixes import Fixes


@dataclass(frozen=True)
class Spacing:
    """Of fixes along a way.

    Attributes
    ----------
    step_s : half of the way lies between fixes at most so far apart [s]
    shortened_m : what bends took off the way [m]
    way_m : straight from fix to fix [m]
    """

    step_s: float = 0.0
    shortened_m: float = 0.0
    way_m: float = 0.0

    @property
    def shortened_ratio(self) -> float:
        """Share of the way that bends took off [1]."""
        return self.shortened_m / self.way_m if self.way_m > 0 else 0.0


def spacing(fixes: Fixes, *, least_s: float = 1.5) -> Spacing:
    """The spacing of fixes, all known, of a bike that rolls.

    On a bend, three fixes show what the middle one adds to the straight way between the other two. Legs of a and b
    metres on one circle are too short themselves by (a³ + b³) / 3ab(a + b) of that, for what a chord lacks grows with
    its third power: a third where both are alike.

    Parameters
    ----------
    fixes : shape (n,), all known
    least_s : closer fixes show their own scatter rather than bends [s]

    Returns
    -------
    Spacing; nothing in it for fewer than two fixes.
    """
    if len(fixes.time_s) < 2:
        return Spacing()
    legs_m, steps_s = fixes.legs_m(), np.diff(fixes.time_s)
    order = np.argsort(steps_s)
    way_m = float(legs_m.sum())
    if not way_m > 0:
        return Spacing()
    half = int(np.searchsorted(np.cumsum(legs_m[order]), way_m / 2))
    step_s = float(steps_s[order][min(half, len(order) - 1)])
    if len(legs_m) < 2:
        return Spacing(step_s, 0.0, way_m)
    first_m, next_m = legs_m[:-1], legs_m[1:]
    bends_m = first_m + next_m - fixes.legs_m(2)
    sparse_mask = (steps_s[:-1] >= least_s) & (steps_s[1:] >= least_s) & (first_m > 0) & (next_m > 0)
    first_m, next_m, bends_m = first_m[sparse_mask], next_m[sparse_mask], bends_m[sparse_mask]
    share = (first_m**3 + next_m**3) / (3 * first_m * next_m * (first_m + next_m))
    each_m = np.maximum(bends_m, 0.0) * np.minimum(share, 1.0) / 2  # each leg is part of two bends
    return Spacing(step_s, float(each_m.sum()), way_m)


NO_FIXES = Spacing()
