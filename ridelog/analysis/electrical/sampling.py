"""What sampling and noise did to drawn and returned: one error that runs through the whole ride, drawn once.

Each sample's error is independent of the others', so that up to any moment the error is a sum of independent parts,
whose variances and covariance add up along the log: Brownian motion with two components and a clock that runs by
variance. What happened in a window is the difference of its two ends, so that a window and all that lies outside it add
up to the whole in every trial.
"""

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats
from ridelog.uncertain.places import Bridged, Trials, normal_at
from ridelog.uncertain.seeds import window_stream
from ridelog.uncertain.trials import N_TRIALS, combined

PER_STEP = 64  # an end within a step of the log lies at the nearest 64th of it
TIED = 1 - 1e-9  # a stronger correlation of drawn and returned is one error in both


class SamplingErrors(Bridged):
    """The sampling error of drawn and returned up to any moment of a log, at places of `PER_STEP` a step.

    What is kept takes 25 MB at most, however long the log.

    Parameters
    ----------
    time_s : of the samples, shape (n,) [s]
    variances : running variances of drawn and returned and their covariance, shape (3, n)
    """

    def __init__(self, time_s: Floats, variances: Floats) -> None:
        self._time_s, self._variances = time_s, variances
        normal = window_stream(0.0, float(time_s[-1] - time_s[0])).standard_normal((2, N_TRIALS))
        (drawn, tie), (_, returned) = _root((variances[:, -1] - variances[:, 0]).tolist())
        self._whole = np.stack([drawn * normal[0], tie * normal[0] + returned * normal[1]])
        nothing = np.zeros((2, N_TRIALS), dtype=np.float32)
        super().__init__(PER_STEP * (len(time_s) - 1), nothing, self._whole.astype(np.float32))

    def between(self, start_s: float, end_s: float) -> NDArray[np.floating]:
        """Trials of what sampling and noise did from ``start_s`` to ``end_s``, shape (2, N_TRIALS)."""
        return self.together([(start_s, end_s)])

    def together(self, spans_s: Sequence[tuple[float, float]]) -> NDArray[np.floating]:
        """Trials of what sampling and noise did in some spans together, shape (2, N_TRIALS).

        Where one ends as another begins, what they did up to there is not asked for.
        """
        return self.at_places(self.places(spans_s))

    def places(self, spans_s: Sequence[tuple[float, float]]) -> NDArray[np.intp]:
        """Where some spans begin and end, shape (k, 2)."""
        return np.rint(PER_STEP * self._at_samples(np.array(spans_s))).astype(np.intp)

    def at_places(self, places: NDArray[np.intp]) -> NDArray[np.floating]:
        """As `SamplingErrors.together`, of spans by their places."""
        before, until = places.T.tolist()
        if len(before) == 1:
            whole = before[0] <= 0 and until[0] >= self.last
            return self._whole if whole else self.at(until[0]) - self.at(before[0])
        times = Counter(until)
        times.subtract(before)
        result = np.zeros((2, N_TRIALS))
        for place, n in times.items():
            if n:
                result += self.at(place) if n == 1 else n * self.at(place)
        return result

    def _at_samples(self, at_s: Floats) -> Floats:
        """Moments counted in samples, straight lines between them."""
        time_s, last = self._time_s, len(self._time_s) - 1
        before = np.clip(np.searchsorted(time_s, at_s, side="right") - 1, 0, max(last - 1, 0))
        after = np.minimum(before + 1, last)
        part = 1.0 / (time_s[after] - time_s[before]) * (np.clip(at_s, time_s[0], time_s[-1]) - time_s[before])
        return before + part

    def _between(self, start: int, place: int, end: int, low: Trials, high: Trials) -> Trials:
        """The error up to ``place`` given those up to ``start`` and ``end``."""
        at_start, at_place, at_end = (self._variance(at) for at in (start, place, end))
        before = [b - a for a, b in zip(at_start, at_place, strict=True)]
        after = [b - a for a, b in zip(at_place, at_end, strict=True)]
        if not any(before):
            return low
        if not any(after):
            return high
        (of_drawn, of_returned), (near, tie), (_, far) = bridge(before, after)
        rows = [
            [1 - of_drawn[0], -of_drawn[1], *of_drawn, near, 0.0],
            [-of_returned[0], 1 - of_returned[1], *of_returned, tie, far],
        ]
        for part in (0, 1):
            if after[part] == 0:  # nothing is left to go wrong: to the last bit
                rows[part] = [float(k == 2 + part) for k in range(6)]
            elif before[part] == 0:
                rows[part] = [float(k == part) for k in range(6)]
        # the same draws for charge and energy, whose errors are the same
        normal = normal_at("sampling", place, 0, 2 * N_TRIALS).reshape(2, N_TRIALS)
        return combined(np.array(rows, dtype=np.float32), np.concatenate((low, high, normal)))

    def _variance(self, place: int) -> list[float]:
        """Running variances and covariance at a place, straight lines within a step, shape (3,)."""
        sample, part = divmod(min(place, self.last), PER_STEP)
        here: list[float] = self._variances[:, sample].tolist()
        if not part:
            return here
        there = self._variances[:, sample + 1].tolist()
        return [a + (b - a) * (part / PER_STEP) for a, b in zip(here, there, strict=True)]


Pair = tuple[float, float]


def bridge(before: Sequence[float], after: Sequence[float]) -> tuple[tuple[Pair, Pair], Pair, Pair]:
    """How a sum of two pairs of errors tells of the first pair: x given x + y.

    Parameters
    ----------
    before, after : variances of the two components of x and of y and their covariance, shape (3,)

    Returns
    -------
    gain : rows of the matrix that takes x + y to the mean of x
    first, second : what is left unsure, as columns (of the first normal number into both, of the second into both)
    """
    whole = [x + y for x, y in zip(before, after, strict=True)]
    inverse = _inverse(whole)
    var_d, var_r, cov = before
    x = ((var_d, cov), (cov, var_r))
    gain = _product(x, inverse)
    known = _product(gain, x)
    left = [var_d - known[0][0], var_r - known[1][1], cov - known[0][1]]
    for part in (0, 1):
        if before[part] == 0 or after[part] == 0:
            left[part] = left[2] = 0.0
    first, second = _root(left, least=(1e-12 * whole[0], 1e-12 * whole[1]))
    return gain, first, second


def _root(variances: Sequence[float], *, least: Pair = (0.0, 0.0)) -> tuple[Pair, Pair]:
    """What two standard normal numbers are multiplied by for variances and covariance, as columns.

    Variances below ``least`` are the rounding of a difference.
    """
    (var_d, var_r, cov), (least_d, least_r) = variances, least
    u_d = math.sqrt(var_d) if var_d > least_d else 0.0
    u_r = math.sqrt(var_r) if var_r > least_r else 0.0
    tie = min(max(cov / (u_d * u_r), -1.0), 1.0) if u_d > 0 and u_r > 0 else 0.0
    return (u_d, tie * u_r), (0.0, math.sqrt(1 - tie**2) * u_r)


def _inverse(variances: Sequence[float]) -> tuple[Pair, Pair]:
    """The (pseudo-)inverse of a covariance matrix of two."""
    var_d, var_r, cov = variances
    if var_d <= 0 or var_r <= 0:
        return (1 / var_d if var_d > 0 else 0.0, 0.0), (0.0, 1 / var_r if var_r > 0 else 0.0)
    scale_d, scale_r = 1 / math.sqrt(var_d), 1 / math.sqrt(var_r)
    tie = cov * scale_d * scale_r
    if abs(tie) >= TIED:
        same, cross = 0.25, 0.25 * math.copysign(1.0, tie)
    else:
        same, cross = 1 / (1 - tie**2), -tie / (1 - tie**2)
    return (same * scale_d**2, cross * scale_d * scale_r), (cross * scale_d * scale_r, same * scale_r**2)


def _product(left: tuple[Pair, Pair], right: tuple[Pair, Pair]) -> tuple[Pair, Pair]:
    """Product of two matrices of two rows and columns."""
    (a, b), (c, d) = left
    (e, f), (g, h) = right
    return (a * e + b * g, a * f + b * h), (c * e + d * g, c * f + d * h)
