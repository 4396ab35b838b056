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

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.electrical.rest import false_flow
from ridelog.arrays import Floats, Mask

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
        self._shares: dict[float, tuple[float, float] | None] = {}  # by zero error
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
        both_ways = self._less_feigned(returned, zero_a) + cancelled
        return drawn + both_ways, returned + both_ways

    def growth(self, at: NDArray[np.intp]) -> Floats:
        """What totals grow by from sample to sample, at all zero errors that `Flowing.totals` was asked for.

        Parameters
        ----------
        at : samples, shape (…, m)

        Returns
        -------
        Row by row drawn at each zero error, returned at each, nothing, and the time missed and seen [s], shape
        (n_rows, …, m - 1).
        """
        readings, by_zero = self._readings, (-1, *(1,) * at.ndim)
        zeros_a, of_quiet, of_others = (np.reshape(one, by_zero) for one in zip(*self._told_shares, strict=True))
        before = np.minimum(at[..., :-1], len(readings.counted) - 1)
        step_s, counted = np.diff(readings.time_s[at]), readings.counted[before]
        rate = (self.current_a[at] - zeros_a) * readings.weight[at]
        forward = np.where(readings.standing[at], rate, np.maximum(rate, 0.0))
        step_h = np.where(counted, step_s, 0.0) / SECONDS_PER_HOUR
        drawn, returned = ((part[..., :-1] + part[..., 1:]) / 2 * step_h for part in (forward, forward - rate))
        taken = returned * np.where(self._quiet[before], of_quiet, of_others)
        times_s = np.stack([np.zeros(step_s.shape), np.where(counted, 0.0, step_s), np.where(counted, step_s, 0.0)])
        return np.concatenate([drawn - taken, returned - taken, times_s])

    @property
    def tells_growth(self) -> bool:
        """Whether `Flowing.growth` is what the totals grow by: not of means, nor where all that returned is noise."""
        return self._rule == "clip" and None not in self._shares.values()

    @property
    def _told_shares(self) -> list[tuple[float, float, float]]:
        return [(zero_a, *shares) for zero_a, shares in self._shares.items() if shares is not None]

    def _less_feigned(self, returned: Floats, zero_a: float) -> Floats:
        """What the noise of quiet stretches feigned up to each sample, drawn and returned alike, as a number below 0.

        Stretch by stretch it is known on average only: taken off each, it would leave some with less than nothing
        returned, and the braking of a ride with more than the ride. So it is taken off all quiet stretches in
        proportion to what they show as returned, and what they do not show, in the same way, off the rest.
        """
        by_step = (self._feigned_a(zero_a) * self._readings.weight)[1:] * self._readings.step_h
        shown = np.diff(returned)
        shares = self._shares[zero_a] = self._shares_taken(shown, float(by_step.sum()))
        if shares is not None:
            by_step = shown * np.where(self._quiet, *shares)
        return -np.concatenate(([0.0], np.cumsum(by_step)))

    def _shares_taken(self, shown: Floats, to_take: float) -> tuple[float, float] | None:
        """The shares of what quiet and other steps show that are taken off; ``None`` where these show too little."""
        if to_take <= 0:
            return 0.0, 0.0
        in_quiet = float(shown @ self._quiet)
        elsewhere = float(shown.sum()) - in_quiet
        if to_take <= in_quiet:
            return to_take / in_quiet, 0.0
        return (1.0, (to_take - in_quiet) / elsewhere) if elsewhere > 0 else None

    def _feigned_a(self, zero_a: float) -> Floats:
        """What noise feigns each way of the mean of a quiet stretch if only the standby draw flowed, shape (n,) [A].

        Nothing is feigned while the bike stands.
        """
        rest, feigned = self._readings.rest, np.zeros(len(self.current_a))
        level_a = (rest.mean_a if rest.mean_a is not None else zero_a) - zero_a
        noise_a = rest.noise_a / np.sqrt(self._n)
        feigned[self._inside] = np.repeat(false_flow(np.full(len(self._n), level_a), noise_a), self._n)
        feigned[self._readings.standing] = 0.0
        return feigned
