"""How much charge and energy left the battery, and how much came back.

The rule is *clip, then trapezoid*: the positive and the negative part of each sample are integrated on their
own, ``drawn = Σ (max(i_k, 0) + max(i_k+1, 0))/2 · Δt``. For samples that are instantaneous readings at a phase
of the logger's own, this is an unbiased estimate of the integral of the positive part, whatever the waveform
does between the samples. Splitting at the zero crossing of the straight line between two samples is exact only
where the current really is a straight line; on steps and half-waves it loses returned charge
(i = 6 + 10 sin(2πt/12 s) A read at 1 s: 0.8 points of the recovered share). Where the samples are means over
the step that they end (``averaged`` in the bike file), each stands for its whole step.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.electrical.rest import false_flow
from ridelog.arrays import Floats, Mask
from ridelog.lazy import dataclass

if TYPE_CHECKING:
    from ridelog.analysis.electrical.bridges import Readings

Rule = Literal["clip", "crossing", "mean"]

SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True)
class Flow:
    """Running totals of a signed rate, split by direction.

    ``drawn`` and ``returned`` have shape (n,), begin at 0 and never fall; both in the unit of the rate times
    hours. ``covered_s`` is the time that was integrated.
    """

    time_s: Floats
    drawn: Floats
    returned: Floats
    covered_s: float

    @property
    def totals(self) -> tuple[float, float]:
        """Drawn and returned over everything."""
        return float(self.drawn[-1]), float(self.returned[-1])

    def between(self, start_s: float, end_s: float) -> tuple[float, float]:
        """Drawn and returned from ``start_s`` to ``end_s``; a step cut by a bound counts in proportion."""
        bounds = np.array([start_s, end_s])
        drawn = np.interp(bounds, self.time_s, self.drawn)
        returned = np.interp(bounds, self.time_s, self.returned)
        return float(drawn[1] - drawn[0]), float(returned[1] - returned[0])


def split_flow(
    time_s: Floats,
    rate: Floats,
    *,
    rule: Rule = "clip",
    counted_mask: Mask | None = None,
    bridged_mask: Mask | None = None,
) -> Flow:
    """Integrate a signed rate over time, its two directions apart.

    Parameters
    ----------
    time_s : shape (n,), increasing [s]
    rate : shape (n,), current [A] or power [W], positive out of the battery, no NaN
    rule : "clip" (clip each sample, then trapezoid), "crossing" (split where the straight line between two
        samples crosses zero) or "mean" (each sample is the mean over the step that ends at it)
    counted_mask : shape (n-1,), steps that count; the others are gaps. All, by default
    bridged_mask : shape (n-1,), steps that span missing samples: there a mean stands for its usual step only, and a
        straight line is taken for what was missing. None, by default

    Returns
    -------
    flow : running totals [Ah] or [Wh]
    """
    step_h = np.diff(time_s) / SECONDS_PER_HOUR
    if counted_mask is not None:
        step_h = np.where(counted_mask, step_h, 0.0)
    drawn, returned = (
        running_total(part, step_h, rule=rule, bridged_mask=bridged_mask)
        for part in (np.maximum(rate, 0.0), np.maximum(-rate, 0.0))
    )
    if rule == "crossing":
        before, after = rate[:-1], rate[1:]
        excess = np.zeros(len(step_h))  # what the two trapezoids count beyond the two triangles
        np.divide(-before * after, 2 * np.abs(before - after), out=excess, where=before * after < 0)
        beyond = np.concatenate(([0.0], np.cumsum(excess * step_h)))
        drawn, returned = drawn - beyond, returned - beyond
    return Flow(time_s, drawn, returned, float(step_h.sum() * SECONDS_PER_HOUR))


def running_total(part: Floats, step_h: Floats, *, rule: Rule, bridged_mask: Mask | None = None) -> Floats:
    """What flowed one way up to each sample.

    Parameters
    ----------
    part : what flows at the samples, shape (n,)
    step_h : the steps, 0 where they do not count, shape (n - 1,) [h]
    rule, bridged_mask : see `split_flow`; where the rate crosses zero is not its matter

    Returns
    -------
    Shape (n,), beginning at 0, in the unit of the rate times hours.
    """
    line = (part[:-1] + part[1:]) / 2
    if rule == "mean":
        own = own_share(step_h, bridged_mask)
        line = own * part[1:] + (1 - own) * line
    total = np.zeros(len(part))
    np.cumsum(line * step_h, out=total[1:])
    return total


def own_share(step_h: Floats, bridged_mask: Mask | None) -> Floats:
    """The share of each step that the mean at its end stands for: all of it, or a usual step's worth after a gap."""
    share = np.ones(len(step_h))
    if bridged_mask is None or not bridged_mask.any():
        return share
    usual_h = usual_step_h(step_h)
    np.divide(usual_h, step_h, out=share, where=bridged_mask & (step_h > usual_h))
    return share


def usual_step_h(step_h: Floats) -> float:
    """The usual one of the steps that count, which are above 0; 0 where none does [h]."""
    counting_h = step_h[step_h > 0]
    return float(np.median(counting_h)) if len(counting_h) else 0.0


class Flowing:
    """What flowed each way at any zero error.

    Parameters
    ----------
    readings : the log
    rule : how samples are integrated
    """

    def __init__(self, readings: Readings, rule: Rule) -> None:
        self._readings, self._rule = readings, rule
        self._shares: dict[float, tuple[float, ...]] = {}  # by zero error
        self.current_a = readings.current_a.copy() if readings.quiet else readings.current_a  # quiet ones at their mean
        stretch_of = np.full(len(self.current_a), -1)
        first, last = np.array(readings.quiet, dtype=np.intp).reshape(-1, 2).T
        self._n = last - first + 1
        self._inside = np.repeat(first - np.cumsum(self._n) + self._n, self._n) + np.arange(int(self._n.sum()))
        for a, b in readings.quiet:
            self.current_a[a : b + 1] = np.add.reduce(self.current_a[a : b + 1]) / (b - a + 1)
        stretch_of[self._inside] = np.repeat(np.arange(len(first)), self._n)
        stretch_of[readings.standing] = -1
        self._quiet = (stretch_of[1:] >= 0) & (stretch_of[1:] == stretch_of[:-1])

    def totals(self, zero_a: float, cancelled: Floats | float = 0.0) -> tuple[Floats, Floats]:
        """Running drawn and returned for one zero error, with what ``cancelled`` in both up to each sample."""
        readings = self._readings
        rate, step_h = (self.current_a - zero_a) * readings.weight, readings.step_h
        forward = np.where(readings.standing, rate, np.maximum(rate, 0.0))  # nothing comes back while the bike stands
        drawn, returned = (
            running_total(part, step_h, rule=self._rule, bridged_mask=readings.bridged)
            for part in (forward, forward - rate)
        )
        feigned = self._feigned(np.diff([drawn, returned]), zero_a)
        return drawn - feigned[0] + cancelled, returned - feigned[1] + cancelled

    def growth(self, at: NDArray[np.intp]) -> Floats:
        """What totals grow by from sample to sample, at all zero errors that were asked for before; by "clip".

        Parameters
        ----------
        at : samples, shape (…, m)

        Returns
        -------
        Row by row drawn at each zero error, returned at each, nothing, and the time missed and seen [s], shape
        (n_rows, …, m - 1).
        """
        counted, quiet, step_s = self._steps(at)
        counted_s = np.where(counted, step_s, 0.0)
        each_way = self._each_way(at, list(self._shares), counted_s)
        shares = np.array(list(self._shares.values())).reshape(-1, 2, 2, *(1,) * at.ndim)
        of_quiet, of_others = np.moveaxis(shares, (1, 2), (1, 0))
        each_way -= np.maximum(each_way, 0.0) * np.where(quiet, of_quiet, of_others)
        return np.concatenate([*each_way, np.stack([np.zeros(step_s.shape), step_s - counted_s, counted_s])])

    def at_blocks(self, zeros_a: Floats, block: int, *, at_once: int = 256) -> Floats:
        """What `Flowing.growth` adds up to at the first sample of each block, without totals of all samples.

        Parameters
        ----------
        zeros_a : zero errors, of which `Flowing.growth` is asked from now on [A]
        block : samples of a block
        at_once : blocks that are looked at together

        Returns
        -------
        Shape (n_rows, n_blocks).
        """
        n_zeros, n_blocks = len(zeros_a), -(-len(self.current_a) // block)
        kept = np.zeros((6 * n_zeros + 3, n_blocks))
        for begin in range(0, n_blocks - 1, at_once):
            end = min(begin + at_once, n_blocks - 1)
            parts = self._parts(np.arange(begin * block, end * block + 1), zeros_a)
            kept[:, begin + 1 : end + 1] = parts.reshape(len(kept), -1, block).sum(axis=-1)
        np.cumsum(kept, axis=1, out=kept)
        whole = kept[:, -1] + self._parts(np.arange((n_blocks - 1) * block, len(self.current_a)), zeros_a).sum(axis=1)
        for row, zero_a in enumerate(zeros_a.tolist()):
            _, shown, in_quiet = whole[:-3].reshape(3, 2, n_zeros)[..., row].tolist()
            self._shares[zero_a] = self._taken(shown, in_quiet, zero_a)
        each_way, shown, in_quiet = kept[:-3].reshape(3, 2, n_zeros, -1)
        of_quiet, of_others = np.moveaxis(np.array(list(self._shares.values())).reshape(-1, 2, 2, 1), (1, 2), (1, 0))
        each_way -= of_quiet * in_quiet + of_others * (shown - in_quiet)
        return np.concatenate([*each_way, kept[-3:]])

    def _parts(self, at: NDArray[np.intp], zeros_a: Floats) -> Floats:
        """Between samples, at each zero error, drawn and returned, what they show, and show in quiet steps; times."""
        counted, quiet, step_s = self._steps(at)
        counted_s = np.where(counted, step_s, 0.0)
        each_way = self._each_way(at, zeros_a, counted_s).reshape(2 * len(zeros_a), -1)
        shown = np.maximum(each_way, 0.0)
        return np.concatenate([each_way, shown, shown * quiet, [0.0 * step_s, step_s - counted_s, counted_s]])

    def _steps(self, at: NDArray[np.intp]) -> tuple[Mask, Mask, Floats]:
        """Which steps between samples count, which lie in a quiet stretch, and how long they are [s]."""
        before = np.minimum(at[..., :-1], len(self._quiet) - 1)
        return self._readings.counted[before], self._quiet[before], np.diff(self._readings.time_s[at])

    def _each_way(self, at: NDArray[np.intp], zeros_a: Sequence[float] | Floats, step_s: Floats) -> Floats:
        """Drawn and returned between samples at zero errors, shape (2, n_zeros, …, m - 1)."""
        readings, by_zero = self._readings, np.reshape(np.asarray(zeros_a), (-1, *(1,) * at.ndim))
        rate = (self.current_a[at] - by_zero) * readings.weight[at]
        forward = np.where(readings.standing[at], rate, np.maximum(rate, 0.0))
        half_h = step_s / (2 * SECONDS_PER_HOUR)
        return np.stack([(part[..., :-1] + part[..., 1:]) * half_h for part in (forward, forward - rate)])

    def _feigned(self, by_step: Floats, zero_a: float) -> Floats:
        """What the noise of quiet stretches feigned up to each sample, of drawn and of returned, shape (2, n).

        Stretch by stretch it is known on average only: taken off each, it would leave some with less than nothing drawn
        or returned, and the braking of a ride with more than the ride. So it is taken off all quiet stretches in
        proportion to what they show, drawn and returned each by its own, and what they do not show, in the same way,
        off the rest. Of both the same is taken, and no more than the ride shows: what drove the bike is no noise.
        """
        shown = np.maximum(by_step, 0.0)  # a zero error may leave less than nothing drawn while the bike stands
        in_quiet = [float(part @ self._quiet) for part in shown]
        shares = self._taken(shown.sum(axis=1).tolist(), in_quiet, zero_a)
        self._shares[zero_a] = shares
        taken = shown * [np.where(self._quiet, *of_part) for of_part in (shares[:2], shares[2:])]
        return np.concatenate([np.zeros((2, 1)), np.cumsum(taken, axis=1)], axis=1)

    def _taken(self, shown: Sequence[float], in_quiet: Sequence[float], zero_a: float) -> tuple[float, ...]:
        """The shares that are taken off what quiet and other steps show as drawn, and of what they show as returned."""
        to_take = min(self._to_take(zero_a), *shown)
        of_drawn, of_returned = (self._shares_taken(*each, to_take) for each in zip(in_quiet, shown, strict=True))
        return *of_drawn, *of_returned

    @staticmethod
    def _shares_taken(in_quiet: float, whole: float, to_take: float) -> tuple[float, float]:
        """The shares of what quiet and other steps show that are taken off, all of it where they show too little."""
        if to_take <= 0:
            return 0.0, 0.0
        if to_take <= in_quiet:
            return to_take / in_quiet, 0.0
        elsewhere = whole - in_quiet
        return 1.0, min((to_take - in_quiet) / elsewhere, 1.0) if elsewhere > 0 else 0.0

    def _to_take(self, zero_a: float) -> float:
        """What noise feigns each way of the means of quiet stretches if only the standby draw flowed."""
        rest = self._readings.rest
        level_a = (rest.mean_a if rest.mean_a is not None else zero_a) - zero_a
        noise_a = rest.noise_a / np.sqrt(self._n)
        return float(false_flow(np.full(len(self._n), level_a), noise_a) @ self._quiet_h)

    @cached_property
    def _quiet_h(self) -> Floats:
        """The time of each quiet stretch but for stands, where nothing is feigned, times the weight, (n_quiet,) [h]."""
        readings, at = self._readings, self._inside
        counts = (at > 0) & ~readings.standing[at] & readings.counted[np.maximum(at, 1) - 1]
        steps_s = np.where(counts, readings.time_s[at] - readings.time_s[np.maximum(at, 1) - 1], 0.0)
        stretch = np.repeat(np.arange(len(self._n)), self._n)
        times = np.bincount(stretch, readings.weight[at] * steps_s, minlength=len(self._n))
        return np.asarray(times / SECONDS_PER_HOUR)
