"""How much charge and energy left the battery, and how much came back.

The rule is *clip, then trapezoid*: the positive and the negative part of each sample are integrated on their
own, ``drawn = Σ (max(i_k, 0) + max(i_k+1, 0))/2 · Δt``. For samples that are instantaneous readings at a phase
of the logger's own, this is an unbiased estimate of the integral of the positive part, whatever the waveform
does between the samples. Splitting at the zero crossing of the straight line between two samples is exact only
where the current really is a straight line; on steps and half-waves it loses returned charge
(i = 6 + 10 sin(2πt/12 s) A read at 1 s: 0.8 points of the recovered share). Where the samples are means over
the step that they end (``averaged`` in the bike file), each stands for its whole step.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ridelog.arrays import Floats, Mask

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
