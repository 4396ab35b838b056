"""What rolling and air take along a ride, as running integrals of speed and heading, once for all who ask of a stretch.

Rolling takes Crr m g ∫ v cosθ dt, air ½ρ CdA ∫ (v + w)|v + w| v dt with the head wind w = w0 + n·cos h + e·sin h;
multiplied out, each is a sum of integrals that hang on the ride alone, times what is the same for all of it. The
integrals are added up once, of a long ride where blocks begin; what a stretch has is the difference of its two ends.
"""

from functools import partial
from typing import NamedTuple
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.motion import Motion
from ridelog.arrays import Floats, Growth, RunningRows, Runs

Indices = NDArray[np.intp]
BLOCK = RunningRows.BLOCK
CHUNK = 4096  # blocks that are worked out at a time


class Swept(NamedTuple):
    """Integrals over stretches, each of shape (k,), with the speed v, the heading h and the side s of the air.

    The side is +1 where the air presses from ahead, −1 where it pushes. Names say the power of v and the factors.

    Attributes
    ----------
    level : of v cosθ [m]
    cube, square, first : of s·v³, s·v² and s·v
    square_c, square_s : of s·v² cos h and s·v² sin h
    first_c, first_s : of s·v cos h and s·v sin h
    first_cc, first_cs, first_ss : of s·v cos² h, s·v cos h sin h and s·v sin² h
    """

    level: Floats
    cube: Floats
    square: Floats
    first: Floats
    square_c: Floats
    square_s: Floats
    first_c: Floats
    first_s: Floats
    first_cc: Floats
    first_cs: Floats
    first_ss: Floats


N_TERMS = len(Swept._fields)


class WaySums:
    """Integrals over a ride by trapezoids; what is not known adds nothing.

    Parameters
    ----------
    motion : how the bike moved
    wind_mps : best value of the head wind, by which it is decided from which side the air presses
    """

    def __init__(self, motion: Motion, wind_mps: float) -> None:
        # The arrays, not the motion: what is kept as long as a motion is must not keep it.
        arrays = motion.time_s, motion.speed_mps, motion.grade_pct, motion.heading_rad
        steps, n = partial(_steps, *arrays, wind_mps), len(motion.time_s)
        if n >= RunningRows.LONG:
            self._running = RunningRows(N_TERMS, n, steps, _at_blocks(steps, n))
        else:
            self._running = RunningRows(N_TERMS, n)
            for row, each in enumerate(steps(np.arange(n))):
                self._running.put(row, np.concatenate(([0.0], np.cumsum(each))))
        self._last: tuple[Runs, Swept] = [], Swept(*np.zeros((N_TERMS, 0)))

    def over(self, runs: Runs) -> Swept:
        """The integrals over stretches, by their first and last samples."""
        if self._last[0] != runs:  # one question after the other is asked of the same
            first, last = np.array(runs, dtype=np.intp).T
            self._last = list(runs), Swept(*self._running.at(last) - self._running.at(first))
        return self._last[1]


def _at_blocks(steps: Growth, n: int) -> Floats:
    """The integrals from the start to where each block begins, shape (terms, blocks)."""
    totals = np.zeros((N_TERMS, -(-n // BLOCK)))
    for begin in range(0, totals.shape[1] - 1, CHUNK):
        end = min(begin + CHUNK, totals.shape[1] - 1)
        inside = steps(np.arange(begin * BLOCK, end * BLOCK + 1))
        totals[:, begin + 1 : end + 1] = inside.reshape(N_TERMS, end - begin, BLOCK).sum(axis=2)
    np.cumsum(totals, axis=1, out=totals)
    return totals


def _steps(
    time_s: Floats, speed_mps: Floats, grade_pct: Floats, heading_rad: Floats | None, wind_mps: float, at: Indices
) -> Floats:
    """The integrals over the steps between samples, shape (terms, …, m - 1) for samples of shape (…, m)."""
    v = speed_mps[at]
    side = np.sign(v + wind_mps)
    first = side * v
    square = first * v
    level = np.cos(np.arctan(np.nan_to_num(grade_pct[at]) / 100))
    if heading_rad is None:
        c, s = np.ones_like(v), np.zeros_like(v)
    else:
        c, s = np.cos(heading_rad[at]), np.sin(heading_rad[at])
    first_c, first_s = first * c, first * s
    rates = np.nan_to_num(
        np.stack(
            [
                v * level, square * v, square, first, square * c, square * s, first_c, first_s,
                first_c * c, first_c * s, first_s * s,
            ]
        )
    )  # fmt: skip
    steps: Floats = (rates[..., 1:] + rates[..., :-1]) / 2 * np.diff(time_s[at])
    return steps


_OF_RIDES: WeakKeyDictionary[Motion, dict[float, WaySums]] = WeakKeyDictionary()


def way_sums(motion: Motion, wind_mps: float) -> WaySums:
    """The integrals of a ride: the same whoever asks, so kept as long as the ride's motion is."""
    of_ride = _OF_RIDES.setdefault(motion, {})
    if wind_mps not in of_ride:
        of_ride[wind_mps] = WaySums(motion, wind_mps)
    return of_ride[wind_mps]
