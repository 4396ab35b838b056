"""Clock offset and drift between two recordings: found where they show the same ride, refused where they may not.

Seconds count from the respective first sample. With lag and drift d, a sample of the other recording at u
belongs to the reference time t = lag + u / (1 + d).
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ridelog.lazy import dataclass
from ridelog.recording import ClockJoin, Recording
from ridelog.timeline.clock.correlate import correlate_all
from ridelog.timeline.clock.lag_fit import LagFit
from ridelog.timeline.clock.least_squares import fit_by_least_squares
from ridelog.timeline.clock.matching import Match, least_overlap_s, match_signals, slow_agreement
from ridelog.timeline.clock.peak import Peak, Refusal, find_peak
from ridelog.timeline.clock.settings import DEFAULTS, ClockSettings
from ridelog.timeline.clock.signals import LONGEST_COMPARED_S, SignalPair, Signals, common_signals
from ridelog.timeline.clock.wall_clock import (
    WallClocks,
    apart_by_wall,
    clock_offset_s,
    may_be_zones,
    of_one_device,
    overlap_s,
    wall_lags_s,
)
from ridelog.timeline.clock.windows import fit_by_windows


@dataclass(frozen=True)
class JoinResult:
    """A join, why the signals alone did not tell it, and by how much it goes against the wall clocks."""

    join: ClockJoin
    why_not: Refusal | None = None
    clocks_disagree_s: float | None = None


def join_clock(
    reference: Recording,
    other: Recording,
    reference_signals: Signals,
    other_signals: Signals,
    settings: ClockSettings = DEFAULTS,
) -> JoinResult:
    """Set the clock of ``other`` against the reference's.

    The lag is that of the highest cross-correlation of the most telling signals that both hold (speed; current or
    power; power and motion), refined by least squares or windows.

    Parameters
    ----------
    reference, other : two recordings
    reference_signals, other_signals : their signals, on grids of one step
    settings : thresholds

    Returns
    -------
    The join, trusted or not, and why not.

    References
    ----------
    C. H. Knapp, G. C. Carter, "The generalized correlation method for estimation of time delay", IEEE Transactions on
    Acoustics, Speech, and Signal Processing 24(4), 320-327 (1976), doi 10.1109/TASSP.1976.1162830 (from memory).
    """
    clocks = WallClocks(wall_lags_s(reference, other))
    if of_one_device(reference, other) and apart_by_wall(reference, other):
        return _by_wall_clock(reference, other, clocks, [], settings)  # two rides, however alike
    least_s = least_overlap_s(reference, other, settings)
    matches = match_signals(common_signals(reference_signals, other_signals), clocks, least_s, settings)
    accepted = [(match.pair, peak) for match in matches if (peak := match.accepted_peak) is not None]
    if not accepted:
        return _by_wall_clock(reference, other, clocks, matches, settings)
    pair, peak = max(accepted, key=lambda item: item[1].agreement)
    fit = fit_lag(pair.sharp or pair, _sharpened(pair, peak, least_s), settings)
    fit = _checked_by_positions(accepted, pair, fit, settings)
    unlike = _unlike(pair, fit, clocks, settings)
    if apart_by_wall(reference, other):
        unlike = unlike or _of_another_time(clocks, pair, peak, fit, settings)
    if unlike is not None:
        return _by_wall_clock(reference, other, clocks, [Match(pair, peak, unlike)], settings)
    join = ClockJoin(
        name=other.name,
        lag_s=fit.lag_s,
        offset_s=clock_offset_s(reference, other, fit.lag_s, fit.drift_ppm),
        drift_ppm=fit.drift_ppm,
        method=pair.method,
        agreement=peak.agreement,
        overlap_s=overlap_s(reference, other, fit.lag_s),
        trusted=True,
        offset_u_s=fit.lag_u_s,
        drift_u_ppm=fit.drift_u_ppm,
    )
    apart_s = clocks.apart_s(fit.lag_s)
    return JoinResult(join, clocks_disagree_s=apart_s if apart_s > settings.disagree_s else None)


def without_other_days(others: Sequence[Recording], results: Sequence[JoinResult]) -> list[JoinResult]:
    """The joins, less those of a device's recordings of other times beside one whose clock fits the ride.

    Parameters
    ----------
    others : recordings, shape (n,)
    results : their joins with one reference

    Returns
    -------
    In the same order; a join that is left out is not trusted.
    """
    fitting = [
        part
        for part, result in zip(others, results, strict=True)
        if result.join.trusted and result.clocks_disagree_s is None
    ]

    def of_another_time(part: Recording) -> bool:
        return any(of_one_device(part, good) and apart_by_wall(good, part) for good in fitting)

    return [
        replace(result, join=replace(result.join, method="none", trusted=False))
        if result.join.trusted and result.clocks_disagree_s is not None and of_another_time(part)
        else result
        for part, result in zip(others, results, strict=True)
    ]


def _of_another_time(
    clocks: WallClocks, pair: SignalPair, peak: Peak, fit: LagFit, settings: ClockSettings
) -> Refusal | None:
    """Why powers that fit are not taken for one ride's: the clocks put the two at different times, by no time zone.

    The power of one day's ride fits the road of another day's on the same way (a commute), so that a likeness of power
    alone does not overrule clocks, as one of speeds does.
    """
    if pair.method == "speed":
        return None
    apart_s = clocks.apart_s(fit.lag_s)
    return None if may_be_zones(apart_s, settings) else Refusal("contradicted", peak.agreement, apart_s)


def _unlike(pair: SignalPair, fit: LagFit, clocks: WallClocks, settings: ClockSettings) -> Refusal | None:
    """Why two speeds that fit are not taken for one ride's: no wall clock supports it, and their slow course differs.

    Two rides on one road start and stop at the same places, and so fit somewhere.
    """
    if pair.method != "speed" or clocks.supports(fit.lag_s, settings):
        return None
    agreement = slow_agreement(pair, fit.lag_s, fit.drift_ppm, settings)
    return None if agreement is None or agreement >= settings.slow_agreement else Refusal("unlike", agreement)


def fit_lag(pair: SignalPair, peak: Peak, settings: ClockSettings = DEFAULTS) -> LagFit:
    """Lag and drift of two speeds by least squares, of two powers by the lags of windows.

    Parameters
    ----------
    pair : the signals
    peak : where they fit as a whole
    settings : thresholds

    Returns
    -------
    Lag and, where it is significant, drift.
    """
    if pair.method != "speed":
        return fit_by_windows(pair, peak, settings)
    fit = fit_by_least_squares(pair, peak, LagFit(peak.lag_s, 0.0), settings)
    if fit is not None and abs(fit.drift_ppm or 0.0) < settings.unseen_drift_ppm:
        return fit  # a start from windows is for drifts that are no usual ones
    rough = fit_by_windows(pair, peak, settings)
    return fit_by_least_squares(pair, peak, rough, settings) or rough


def _sharpened(
    pair: SignalPair, peak: Peak, least_s: float, *, reach_s: float = 3.0, least_agreement: float = 0.4
) -> Peak:
    """The peak at the lag of the pair's sharp forms, where these agree at all near it."""
    if pair.sharp is None:
        return peak
    correlation = correlate_all(pair.sharp.reference, pair.sharp.other, pair.step_s, least_s)
    sharp = find_peak(correlation, peak.width_s, np.abs(correlation.lag_s - peak.lag_s) <= reach_s)
    return peak if sharp is None or sharp.agreement < least_agreement else replace(peak, lag_s=sharp.lag_s)


def _checked_by_positions(
    accepted: Sequence[tuple[SignalPair, Peak]], chosen: SignalPair, fit: LagFit, settings: ClockSettings
) -> LagFit:
    """The fit as found, or that by the positions where the device's own speed is apart from them by more than chance.

    Devices smooth their speed, and then show it late; the positions are what is joined. As they may be late too, the
    truth is taken to lie anywhere within half of the difference either way.
    """
    fits = {
        str(pair.source): fit if pair is chosen else fit_lag(pair, peak, settings)
        for pair, peak in accepted
        if pair.source in ("device", "positions")
    }
    if len(fits) < 2:
        return fit
    device, positions = fits["device"], fits["positions"]
    apart_s = abs(device.lag_s - positions.lag_s)
    if apart_s <= 2 * math.hypot(device.lag_u_s, positions.lag_u_s):
        return fit
    return replace(positions, lag_u_s=math.hypot(positions.lag_u_s, apart_s / math.sqrt(12)))


def _by_wall_clock(
    reference: Recording, other: Recording, clocks: WallClocks, matches: Sequence[Match], settings: ClockSettings
) -> JoinResult:
    """Wall clocks alone, where both are UTC, overlap well and the signals do not speak against it."""
    too_long = max(reference.duration_s, other.duration_s) > LONGEST_COMPARED_S
    nothing = Refusal("too-long" if too_long else "nothing-in-common")
    why_not = next((match.refusal for match in matches if match.refusal), nothing)
    lag_s = clocks.middle_lag_s
    join = ClockJoin(
        name=other.name,
        lag_s=lag_s,
        offset_s=0.0 if clocks.known else None,
        drift_ppm=None,
        method="none",
        agreement=max((match.wall_agreement for match in matches if match.wall_agreement is not None), default=None),
        overlap_s=overlap_s(reference, other, lag_s) if clocks.known else 0.0,
        trusted=False,
    )
    if not clocks.both_utc or not join.overlap_s or join.overlap_s < least_overlap_s(reference, other, settings):
        return JoinResult(join, why_not)
    if any(match.opposed for match in matches):
        return JoinResult(join, replace(why_not, opposed=True))
    own_u_s = settings.wall_s / math.sqrt(3)  # of 291 clocks joined so 2 were off by 3 s, none by more
    return JoinResult(replace(join, method="wall clock", trusted=True, offset_u_s=own_u_s), why_not)
