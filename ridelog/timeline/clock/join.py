"""Clock offset and drift between two recordings: found where they show the same ride, refused where they may not.

Seconds count from the respective first sample. With lag and drift d, a sample of the other recording at u
belongs to the reference time t = lag + u / (1 + d).
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from ridelog.recording import ClockJoin, JoinMethod, Recording
from ridelog.timeline.clock.correlate import (
    Correlation,
    correlate_all,
    parabola_peak,
    peak_width_s,
    smoothed,
)
from ridelog.timeline.clock.lag_fit import Peak, Refined, refined
from ridelog.timeline.clock.settings import DEFAULTS, ClockSettings
from ridelog.timeline.clock.signals import Pair, Signals, common_signals


@dataclass(frozen=True)
class Verdict:
    """A join with the reason why it is not trusted, and whether it goes against the wall clocks."""

    join: ClockJoin
    why_not: str | None = None
    clocks_disagree_s: float | None = None


def wall_lags_s(reference: Recording, other: Recording, *, zone_step_s: float = 900.0) -> np.ndarray:
    """Shifts that the wall clocks allow: one where both are UTC, one for each time zone where a zone is unknown.

    Time zones are multiples of 15 minutes up to 14 hours. Empty where one of them keeps no wall time.
    """
    if reference.start is None or other.start is None:
        return np.empty(0)
    lag_s = (other.start - reference.start).total_seconds()
    if reference.clock == other.clock == "utc":
        return np.array([lag_s])
    return lag_s + np.arange(-56, 57) * zone_step_s


def find_peak(
    method: JoinMethod, correlation: Correlation, width_s: float, allowed_mask: np.ndarray | None = None
) -> Peak | None:
    """The shift whose agreement stands out most from chance.

    Agreement r over n independent stretches is weighed as ``atanh(r) sqrt(n - 3)``, which is normal with unit
    variance for unrelated signals (R. A. Fisher, 1921), so that a long overlap with r = 0.95 beats a
    short one with 0.97. Stretches are independent over twice the width of the signal's own peak.

    Parameters
    ----------
    method : what the signals are
    correlation : over all shifts
    width_s : half-width of the signal's correlation with itself [s]
    allowed_mask : shifts that may be chosen; all, by default

    Returns
    -------
    The peak; ``None`` where no allowed shift has an agreement above 0.
    """
    agreement = np.where(np.isfinite(correlation.agreement), correlation.agreement, -1.0)
    if allowed_mask is not None:
        agreement = np.where(allowed_mask, agreement, -1.0)
    if not len(agreement) or agreement.max() <= 0:
        return None
    n = np.maximum(correlation.overlap_s / (2 * width_s), 3.0)
    score = np.arctanh(np.clip(agreement, -0.9999, 0.9999)) * np.sqrt(n - 3)
    rank = np.arctanh(np.clip(agreement, -0.9999, 0.9999)) * np.sqrt(correlation.overlap_s)
    best = int(np.argmax(rank))
    step_s = float(correlation.lag_s[1] - correlation.lag_s[0]) if len(correlation.lag_s) > 1 else 0.0
    lag_s = float(correlation.lag_s[best]) + parabola_peak(correlation.agreement, best) * step_s
    away_mask = np.abs(correlation.lag_s - lag_s) > max(2.0, width_s)
    rival = float(np.max(rank, initial=0.0, where=away_mask))
    return Peak(
        method,
        lag_s,
        float(agreement[best]),
        float(correlation.overlap_s[best]),
        float(score[best]),
        rival / float(rank[best]),
        width_s,
    )


def _refusal(peak: Peak, settings: ClockSettings) -> str | None:
    """Why the peak is not believed; ``None`` where it is."""
    if peak.agreement < settings.least_agreement:
        return f"their best agreement is {peak.agreement:.2f}, and less than {settings.least_agreement:g} may be chance"
    if peak.score < settings.least_score:
        return "what they share is too short or too even to tell agreement from chance"
    if peak.rival_ratio > settings.rival_ratio:
        return "they fit in more than one place about equally well"
    return None


def join_clock(
    reference: Recording,
    other: Recording,
    signals: tuple[Signals, Signals],
    step_s: float,
    settings: ClockSettings = DEFAULTS,
) -> Verdict:
    """Set the clock of ``other`` against the reference's.

    Parameters
    ----------
    reference, other : two recordings
    signals : of the reference and of the other, on grids of ``step_s``
    step_s : of the grids [s]
    settings : thresholds

    Returns
    -------
    The join, trusted or not, and why not.
    """
    expected_s = wall_lags_s(reference, other)
    both_utc = len(expected_s) == 1
    near_s = settings.near_s if both_utc else settings.near_zone_s
    least_s = _least_overlap_s(reference, other, settings)
    speeds_speak = False
    refused: list[str] = []
    accepted: list[tuple[Peak, Pair]] = []
    at_wall: list[tuple[float, bool]] = []
    for pair in common_signals(*signals, step_s):
        if accepted and accepted[0][1].method != pair.method:
            break
        if pair.method != "speed" and speeds_speak:
            break  # speeds that do vary and do not agree are not overruled by what is foretold from them
        speeds_speak = speeds_speak or (pair.method == "speed" and _varies(pair, step_s, settings))
        width_s = max(peak_width_s(pair.own, step_s), peak_width_s(pair.its, step_s))
        correlation = correlate_all(pair.own, pair.its, step_s, least_s)
        near_mask = _near(correlation.lag_s, expected_s, near_s)
        peak = find_peak(pair.method, correlation, width_s)
        near = find_peak(pair.method, correlation, width_s, near_mask) if near_mask.any() else None
        if both_utc and near is not None:
            at_mask = _near(correlation.lag_s, expected_s, settings.wall_s)
            here = find_peak(pair.method, correlation, width_s, at_mask) if at_mask.any() else None
            opposed = _opposed(near, pair, step_s, settings) or _elsewhere(near, here, settings)
            at_wall.append((near.agreement, opposed))
        chosen, why_not = _chosen(peak, near, expected_s, settings)
        if chosen is not None and (why_not is None or _confirmed(chosen, pair, step_s, least_s, expected_s, settings)):
            accepted.append((chosen, pair))
        elif why_not is not None:
            refused.append(why_not)
    if accepted:
        peak, pair = max(accepted, key=lambda item: item[0].agreement)
        peak = _sharpened(peak, pair, step_s, least_s)
        found = refined(*(pair.sharp or (pair.own, pair.its)), step_s, peak, settings)
        if len(rivals := [item for item in accepted if item[1].source in ("device", "positions")]) == 2:
            found = _held_to_positions(rivals, found, (pair, step_s), settings)
        return _accepted(reference, other, peak, found, expected_s)
    why_not = refused[0] if refused else "they hold nothing that both would show (speed, or power and motion)"
    return _by_wall_clock(reference, other, expected_s, at_wall, why_not, settings)


def _held_to_positions(
    rivals: list[tuple[Peak, Pair]], found: Refined, chosen: tuple[Pair, float], settings: ClockSettings
) -> Refined:
    """The fit as found, or that by the positions where the device's own speed is apart from them by more than chance.

    Devices smooth their speed, and then show it late; the positions are what is joined. As they may be late too, the
    truth is taken to lie anywhere within half of the difference either way.
    """
    pair, step_s = chosen
    fits = {
        str(one.source): found if one is pair else refined(one.own, one.its, step_s, peak, settings)
        for peak, one in rivals
    }
    device, positions = fits["device"], fits["positions"]
    apart_s = abs(device.lag_s - positions.lag_s)
    if apart_s <= 2 * math.hypot(device.lag_u_s, positions.lag_u_s):
        return found
    return replace(positions, lag_u_s=math.hypot(positions.lag_u_s, apart_s / math.sqrt(12)))


def _confirmed(
    peak: Peak, pair: Pair, step_s: float, least_s: float, expected_s: np.ndarray, settings: ClockSettings
) -> bool:
    """Whether the pair's sharp forms, left free to fit anywhere, fit best at the peak too: chance does not do that."""
    if pair.sharp is None or peak.agreement < settings.least_agreement or peak.overlap_s < settings.confirmed_overlap_s:
        return False
    if _contradiction(peak, expected_s, settings):
        return False
    sharp = find_peak(peak.method, correlate_all(*pair.sharp, step_s, least_s), peak.width_s)
    if sharp is None or sharp.agreement < settings.least_agreement:
        return False
    return abs(sharp.lag_s - peak.lag_s) <= settings.confirmed_s


def _sharpened(peak: Peak, pair: Pair, step_s: float, least_s: float, *, reach_s: float = 3.0) -> Peak:
    """The peak at the lag of the pair's sharp forms, where these agree at all near it."""
    if pair.sharp is None:
        return peak
    correlation = correlate_all(*pair.sharp, step_s, least_s)
    near_mask = np.abs(correlation.lag_s - peak.lag_s) <= reach_s
    sharp = find_peak(peak.method, correlation, peak.width_s, near_mask)
    return peak if sharp is None or sharp.agreement < 0.4 else replace(peak, lag_s=sharp.lag_s)


def _least_overlap_s(reference: Recording, other: Recording, settings: ClockSettings) -> float:
    """Time that both must know at a shift: for recordings of a few minutes, half of the shorter."""
    shorter_s = min(reference.duration_s, other.duration_s)
    wanted_s = max(settings.least_overlap_s, settings.least_overlap_ratio * shorter_s)
    return min(wanted_s, 0.5 * shorter_s)


def _near(lag_s: np.ndarray, expected_s: np.ndarray, near_s: float) -> np.ndarray:
    """Mask of shifts that a wall clock allows."""
    mask = np.zeros(len(lag_s), dtype=bool)
    for expected in expected_s:
        mask |= np.abs(lag_s - expected) <= near_s
    return mask


def _chosen(
    peak: Peak | None, near: Peak | None, expected_s: np.ndarray, settings: ClockSettings
) -> tuple[Peak | None, str | None]:
    """The peak to believe, or the best with the reason against it; wall clocks decide between near equals."""
    if near is not None and peak is not None:
        close = abs(near.agreement - peak.agreement) < 0.1 * peak.agreement or near.lag_s == peak.lag_s
        why_not = _refusal(near, settings)
        if close and why_not is None:
            return near, None
    if peak is None:
        return None, None
    return peak, _contradiction(peak, expected_s, settings) or _refusal(peak, settings)


def _contradiction(peak: Peak, expected_s: np.ndarray, settings: ClockSettings) -> str | None:
    """Why a peak is not believed against two UTC clocks; ``None`` where they do not contradict it, or it is strong."""
    if len(expected_s) != 1 or peak.agreement >= settings.contradicted_agreement:
        return None
    apart_s = abs(peak.lag_s - float(expected_s[0]))
    if apart_s <= settings.near_s:
        return None
    return f"they would fit best {apart_s:.0f} s away from what their clocks say, but only at {peak.agreement:.2f}"


def _overlap_s(reference: Recording, other: Recording, lag_s: float) -> float:
    """Time that both recordings cover."""
    return max(0.0, min(reference.duration_s, lag_s + other.duration_s) - max(0.0, lag_s))


def clock_offset_s(reference: Recording, other: Recording, lag_s: float, drift_ppm: float | None) -> float:
    """What the other's clock shows less what the reference's shows, at the reference's first sample [s].

    Where one of the two keeps no wall time, each counts the seconds from its own first sample: the offset of a track
    that begins 12 s after the log is then -12 s.

    Parameters
    ----------
    reference, other : two recordings
    lag_s : where the other's first sample lies, from the reference's first sample [s]
    drift_ppm : how much faster the other's clock runs; none where ``None`` [1e-6]
    """
    apart_s = 0.0
    if reference.start is not None and other.start is not None:
        apart_s = (other.start - reference.start).total_seconds()
    return apart_s - lag_s * (1 + 1e-6 * (drift_ppm or 0.0))


def _accepted(reference: Recording, other: Recording, peak: Peak, found: Refined, expected_s: np.ndarray) -> Verdict:
    join = ClockJoin(
        name=other.name,
        lag_s=found.lag_s,
        offset_s=clock_offset_s(reference, other, found.lag_s, found.drift_ppm),
        drift_ppm=found.drift_ppm,
        method=peak.method,
        agreement=peak.agreement,
        overlap_s=_overlap_s(reference, other, found.lag_s),
        trusted=True,
        offset_u_s=found.lag_u_s,
        drift_u_ppm=found.drift_u_ppm,
    )
    apart_s = float(np.min(np.abs(expected_s - found.lag_s))) if len(expected_s) else 0.0
    return Verdict(join, clocks_disagree_s=apart_s if apart_s > 30.0 else None)


def _by_wall_clock(
    reference: Recording,
    other: Recording,
    expected_s: np.ndarray,
    at_wall: list[tuple[float, bool]],
    why_not: str,
    settings: ClockSettings,
) -> Verdict:
    """Wall clocks alone, where both are UTC, overlap well and the signals do not speak against it."""
    lag_s = float(expected_s[len(expected_s) // 2]) if len(expected_s) else 0.0
    overlap_s = _overlap_s(reference, other, lag_s) if len(expected_s) else 0.0
    agreement = max(at_wall)[0] if at_wall else None
    join = ClockJoin(
        name=other.name,
        lag_s=lag_s,
        offset_s=0.0 if len(expected_s) else None,
        drift_ppm=None,
        method="none",
        agreement=agreement,
        overlap_s=overlap_s,
        trusted=False,
    )
    if len(expected_s) != 1 or not overlap_s or overlap_s < _least_overlap_s(reference, other, settings):
        return Verdict(join, why_not)
    if any(opposed for _, opposed in at_wall):
        return Verdict(join, f"where their clocks put them together they do not agree, and {why_not}")
    own_u_s = settings.wall_s / math.sqrt(3)  # of 291 clocks joined so 2 were off by 3 s, none by more
    return Verdict(replace(join, method="wall clock", trusted=True, offset_u_s=own_u_s), why_not)


def _opposed(near: Peak, pair: Pair, step_s: float, settings: ClockSettings) -> bool:
    """Whether signals that would agree at the wall clock's shift, were they of one ride, do not."""
    if near.overlap_s < settings.drift_overlap_s / 4:
        return False
    if pair.method != "speed":
        return near.agreement < settings.opposed_agreement
    return near.agreement < settings.least_agreement and _varies(pair, step_s, settings)


def _elsewhere(near: Peak, here: Peak | None, settings: ClockSettings) -> bool:
    """Whether signals agree well near the wall clock's shift, but clearly less where it puts them."""
    if near.agreement < settings.least_agreement:
        return False
    return here is None or here.agreement < settings.rival_ratio * near.agreement


def _varies(pair: Pair, step_s: float, settings: ClockSettings) -> bool:
    """Whether both speeds vary by more than their noise."""
    slow = [smoothed(values, round(10.0 / step_s)) for values in (pair.own, pair.its)]
    spreads_mps = [float(np.std(values[np.isfinite(values)])) for values in slow if np.isfinite(values).any()]
    return len(spreads_mps) == 2 and min(spreads_mps) > settings.decisive_spread_mps
