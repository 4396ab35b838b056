"""Where the signals of two recordings fit, pair by pair, and whether that is believed."""

from collections.abc import Sequence

import numpy as np

from ridelog.lazy import dataclass
from ridelog.recording import Recording
from ridelog.timeline.clock.correlate import correlate_all, peak_width_s, smoothed
from ridelog.timeline.clock.lag_fit import resampled_onto
from ridelog.timeline.clock.peak import Peak, Refusal, find_peak, refusal
from ridelog.timeline.clock.settings import ClockSettings
from ridelog.timeline.clock.signals import SignalPair
from ridelog.timeline.clock.wall_clock import WallClocks


@dataclass(frozen=True)
class Match:
    """The best fit of one pair of signals.

    Attributes
    ----------
    pair : the signals
    peak : where they fit best; ``None`` where nothing fits
    refusal : why that is not believed; ``None`` where it is
    wall_agreement : agreement reached near the lag of two UTC clocks; ``None`` where there are none [1]
    opposed : whether the signals speak against the two UTC clocks
    """

    pair: SignalPair
    peak: Peak | None
    refusal: Refusal | None
    wall_agreement: float | None = None
    opposed: bool = False

    @property
    def accepted_peak(self) -> Peak | None:
        """The peak where it is believed."""
        return self.peak if self.refusal is None else None


def least_overlap_s(reference: Recording, other: Recording, settings: ClockSettings) -> float:
    """Time that both must know at a lag.

    Parameters
    ----------
    reference, other : two recordings
    settings : thresholds

    Returns
    -------
    ``settings.least_overlap_s``, or a share of the shorter recording; half of that one if it lasts a few minutes [s].
    """
    shorter_s = min(reference.duration_s, other.duration_s)
    wanted_s = max(settings.least_overlap_s, settings.least_overlap_ratio * shorter_s)
    return min(wanted_s, 0.5 * shorter_s)


def match_signals(
    pairs: Sequence[SignalPair], clocks: WallClocks, least_s: float, settings: ClockSettings
) -> list[Match]:
    """Matches of the most telling kind of signals that is believed, and of the kinds before it.

    Parameters
    ----------
    pairs : the most telling kind first
    clocks : what the wall clocks allow
    least_s : time that both must know at a lag [s]
    settings : thresholds

    Returns
    -------
    One for each pair that was compared. Speeds that do vary and do not agree are not overruled by power that is
    predicted from them.
    """
    matches: list[Match] = []
    widths_s: dict[int, float] = {}  # of references: speeds have one in common
    speeds_vary = False
    for pair in pairs:
        accepted = [match for match in matches if match.accepted_peak is not None]
        if accepted and accepted[0].pair.method != pair.method:
            break
        if pair.method != "speed" and speeds_vary:
            break
        speeds_vary = speeds_vary or (pair.method == "speed" and _varies(pair, settings))
        if (own := id(pair.reference)) not in widths_s:
            widths_s[own] = peak_width_s(pair.reference, pair.step_s)
        width_s = max(widths_s[own], peak_width_s(pair.other, pair.step_s))
        matches.append(_match(pair, width_s, clocks, least_s, settings))
    return matches


def _match(pair: SignalPair, width_s: float, clocks: WallClocks, least_s: float, settings: ClockSettings) -> Match:
    correlation = correlate_all(pair.reference, pair.other, pair.step_s, least_s)
    near_s = settings.near_s if clocks.both_utc else settings.near_zone_s
    best = find_peak(correlation, width_s)
    near = find_peak(correlation, width_s, clocks.within(correlation.lag_s, near_s))
    peak, why_not = _chosen(best, near, clocks, settings)
    if peak is not None and why_not is not None and _confirmed(pair, peak, clocks, least_s, settings):
        why_not = None
    if not clocks.both_utc or near is None:
        return Match(pair, peak, why_not)
    there = find_peak(correlation, width_s, clocks.within(correlation.lag_s, settings.wall_s))
    opposed = _disagrees(near, pair, settings) or _fits_elsewhere(near, there, settings)
    return Match(pair, peak, why_not, near.agreement, opposed)


def _chosen(
    best: Peak | None, near: Peak | None, clocks: WallClocks, settings: ClockSettings
) -> tuple[Peak | None, Refusal | None]:
    """The peak to believe, or the best with the reason against it; wall clocks decide between near equals."""
    if best is None:
        return None, None
    if near is not None:
        close = abs(near.agreement - best.agreement) < 0.1 * best.agreement or near.lag_s == best.lag_s
        if close and refusal(near, settings) is None:
            return near, None
    return best, clocks.contradiction(best, settings) or refusal(best, settings)


def _confirmed(pair: SignalPair, peak: Peak, clocks: WallClocks, least_s: float, settings: ClockSettings) -> bool:
    """Whether the pair's sharp forms, left free to fit anywhere, fit best at the peak too: chance does not do that."""
    if pair.sharp is None or peak.agreement < settings.least_agreement or peak.overlap_s < settings.confirmed_overlap_s:
        return False
    if clocks.contradiction(peak, settings):
        return False
    sharp = find_peak(correlate_all(pair.sharp.reference, pair.sharp.other, pair.step_s, least_s), peak.width_s)
    if sharp is None or sharp.agreement < settings.least_agreement:
        return False
    return abs(sharp.lag_s - peak.lag_s) <= settings.confirmed_s


def _disagrees(near: Peak, pair: SignalPair, settings: ClockSettings) -> bool:
    """Whether signals that would agree at the wall clocks' lag, were they of one ride, do not."""
    if near.overlap_s < settings.drift_overlap_s / 4:
        return False
    if pair.method != "speed":
        return near.agreement < settings.opposed_agreement
    return near.agreement < settings.least_agreement and _varies(pair, settings)


def _fits_elsewhere(near: Peak, there: Peak | None, settings: ClockSettings) -> bool:
    """Whether signals agree well near the wall clocks' lag, but clearly less where it puts them."""
    if near.agreement < settings.least_agreement:
        return False
    return there is None or there.agreement < settings.rival_ratio * near.agreement


def slow_agreement(pair: SignalPair, lag_s: float, drift_ppm: float | None, settings: ClockSettings) -> float | None:
    """Correlation of the means over ``settings.slow_s`` of two signals; ``None`` where they share too little [1].

    Parameters
    ----------
    pair : the signals
    lag_s, drift_ppm : of the other; no drift where ``None`` [s], [1e-6]
    settings : thresholds

    Returns
    -------
    From -1 to 1.
    """
    moved = resampled_onto(pair.other, len(pair.reference), pair.step_s, lag_s, 1e-6 * (drift_ppm or 0.0))
    slow = [smoothed(values, round(settings.slow_s / pair.step_s)) for values in (pair.reference, moved)]
    both_mask = np.isfinite(slow[0]) & np.isfinite(slow[1])
    if both_mask.sum() * pair.step_s < settings.slow_s or min(np.ptp(values[both_mask]) for values in slow) <= 0:
        return None
    return float(np.corrcoef(slow[0][both_mask], slow[1][both_mask])[0, 1])


def _varies(pair: SignalPair, settings: ClockSettings) -> bool:
    """Whether both speeds vary by more than their noise."""
    slow = [smoothed(values, round(10.0 / pair.step_s)) for values in (pair.reference, pair.other)]
    spreads_mps = [float(np.std(values[np.isfinite(values)])) for values in slow if np.isfinite(values).any()]
    return len(spreads_mps) == 2 and min(spreads_mps) > settings.decisive_spread_mps
