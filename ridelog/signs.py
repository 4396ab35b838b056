"""Which way positive current or power flows, by how the bike moved and by how much flowed each way.

Pure functions on arrays of equal length, NaN where a sample is missing, for importers and for whoever joins their
files. "As read" means with the sign that was read, positive out of the battery.
"""

from collections.abc import Mapping
from typing import Literal

import numpy as np

from ridelog.constants import STANDARD_GRAVITY
from ridelog.findings import Fact
from ridelog.lazy import dataclass

Ways = Literal["as read", "reversed", "unclear"]
# What the sign of a column rests on: the format or the header, the map, other columns, how the bike moved, how much
# flowed each way; or nothing.
SignBasis = Literal["words", "map", "values", "motion", "amounts", "nothing"]

# Nominal road load of a loaded bicycle: only its course matters for a correlation, not its size.
_MASS_KG, _ROLLING_N, _AIR_NS2_M2 = 105.0, 8.5, 0.34
_SHORTEST_BLOCK_S = 3.0  # shorter means of current and effort hold the lag between the two
_HEIGHT_SMOOTHING_S = 15.0
_FEWEST_BLOCKS = 12
_MOST_BLOCKS, _BLOCKS_PER_SAMPLE = 100_000, 4  # a day at one sample a second has less than a third of them
# The strongest currents and powers are drawn; what comes back is held below by controllers and packs (judgement).
STRONG_A, STRONG_W = 12.0, 500.0
# Of the charge one way to that the other; measured and simulated rides that end as high as they begin lie above 3.
_LEAST_RATIO = 2.0
# Of the strongest currents; measured rides of cars reach 1.25 the wrong way, simulated bicycles stay below 0.5.
_LARGEST_PEAK_RATIO = 1.5
# Of a log whose amounts may turn its sign: a stop alone can be all return.
_FEWEST_SAMPLES, _SHORTEST_LOG_S = 30, 60.0


@dataclass(frozen=True)
class SignEvidence:
    """Which way positive current flows, by one kind of evidence, and its facts.

    The facts are those that `ridelog.tell.findings.signs` makes words of; those of one kind have names of their own.
    """

    way: Ways
    facts: Mapping[str, Fact]


def fresh_rows(values: np.ndarray) -> np.ndarray:
    """Rows at which a value is known and is another than the one before: where a device that holds values read anew."""
    known = np.flatnonzero(np.isfinite(values))
    if not len(known):
        return known
    result: np.ndarray = known[np.append(True, values[known][1:] != values[known][:-1])]
    return result


def effort_strength(
    flow: np.ndarray, speed_mps: np.ndarray, time_s: np.ndarray, height_m: np.ndarray | None = None
) -> tuple[float, float]:
    """How a flow agrees with what the motion took: speeding up, climbing, rolling and air.

    Parameters
    ----------
    flow : current or power, in any unit, shape (n,)
    speed_mps, time_s : shape (n,), times increasing [m/s], [s]
    height_m : shape (n,); ``None`` where not known [m]

    Returns
    -------
    The correlation of their means over blocks of at least 3 s, or of twice as long as a speed is held; and that
    correlation over its standard deviation, were the two unrelated. Both 0 where too little is known. Without heights,
    the changes from block to block are compared: a climb is slow beside stops and starts.
    """
    fresh = fresh_rows(speed_mps)
    if len(fresh) < _FEWEST_BLOCKS:
        return 0.0, 0.0
    held_s = float(np.median(np.diff(time_s[fresh])))
    width_s = max(2 * held_s, _SHORTEST_BLOCK_S)
    time_s = _without_wide_gaps(time_s, width_s)
    edges_s = np.arange(time_s[0], time_s[-1] + 1e-9, width_s)
    if len(edges_s) <= _FEWEST_BLOCKS:
        return 0.0, 0.0
    block = np.searchsorted(edges_s, time_s, side="right") - 1
    n_blocks = len(edges_s) - 1
    line_mps = _between_readings(speed_mps, time_s, fresh, 2 * held_s)
    energy_j = 0.5 * _MASS_KG * np.interp(edges_s, time_s, line_mps) ** 2
    if height_m is not None:
        energy_j = energy_j + _MASS_KG * STANDARD_GRAVITY * _smooth_at(edges_s, time_s, height_m)
    pace_mps = _means(block, line_mps, n_blocks)
    known_mask = _means(block, np.where(np.isfinite(speed_mps), 0.0, np.nan), n_blocks) == 0
    need_w = np.diff(energy_j) / width_s + _ROLLING_N * pace_mps + _AIR_NS2_M2 * pace_mps**3
    need_w, flows = np.where(known_mask, need_w, np.nan), _means(block, flow, n_blocks)
    return _correlation(need_w, flows) if height_m is not None else _correlation(np.diff(need_w), np.diff(flows))


def _without_wide_gaps(time_s: np.ndarray, width_s: float) -> np.ndarray:
    """Times of a log with few samples in a long time brought together to three blocks a step, of which one is empty.

    A block without a sample tells nothing, and years of them take gigabytes.
    """
    if (time_s[-1] - time_s[0]) / width_s <= _MOST_BLOCKS + _BLOCKS_PER_SAMPLE * len(time_s):
        return time_s
    return np.concatenate(([0.0], np.cumsum(np.minimum(np.diff(time_s), 3 * width_s))))


def sign_by_effort(
    flow: np.ndarray,
    speed_mps: np.ndarray,
    time_s: np.ndarray,
    height_m: np.ndarray | None = None,
    *,
    what: str = "current",
    least_strength: float = 4.0,
) -> SignEvidence | None:
    """A bicycle that speeds up or climbs draws; one that slows down or descends does not.

    Parameters
    ----------
    flow : current or power, in any unit, shape (n,)
    speed_mps, time_s : shape (n,), times increasing [m/s], [s]
    height_m : shape (n,); ``None`` where not known [m]
    what : what ``flow`` is called
    least_strength : the correlation over its standard deviation that tells the sign; simulated and measured rides
        reach 1.5 the wrong way, where a speed is held for 10 s [1]

    Returns
    -------
    Which way positive flows, with the facts; ``None`` where the log holds too little.
    """
    found = [(*effort_strength(flow, speed_mps, time_s), False)]
    if height_m is not None and np.isfinite(height_m).sum() >= _FEWEST_BLOCKS:
        found.append((*effort_strength(flow, speed_mps, time_s, height_m), True))
    r, strength, with_heights = max(found, key=lambda each: abs(each[1]))
    if strength == 0:
        return None
    both_ways = min(each[1] for each in found) <= -least_strength and max(each[1] for each in found) >= least_strength
    clear = abs(strength) >= least_strength and not both_ways
    facts: dict[str, Fact] = {
        "effort_correlation": r,
        "effort_clear": clear,
        "effort_with_heights": with_heights,
        "correlated": what,
    }
    if not clear:
        return SignEvidence("unclear", facts)
    return SignEvidence("as read" if r > 0 else "reversed", facts)


def sign_by_amounts(flow: np.ndarray, time_s: np.ndarray, *, strong: float = STRONG_A) -> SignEvidence | None:
    """Far more is drawn on a ride than comes back, and the strongest currents are drawn.

    Parameters
    ----------
    flow : current or power, shape (n,)
    time_s : shape (n,), increasing [s]
    strong : what bicycles draw, but do not return, in the flow's unit

    Returns
    -------
    Which way positive flows, with the facts, clear where at most half as much flowed the weaker way, and its strongest
    currents are not stronger than the others by more than half. On most long descents the two contradict each other:
    more comes back, but the strongest currents are still drawn. Without a strong current, or in a log of less than a
    minute, nothing is turned, and what is kept is not sure. ``None`` where nothing flows.
    """
    known_mask = np.isfinite(flow)
    if known_mask.sum() < 2:
        return None
    net, gross = net_and_gross(flow, time_s)
    if gross == 0:
        return None
    out, back = (gross + net) / 2, (gross - net) / 2
    drawn_peak, back_peak = (max(float(np.percentile(way * flow[known_mask], 99.5)), 0.0) for way in (1, -1))
    is_long = known_mask.sum() >= _FEWEST_SAMPLES and time_s[-1] - time_s[0] >= _SHORTEST_LOG_S
    sure = bool(is_long and max(drawn_peak, back_peak) >= strong)
    facts: dict[str, Fact] = {
        "positive_share_pct": 100 * out / gross,
        "positive_peak": drawn_peak,
        "negative_peak": back_peak,
        "sure": sure,
    }
    if out >= _LEAST_RATIO * back and back_peak <= _LARGEST_PEAK_RATIO * drawn_peak:
        return SignEvidence("as read", facts)
    if sure and back >= _LEAST_RATIO * out and drawn_peak <= _LARGEST_PEAK_RATIO * back_peak:
        return SignEvidence("reversed", facts)
    return SignEvidence("unclear", facts)


def net_and_gross(flow: np.ndarray, time_s: np.ndarray) -> tuple[float, float]:
    """Integrals of a flow and of its magnitude, by trapezoids over the samples known, in the flow's unit times s."""
    known_mask = np.isfinite(flow)
    known, steps = flow[known_mask], np.diff(time_s[known_mask])
    middle = (known[1:] + known[:-1]) / 2
    return float(np.sum(middle * steps)), float(np.sum(np.abs(middle) * steps))


def _between_readings(values: np.ndarray, time_s: np.ndarray, fresh: np.ndarray, held_s: float) -> np.ndarray:
    """Straight lines between readings; a value that stands for longer than one is held is one that stays."""
    known = np.isfinite(values)
    last = np.maximum.accumulate(np.where(np.isin(np.arange(len(values)), fresh), np.arange(len(values)), 0))
    anchors = known & ((last == np.arange(len(values))) | (time_s - time_s[last] > held_s))
    result: np.ndarray = np.interp(time_s, time_s[anchors], values[anchors])
    return result


def _smooth_at(edges_s: np.ndarray, time_s: np.ndarray, height_m: np.ndarray) -> np.ndarray:
    """Means of the heights over 15 s around some moments: heights err by more than a few seconds of climbing give."""
    known_mask = np.isfinite(height_m)
    t, h = time_s[known_mask], height_m[known_mask]
    area = np.concatenate(([0.0], np.cumsum((h[1:] + h[:-1]) / 2 * np.diff(t))))
    low, high = (np.clip(edges_s + side * _HEIGHT_SMOOTHING_S / 2, t[0], t[-1]) for side in (-1, 1))
    span = high - low
    with np.errstate(invalid="ignore", divide="ignore"):
        means = (np.interp(high, t, area) - np.interp(low, t, area)) / span
    result: np.ndarray = np.where(span > 0, means, np.interp(edges_s, t, h))
    return result


def _means(block: np.ndarray, values: np.ndarray, n_blocks: int) -> np.ndarray:
    """Means of the values known in each block, NaN in a block without one; shape (n_blocks,)."""
    mask = np.isfinite(values) & (block >= 0) & (block < n_blocks)
    n_each = np.bincount(block[mask], minlength=n_blocks)
    sums = np.bincount(block[mask], values[mask], minlength=n_blocks)
    result: np.ndarray = np.where(n_each > 0, sums / np.maximum(n_each, 1), np.nan)
    return result


def _correlation(one: np.ndarray, other: np.ndarray) -> tuple[float, float]:
    """The correlation of two series, and how many of its standard deviations that is."""
    known_mask = np.isfinite(one) & np.isfinite(other)
    n, a, b = int(known_mask.sum()), one[known_mask], other[known_mask]
    if n < _FEWEST_BLOCKS or a.std() == 0 or b.std() == 0:
        return 0.0, 0.0
    r = float(np.clip(np.corrcoef(a, b)[0, 1], -1.0, 1.0))
    return r, r * float(np.sqrt((n - 2) / max(1 - r * r, 1e-9)))
