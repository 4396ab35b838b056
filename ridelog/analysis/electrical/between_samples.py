"""How far the trapezoid between samples may be off: learnt from the log's own bends, at whatever stamps it was read."""

import numpy as np

from ridelog.analysis.electrical.bridges import Readings
from ridelog.analysis.electrical.charge import Rule, usual_step_h
from ridelog.arrays import Floats, Mask

# What the variance of a kinked line is of that of a line that jumps, at the same bends: h²/480 against h²/24.
KINKS_OF_JUMPS = 1 / 20
# When a log is thinned, bends grow fourfold where it is kinked, stay where it jumps, and are halved where its samples
# have nothing to do with each other.
KINKED, UNRELATED = 4.0, 0.5
# How smooth a log is beyond this does not tell how smooth the current is within a step: ripple and the noise of a
# drive at work are faster than the samples. Of eight trips of electric cars, read every 0.2 s of 0.1, bends grew 2.7 to
# 4.6 times, which would leave a twelfth of the variance of jumps; truly it was a quarter.
MOST_GROWTH = 2.0


class Threes:
    """Three samples in a row, around each sample, shape (n,); nothing is told of those next to a step that counts not.

    Parameters
    ----------
    step_h : the steps, 0 where they do not count, shape (n - 1,) [h]

    Attributes
    ----------
    noise_h2 : variance of `Threes.off` for each unit of the samples' own, 0 where nothing is told [h²]
    longer_h3 : what the cube of both steps together is beyond the cubes of each; where the log jumps, the squares of
        `Threes.off` go with it [h³]
    """

    def __init__(self, step_h: Floats) -> None:
        self._before, self._after = step_h[:-1], step_h[1:]
        self._both = self._before + self._after
        self._told = (self._before > 0) & (self._after > 0)
        self.noise_h2, self.longer_h3 = np.zeros((2, len(step_h) + 1))
        self.noise_h2[1:-1] = np.where(self._told, (self._both**2 + self._before**2 + self._after**2) / 4, 0.0)
        self.longer_h3[1:-1] = np.where(self._told, self._both**3 - self._before**3 - self._after**3, 0.0)

    def off(self, values: Floats) -> Floats:
        """What the trapezoid loses without the middle sample, shape (n,), in the unit of the rate times hours."""
        off = np.zeros(len(values))
        weighed = values[:-2] * self._after + values[2:] * self._before
        line = np.divide(weighed, self._both, out=np.zeros(len(self._both)), where=self._told)
        off[1:-1] = np.where(self._told, (line - values[1:-1]) * self._both / 2, 0.0)
        return off

    def noisy(self, part: Floats, noise: Floats) -> float:
        """What the squares of `Threes.off` owe to noise; where nothing flows in a direction, noise does not show."""
        return float((self.noise_h2 * np.where(part > 0, noise, 0.0) ** 2).sum())


def running_variances(rate: Floats, readings: Readings, *, rule: Rule) -> Floats:
    """Running variances of drawn and returned and their covariance, from sampling and noise.

    Parameters
    ----------
    rate : current less its zero error, times weight, shape (n,)
    readings : the log
    rule : how samples are integrated; means leave nothing between them

    Returns
    -------
    Shape (3, n), in the square of the unit of the rate times hours.
    """
    step_h = readings.step_h
    parts = np.maximum(rate, 0.0), np.maximum(-rate, 0.0)
    noise = readings.rest.noise_a * readings.weight
    terms = between_samples(parts, noise, step_h, readings.bridged) if rule != "mean" else np.zeros((3, len(rate)))
    for index, active in enumerate((rate > 0, rate < 0)):
        terms[index, 1:] += np.where(active[1:], noise[1:] ** 2, 0.0) * step_h**2
    for row in terms:  # in their place: of a long log each array counts
        np.cumsum(row, out=row)
    return terms


def between_samples(parts: tuple[Floats, Floats], noise: Floats, step_h: Floats, bridged: Mask | None = None) -> Floats:
    """Variance of the trapezoid between samples, from the log's own bends.

    A jump J between two samples h apart leaves an error uniform over ±J h/2, and such jumps are as likely as the step
    is long: the variance goes with h³. Leaving a sample out shows it: the trapezoids with and without it differ by the
    variance of two steps as one less that of each. Kinks leave a twentieth of it, samples that have nothing to do with
    each other four times as much. Of which the log is made shows when it is thinned to every second sample; between
    them the factor follows a power of what the bends grow by, up to `MOST_GROWTH`. White noise is taken off.

    What missing samples would have shown is the bridges' own. What would have lain between them is as unsure as it is
    between all others: a step that spans missing samples leaves what its usual steps together would.

    Parameters
    ----------
    parts : drawn and returned at the samples, each shape (n,)
    noise : standard deviation of the noise, shape (n,)
    step_h : steps, 0 where they do not count, shape (n - 1,) [h]
    bridged : steps that span missing samples, shape (n - 1,); none by default

    Returns
    -------
    Variance of drawn, of returned, and their covariance, shape (3, n).
    """
    cube_h3 = step_h**3
    if bridged is not None:
        cube_h3 = step_h * np.where(bridged, np.minimum(step_h, usual_step_h(step_h)), step_h) ** 2
        step_h = np.where(bridged, 0.0, step_h)
    power = np.log(KINKS_OF_JUMPS) / np.log(KINKED)
    threes = Threes(step_h)
    thinned = [(start, Threes(_every_second(step_h, start))) for start in (0, 1)]
    longer = sum(float(half.longer_h3.sum()) for _, half in thinned)
    offs, factors = [threes.off(part) for part in parts], []
    for part, off in zip(parts, offs, strict=True):
        seen = float((off**2).sum())
        own = max(seen - threes.noisy(part, noise), 1e-30)
        left = sum(
            float((half.off(part[start::2]) ** 2).sum()) - half.noisy(part[start::2], noise[start::2])
            for start, half in thinned
        )
        jumps = left / own * float(threes.longer_h3.sum()) / longer if longer > 0 else 1.0
        growth = float(np.clip(jumps, UNRELATED, MOST_GROWTH)) if left > 0 else 1.0
        factors.append(own / max(seen, 1e-30) * growth**power)
    del thinned
    # what jumps leave in an hour cubed, by the three samples in a row around each: a step lies in two of these threes
    drawn, returned = offs
    pairs = ((drawn, drawn), (returned, returned), (drawn, returned))
    weights = (factors[0], factors[1], float(np.sqrt(factors[0] * factors[1])))
    variances = np.empty((3, len(drawn)))
    for row, weight, (one, other) in zip(variances, weights, pairs, strict=True):
        np.multiply(weight, _of_steps(one * other, threes.longer_h3, cube_h3), out=row)
    return variances


def _of_steps(product: Floats, longer_h3: Floats, cube_h3: Floats) -> Floats:
    """What each step's trapezoid leaves unsure, at the step's end, shape (n,).

    By the mean of the threes that it lies in; next to a step that does not count, by the one that is told, and where
    none is, by all of the log.
    """
    told = longer_h3 > 0
    each = np.divide(product, longer_h3, out=np.zeros(len(product)), where=told)
    n_told = told[:-1].astype(int) + told[1:]
    usual = float(product.sum()) / max(float(longer_h3.sum()), 1e-300) if told.any() else 0.0
    rate = np.where(n_told > 0, (each[:-1] + each[1:]) / np.maximum(n_told, 1), usual)
    return np.concatenate(([0.0], rate * cube_h3))


def _every_second(step_h: Floats, start: int) -> Floats:
    """The steps between every second sample; 0 where one of the two does not count."""
    pairs = step_h[start : start + (len(step_h) - start) // 2 * 2].reshape(-1, 2)
    steps: Floats = np.where((pairs > 0).all(axis=1), pairs.sum(axis=1), 0.0)
    return steps
