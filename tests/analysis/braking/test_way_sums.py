"""Running integrals along a ride against closed forms and against trapezoids over each stretch by itself."""

import gc
import math
import weakref

import numpy as np
import pytest

from ridelog.analysis.braking.way_sums import BLOCK, Swept, WaySums, way_sums
from ridelog.analysis.road.motion import Motion
from ridelog.arrays import RunningRows


def ride(n, seed=1):
    """Uneven steps, speeds, grades and headings by chance, some of them not known."""
    rng = np.random.default_rng(seed)
    time_s = np.cumsum(rng.uniform(0.1, 2.0, n))
    speed, grade, heading = rng.uniform(0, 9, n), rng.normal(0, 3, n), rng.uniform(0, 6, n)
    for channel in (speed, grade, heading):
        channel[rng.random(n) < 0.1] = np.nan
    return Motion(time_s, speed, np.zeros(n), grade, heading)


def rates(motion, wind_mps):
    """What is integrated, written out."""
    v, c, s = motion.speed_mps, np.cos(motion.heading_rad), np.sin(motion.heading_rad)
    side = np.sign(v + wind_mps)
    level = np.cos(np.arctan(np.nan_to_num(motion.grade_pct) / 100))
    return Swept(
        v * level, side * v**3, side * v**2, side * v, side * v**2 * c, side * v**2 * s, side * v * c, side * v * s,
        side * v * c**2, side * v * c * s, side * v * s**2,
    )  # fmt: skip


@pytest.mark.parametrize("n", [2, BLOCK, BLOCK + 1, BLOCK + 2, 3 * BLOCK + 1, 5000, RunningRows.LONG + 5])
@pytest.mark.parametrize("wind_mps", [-3.0, 2.0])
def test_each_stretch_has_its_own_trapezoids(n, wind_mps):
    """To 1e-11 of the ride's: a difference of two running sums keeps their rounding."""
    motion = ride(n)
    ends = np.sort(np.random.default_rng(2).integers(0, n, (30, 2)), axis=1)
    runs = [(0, n - 1), (0, 0), *((int(a), int(b)) for a, b in ends)]
    found = WaySums(motion, wind_mps).over(runs)
    for name, told, rate in zip(Swept._fields, found, rates(motion, wind_mps), strict=True):
        known = np.nan_to_num(rate)
        alone = [np.trapezoid(known[a : b + 1], motion.time_s[a : b + 1]) for a, b in runs]
        whole = np.trapezoid(np.abs(known), motion.time_s)
        assert told == pytest.approx(np.array(alone), abs=1e-11 * (1 + whole)), name


def test_a_steady_ride_to_the_north_east_comes_out_as_by_hand():
    """5 m/s for 100 s up 6 % with a tail wind of 8 m/s: the air pushes; cos 45° = sin 45°, cos² 45° = 1/2."""
    n = 101
    motion = Motion(np.arange(float(n)), np.full(n, 5.0), np.zeros(n), np.full(n, 6.0), np.full(n, math.pi / 4))
    swept = WaySums(motion, -8.0).over([(0, n - 1)])
    level = 500 * math.cos(math.atan(0.06))
    halved = math.sqrt(0.5)
    by_hand = (
        level, -12500, -2500, -500, -2500 * halved, -2500 * halved, -500 * halved, -500 * halved, -250, -250, -250
    )  # fmt: skip
    assert [float(part[0]) for part in swept] == pytest.approx(by_hand)


def test_without_a_heading_the_wind_blows_along_the_way():
    motion = Motion(np.arange(11.0), np.full(11, 4.0), np.zeros(11), np.zeros(11))
    swept = WaySums(motion, 0.0).over([(0, 10)])
    assert [float(part[0]) for part in swept] == pytest.approx([40, 640, 160, 40, 160, 0, 40, 0, 40, 0, 0])


def test_a_ride_is_added_up_once():
    motion = ride(200)
    assert way_sums(motion, 1.0) is way_sums(motion, 1.0)
    assert way_sums(motion, 1.0) is not way_sums(motion, 2.0)


def test_what_is_kept_of_a_ride_goes_with_it():
    motion = ride(200)
    gone = weakref.ref(motion)
    way_sums(motion, 1.0)
    del motion
    gc.collect()
    assert gone() is None
