"""The shift at which two signals fit best, and how it stands against chance and against the second best."""

from typing import Literal

import numpy as np

from ridelog.lazy import dataclass
from ridelog.timeline.clock.correlate import Correlation, parabola_peak
from ridelog.timeline.clock.settings import ClockSettings


@dataclass(frozen=True)
class Peak:
    """The best shift of one pair of signals.

    Attributes
    ----------
    lag_s : the shift [s]
    agreement : correlation there [1]
    overlap_s : time that both signals know there [s]
    score : standard deviations by which the agreement exceeds chance [1]
    rival_ratio : height of the second best peak, as a share of this one [1]
    width_s : half-width of the signals' correlation with themselves [s]
    """

    lag_s: float
    agreement: float
    overlap_s: float
    score: float
    rival_ratio: float
    width_s: float

    @property
    def middle_s(self) -> float:
        """The middle of what both know, from the reference's first sample [s]."""
        return max(self.lag_s, 0.0) + self.overlap_s / 2


def find_peak(correlation: Correlation, width_s: float, allowed_mask: np.ndarray | None = None) -> Peak | None:
    """The shift whose agreement stands out most from chance.

    Agreement r over n independent stretches is weighed as ``atanh(r) sqrt(n - 3)``, which is normal with unit
    variance for unrelated signals, so that a long overlap with r = 0.95 beats a short one with 0.97. Stretches are
    independent over twice the width of the signal's own peak.

    Parameters
    ----------
    correlation : over all shifts
    width_s : half-width of the signal's correlation with itself [s]
    allowed_mask : shifts that may be chosen; all, by default

    Returns
    -------
    The peak; ``None`` where no allowed shift has an agreement above 0.

    References
    ----------
    R. A. Fisher, "On the probable error of a coefficient of correlation deduced from a small sample", Metron 1,
    3-32 (1921).
    """
    agreement = np.where(np.isfinite(correlation.agreement), correlation.agreement, -1.0)
    if allowed_mask is not None:
        agreement = np.where(allowed_mask, agreement, -1.0)
    if not len(agreement) or agreement.max() <= 0:
        return None
    normal = np.arctanh(np.clip(agreement, -0.9999, 0.9999))
    rank = normal * np.sqrt(correlation.overlap_s)
    best = int(np.argmax(rank))
    n_independent = max(float(correlation.overlap_s[best]) / (2 * width_s), 3.0)
    step_s = float(correlation.lag_s[1] - correlation.lag_s[0]) if len(correlation.lag_s) > 1 else 0.0
    lag_s = float(correlation.lag_s[best]) + parabola_peak(correlation.agreement, best) * step_s
    away_mask = np.abs(correlation.lag_s - lag_s) > max(2.0, width_s)
    rival = float(np.max(rank, initial=0.0, where=away_mask))
    return Peak(
        lag_s=lag_s,
        agreement=float(agreement[best]),
        overlap_s=float(correlation.overlap_s[best]),
        score=float(normal[best] * np.sqrt(n_independent - 3)),
        rival_ratio=rival / float(rank[best]),
        width_s=width_s,
    )


Reason = Literal["weak", "short", "ambiguous", "contradicted", "unlike", "too-long", "nothing-in-common"]


@dataclass(frozen=True)
class Refusal:
    """Why a fit of two signals is not believed.

    Attributes
    ----------
    reason : "weak" (the agreement may be chance), "short" (what they share is too short or too even to tell agreement
        from chance), "ambiguous" (they fit in more than one place), "contradicted" (by two wall clocks), "unlike"
        (speeds that fit no better than those of two rides on one road), "too-long" (a recording over more than a
        week), or "nothing-in-common" (nothing both show)
    agreement : the best that was reached; ``None`` where nothing was compared [1]
    apart_s : where contradicted, how far the fit is from what the clocks say [s]
    opposed : whether the signals, laid where the wall clocks put them, do not agree either
    """

    reason: Reason
    agreement: float | None = None
    apart_s: float | None = None
    opposed: bool = False


def refusal(peak: Peak, settings: ClockSettings) -> Refusal | None:
    """Why the peak is not believed; ``None`` where it is."""
    if peak.agreement < settings.least_agreement:
        return Refusal("weak", peak.agreement)
    if peak.score < settings.least_score:
        return Refusal("short", peak.agreement)
    if peak.rival_ratio > settings.rival_ratio:
        return Refusal("ambiguous", peak.agreement)
    return None
