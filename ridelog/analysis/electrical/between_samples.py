"""How far the trapezoid between samples may be off: learnt from the log's own bends, at whatever stamps it was read."""

from dataclasses import dataclass

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


@dataclass(frozen=True)
class Bends:
    """What three samples in a row say of the two steps between them, each shape (n,), 0 at the ends.

    ``off`` is what the trapezoid loses without the middle one, in the unit of the rate times hours; ``noise_h2`` its
    variance for each unit of the samples' own. Where the log jumps, the squares of ``off`` go with ``longer_h3``, what
    the cube of both steps together is beyond the cubes of each.
    """

    off: Floats
    noise_h2: Floats
    longer_h3: Floats


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
    running: Floats = np.cumsum(terms, axis=1)
    return running


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
    whole = [_bends(part, step_h) for part in parts]
    factors = []
    for part, bends in zip(parts, whole, strict=True):
        noisy = _noisy(bends, part, noise)
        seen = float((bends.off**2).sum())
        own = max(seen - noisy, 1e-30)
        halves = [_bends(part[start::2], _every_second(step_h, start)) for start in (0, 1)]
        thinned = sum(
            float((half.off**2).sum()) - _noisy(half, part[start::2], noise[start::2])
            for start, half in enumerate(halves)
        )
        longer = sum(float(half.longer_h3.sum()) for half in halves)
        jumps = thinned / own * float(bends.longer_h3.sum()) / longer if longer > 0 else 1.0
        growth = float(np.clip(jumps, UNRELATED, MOST_GROWTH)) if thinned > 0 else 1.0
        factors.append(own / max(seen, 1e-30) * growth**power)
    drawn, returned = whole
    told = drawn.longer_h3 > 0
    # what jumps leave in an hour cubed, by the three samples in a row around each: a step lies in two of these threes
    products = (drawn.off**2, returned.off**2, drawn.off * returned.off)
    weights = (factors[0], factors[1], float(np.sqrt(factors[0] * factors[1])))
    return np.stack(
        [
            weight * _of_steps(product, drawn.longer_h3, told, cube_h3)
            for weight, product in zip(weights, products, strict=True)
        ]
    )


def _of_steps(product: Floats, longer_h3: Floats, told: Mask, cube_h3: Floats) -> Floats:
    """What each step's trapezoid leaves unsure, at the step's end, shape (n,).

    By the mean of the threes that it lies in; next to a step that does not count, by the one that is told, and where
    none is, by all of the log.
    """
    each = np.divide(product, longer_h3, out=np.zeros(len(product)), where=told)
    n_told = told[:-1].astype(int) + told[1:]
    usual = float(product.sum()) / max(float(longer_h3.sum()), 1e-300) if told.any() else 0.0
    rate = np.where(n_told > 0, (each[:-1] + each[1:]) / np.maximum(n_told, 1), usual)
    return np.concatenate(([0.0], rate * cube_h3))


def _bends(values: Floats, step_h: Floats) -> Bends:
    """The bends of a row of samples; nothing is told of one next to a step that does not count."""
    found = np.zeros((3, len(values)))
    before, after = step_h[:-1], step_h[1:]
    both = before + after
    told = (before > 0) & (after > 0)
    line = np.divide(values[:-2] * after + values[2:] * before, both, out=np.zeros(len(both)), where=told)
    found[0, 1:-1] = np.where(told, (line - values[1:-1]) * both / 2, 0.0)
    found[1, 1:-1] = np.where(told, (both**2 + before**2 + after**2) / 4, 0.0)
    found[2, 1:-1] = np.where(told, both**3 - before**3 - after**3, 0.0)
    return Bends(*found)


def _every_second(step_h: Floats, start: int) -> Floats:
    """The steps between every second sample; 0 where one of the two does not count."""
    pairs = step_h[start : start + (len(step_h) - start) // 2 * 2].reshape(-1, 2)
    steps: Floats = np.where((pairs > 0).all(axis=1), pairs.sum(axis=1), 0.0)
    return steps


def _noisy(bends: Bends, part: Floats, noise: Floats) -> float:
    """What the squares of the bends owe to noise alone; where nothing flows in a direction, noise does not show."""
    return float((bends.noise_h2 * np.where(part > 0, noise, 0.0) ** 2).sum())
