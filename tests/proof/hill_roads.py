"""Roads by chance for the study of hills, ridden with heights of known errors, and their hills by definition.

Nothing here is taken from the analysis: a road is a list of grades by the metre, and its hills are read off them.
"""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

Floats = np.ndarray[Any, np.dtype[np.float64]]
Direction = Literal["up", "down"]
STEP_M = 1.0


@dataclass(frozen=True)
class Rule:
    """What a hill is: least height and mean grade, what ends it, and how short it may be."""

    height_m: float = 5.0
    grade_pct: float = 2.0
    reversal_m: float = 2.0
    level_pct: float = 1.0
    level_m: float = 150.0
    length_m: float = 50.0


RULE = Rule()


@dataclass(frozen=True)
class RoadHill:
    """A hill of a road: where it lies along it [m]."""

    direction: Direction
    start_m: float
    end_m: float

    def overlap(self, other: "RoadHill") -> float:
        """Common part over what both cover together; 0 where one is ridden up and the other down."""
        common = min(self.end_m, other.end_m) - max(self.start_m, other.start_m)
        whole = max(self.end_m, other.end_m) - min(self.start_m, other.start_m)
        return max(common, 0.0) / whole if self.direction == other.direction else 0.0


# --- the road -----------------------------------------------------------------------------------------


def drawn_road(rng: np.random.Generator, *, n_parts: int = 14) -> Floats:
    """Height by the metre of a road of climbs, descents, level gaps, false flats, dips and humps [m]."""
    pieces: list[tuple[float, float]] = [(rng.uniform(200, 600), rng.uniform(-0.5, 0.5))]
    for _ in range(n_parts):
        sign = rng.choice([-1.0, 1.0])
        for _ in range(rng.integers(1, 4)):
            pieces += [(length, sign * grade) for length, grade in _climb(rng)]
            between = rng.uniform()
            if between < 0.35:
                pieces.append((rng.uniform(50, 700), rng.uniform(-0.8, 0.8)))
            elif between < 0.55:
                pieces += _dip(rng, sign)
            elif between < 0.7:
                pieces.append((rng.uniform(80, 400), sign * rng.uniform(1.1, 1.9)))
        pieces.append((rng.uniform(30, 800), rng.uniform(-0.9, 0.9)))
    pieces.append((rng.uniform(200, 600), rng.uniform(-0.5, 0.5)))
    grades = np.concatenate([np.full(round(length), grade) for length, grade in pieces])
    curve = round(rng.uniform(5, 70))  # a moving mean makes parabolic vertical curves
    padded = np.pad(grades, (curve, curve), mode="edge")
    smooth = np.convolve(padded, np.ones(curve) / curve, mode="same")[curve:-curve]
    return 200.0 + np.concatenate(([0.0], np.cumsum(smooth / 100 * STEP_M)))


def _climb(rng: np.random.Generator) -> list[tuple[float, float]]:
    """One to three lengths of different grade, 2.5 to 80 m high together."""
    n, height_m = rng.integers(1, 4), float(np.exp(rng.uniform(math.log(2.5), math.log(80))))
    grades = rng.uniform(1.6, 11, n)
    shares = rng.dirichlet(np.ones(n) * 3)
    return [(max(100 * height_m * share / grade, 12.0), grade) for share, grade in zip(shares, grades, strict=True)]


def _dip(rng: np.random.Generator, sign: float) -> list[tuple[float, float]]:
    """Against the way of the climb by 1 to 4 m, level at its bottom here and there."""
    depth_m, grade = rng.uniform(1, 4), rng.uniform(2, 7)
    return [(100 * depth_m / grade, -sign * grade), (rng.uniform(0, 60), 0.0)]


def terrain_road(
    rng: np.random.Generator, terrain_m: Floats, *, cell_m: float = 80.0, length_m: float = 9000
) -> Floats:
    """Height by the metre along a winding way over real terrain, flattened until a road could follow it [m]."""
    from scipy.ndimage import map_coordinates

    along = np.arange(0.0, length_m, STEP_M)
    corners = np.arange(0.0, length_m + 400, 400)
    turns = np.cumsum(np.interp(along, corners, rng.normal(0, 0.0012, len(corners))))
    heading = rng.uniform(0, 2 * np.pi) + turns
    way = np.cumsum(np.stack([np.cos(heading), np.sin(heading)]), axis=1) * STEP_M / cell_m
    middle = np.array(terrain_m.shape)[:, None] / 2 + rng.uniform(-60, 60, (2, 1))
    heights = map_coordinates(
        terrain_m.astype(float), way - way.mean(axis=1, keepdims=True) + middle, order=3, mode="reflect"
    )
    steep_pct = float(np.quantile(np.abs(np.diff(heights)), 0.95)) * 100 / STEP_M
    return np.asarray(heights * rng.uniform(4, 10) / steep_pct)


def rolling_road(rng: np.random.Generator, *, length_m: float = 9000) -> Floats:
    """Height by the metre of a road that bends everywhere: waves of 300 to 4000 m, the longer the taller [m]."""
    along = np.arange(0.0, length_m, STEP_M)
    lengths_m = np.exp(rng.uniform(math.log(300), math.log(4000), 12))
    waves = [np.sin(2 * np.pi * (along / length + rng.uniform())) * length for length in lengths_m]
    grades = np.gradient(np.sum(waves, axis=0))
    return np.asarray(np.cumsum(grades) * rng.uniform(3, 8) / 100 / float(np.quantile(np.abs(grades), 0.95)))


def piece_of(rng: np.random.Generator, height_m: Floats, *, length_m: int = 9000) -> Floats:
    """A piece of a longer road, by the metre, either way [m]."""
    first = int(rng.integers(0, len(height_m) - length_m))
    return height_m[first : first + length_m][:: int(rng.choice([-1, 1]))]


# --- its hills ----------------------------------------------------------------------------------------


def road_hills(height_m: Floats, rule: Rule = RULE) -> list[RoadHill]:
    """The hills of a road by definition, from its grades by the metre."""
    grade_pct = 100 * np.diff(height_m) / STEP_M
    cut = np.zeros(len(grade_pct), dtype=bool)
    for first, last in _runs(np.abs(grade_pct) <= rule.level_pct):
        cut[first:last] = (last - first) * STEP_M >= rule.level_m
    hills = []
    for low, high in _legs(height_m, rule.reversal_m):
        sign = 1.0 if height_m[high] >= height_m[low] else -1.0
        for first, last in _runs(~cut[low:high]):
            steep = np.flatnonzero(sign * grade_pct[low + first : low + last] > rule.level_pct)
            if len(steep):
                whole = low + first + int(steep[0]), low + first + int(steep[-1]) + 1
                hills += [
                    RoadHill("up" if sign > 0 else "down", start * STEP_M, end * STEP_M)
                    for start, end in _steep_enough(sign * height_m, *whole, rule)
                ]
    return sorted(hills, key=lambda hill: hill.start_m)


def _steep_enough(rising_m: Floats, start: int, end: int, rule: Rule) -> Iterator[tuple[int, int]]:
    """The stretch where its mean grade is enough, else the parts of it that gain most beyond the least grade."""
    length_m, gain_m = (end - start) * STEP_M, float(rising_m[end] - rising_m[start])
    if gain_m < rule.height_m or length_m < rule.length_m:
        return
    if 100 * gain_m / length_m >= rule.grade_pct:
        yield start, end
        return
    beyond_m = rising_m[start : end + 1] - rule.grade_pct / 100 * STEP_M * np.arange(end - start + 1)
    last = int(np.argmax(beyond_m - np.minimum.accumulate(beyond_m)))
    first = int(np.argmin(beyond_m[: last + 1]))
    if last > first:
        yield from _steep_enough(rising_m, start, start + first, rule)
        if (
            rising_m[start + last] - rising_m[start + first] >= rule.height_m
            and (last - first) * STEP_M >= rule.length_m
        ):
            yield start + first, start + last
        yield from _steep_enough(rising_m, start + last, end, rule)


def _legs(height_m: Floats, reversal_m: float) -> list[tuple[int, int]]:
    """First and last metre between highs and lows, smaller reversals ignored."""
    turns, candidate, rising = [0], 0, 0
    low = high = 0
    for k, h in enumerate(height_m.tolist()):
        low = k if h < height_m[low] else low
        high = k if h > height_m[high] else high
        if rising == 0 and height_m[high] - height_m[low] >= reversal_m:
            rising = 1 if high > low else -1
            turns.append(low if rising > 0 else high)
            candidate = k
        elif rising > 0:
            candidate = k if h >= height_m[candidate] else candidate
            if height_m[candidate] - h >= reversal_m:
                turns.append(candidate)
                rising, candidate = -1, k
        elif rising < 0:
            candidate = k if h <= height_m[candidate] else candidate
            if h - height_m[candidate] >= reversal_m:
                turns.append(candidate)
                rising, candidate = 1, k
    turns += [candidate, len(height_m) - 1]
    turns = sorted(set(turns))
    return list(itertools.pairwise(turns))


def _runs(mask: Any) -> list[tuple[int, int]]:
    """First index and the one after the last of each stretch where a mask holds."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], np.asarray(mask).astype(int), [0]))))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def level_runs(height_m: Floats, *, pct: float, length_m: float) -> list[tuple[float, float]]:
    """Where the road is steeper than ``pct`` nowhere for at least ``length_m`` [m]."""
    runs = _runs(np.abs(np.diff(height_m)) * 100 / STEP_M <= pct)
    return [(a * STEP_M, b * STEP_M) for a, b in runs if (b - a) * STEP_M >= length_m]


# --- how it is ridden and recorded ----------------------------------------------------------------------


@dataclass(frozen=True)
class HeightError:
    """What a device does to heights: wandering errors (size [m], memory [s]), a quick one [m], its last digit [m]."""

    name: str
    wanders: tuple[tuple[float, float], ...]
    quick_m: float
    digit_m: float

    def u_m(self, duration_s: float) -> float:
        """Standard uncertainty of a difference of heights so long apart [m]; closed form."""
        slow = sum(2 * size_m**2 * -math.expm1(-duration_s / memory_s) for size_m, memory_s in self.wanders)
        return math.sqrt(slow + self.quick_m**2 / 4 + self.digit_m**2 / 24)


# Sizes of "barometer in the wind": two laps of one road in a recorded ride differ, taken for one of them, by 0.43 m
# over 25 m, 0.64 over 50 m, 0.82 over 100 m, 0.95 over 300 m and 1.0 m over 1200 m, at 8.9 m/s.
ERRORS = (
    HeightError("smooth barometer", ((0.4, 300.0),), 0.03, 0.2),
    HeightError("barometer in whole metres", ((0.4, 300.0),), 0.03, 1.0),
    HeightError("barometer in the wind", ((0.7, 8.0), (1.0, 900.0)), 0.05, 0.2),
    HeightError("satellites, open sky", ((1.5, 300.0),), 0.3, 0.1),
    HeightError("satellites, rough", ((3.0, 240.0), (0.5, 10.0)), 0.7, 0.1),
)
# Kinds that the rule for hills was not made with.
OTHER_ERRORS = (
    HeightError("satellites between houses", ((4.0, 90.0), (1.0, 25.0)), 1.0, 1.0),
    HeightError("barometer in a thunderstorm", ((2.5, 1800.0), (0.3, 30.0)), 0.1, 0.1),
)


@dataclass(frozen=True)
class Passage:
    """A road as ridden and recorded, once a second; ``wandered_m`` is the slow part of the error of its heights."""

    time_s: Floats
    distance_m: Floats
    altitude_m: Floats
    speed_mps: Floats
    wandered_m: Floats


def ridden(rng: np.random.Generator, height_m: Floats, error: HeightError) -> Passage:
    """Down faster than up, with stops here and there; heights with their errors."""
    place = STEP_M * np.arange(len(height_m))
    grade_pct = np.gradient(height_m, place) * 100
    wished = np.clip(rng.uniform(5.5, 8.0) - 0.55 * grade_pct, 2.5, 13.0)
    speeds = np.convolve(np.pad(wished, 20, mode="edge"), np.ones(41) / 41, mode="valid")
    at_s = np.concatenate(([0.0], np.cumsum(STEP_M / speeds[:-1])))
    stops = np.sort(rng.choice(place[50:-50], rng.integers(0, 9), replace=False))
    for stop in stops:
        at_s[place > stop] += rng.uniform(10, 60)
    time_s = np.arange(0.0, at_s[-1])
    distance_m = np.interp(time_s, at_s, place)
    wandered_m = np.sum([_wander(rng, len(time_s), size_m, memory_s) for size_m, memory_s in error.wanders], axis=0)
    altitude_m = np.interp(distance_m, place, height_m) + wandered_m + error.quick_m * rng.standard_normal(len(time_s))
    recorded_m = np.round(altitude_m / error.digit_m) * error.digit_m
    return Passage(time_s, distance_m, recorded_m, np.gradient(distance_m), wandered_m)


def _wander(rng: np.random.Generator, n: int, size_m: float, memory_s: float) -> Floats:
    keep = math.exp(-1 / memory_s)
    pushes = rng.standard_normal(n) * math.sqrt(1 - keep**2)
    pushes[0] = rng.standard_normal()
    from scipy.signal import lfilter

    return np.asarray(size_m * lfilter([1.0], [1.0, -keep], pushes))


# --- how far the errors let the definition be seen --------------------------------------------------------


def slack_rules(error: HeightError, *, speed_mps: float = 6.0) -> list[Rule]:
    """The definition with each of its numbers moved by what heights with these errors cannot tell.

    Two standard uncertainties of a rise over 150 m of road, and what smoothing, grid and vertical curves leave anyway:
    0.5 m of a height, 0.3 % of a grade, 30 m of a length.
    """
    u_m = 2 * error.u_m(150.0 / speed_mps)
    height_m, grade_pct, length_m = 0.5 + u_m, 0.3 + 100 * u_m / 150, 30.0 + 10 * u_m
    moved = []
    for way in (-1.0, 1.0):
        for name, by in (
            ("height_m", 2 * height_m), ("grade_pct", grade_pct), ("reversal_m", height_m),
            ("level_pct", grade_pct), ("level_m", length_m), ("length_m", length_m),
        ):  # fmt: skip
            value = getattr(RULE, name) + way * by
            if name in ("level_pct", "grade_pct", "reversal_m"):
                value = max(value, 0.2)
            moved.append(replace(RULE, **{name: value}))
    return moved
