"""What the log shows while nothing happens: the current at rest, its noise, and the log's smallest step."""

import itertools
import math

import numpy as np

from ridelog.arrays import Floats, Mask, Runs, mask_runs, robust_scale
from ridelog.lazy import dataclass

# A larger standard deviation is no rest: of any sensor, and in units of the noise in the quietest tenth of the ride.
_LARGEST_SPREAD_A, _UNSTEADY_RATIO = 0.3, 2.5
IDLE_DRIFT_A = 0.05  # what the electronics' draw may change by itself: less is steady, and of one level
QUIET_MARGIN_S = 0.6  # at either end of a quiet stretch: the current still comes from or goes to somewhere else


@dataclass(frozen=True)
class Rest:
    """The current sensor at rest.

    Attributes
    ----------
    mean_a : mean reading while the bike stands and nothing but the standby draw flows; ``None`` without such a time [A]
    n : samples at rest
    duration_s : how long that was [s]
    noise_a : standard deviation of the sensor's noise, quantisation included [A]
    resolution_a : smallest step between readings; 0 where they are finer than the noise [A]
    standing_a : median reading of the standing bike where a load keeps it from resting; otherwise ``None`` [A]
    standing : the bike stood there; otherwise the current lay steady and nowhere nearer to zero
    """

    mean_a: float | None
    n: int
    duration_s: float
    noise_a: float
    resolution_a: float
    standing_a: float | None = None
    standing: bool = True


def standing_mask(time_s: Floats, speed_mps: Floats, *, still_mps: float = 0.15, shortest_s: float = 2.0) -> Mask:
    """True while the bike stands for at least ``shortest_s``, its first and last second left out.

    The margins keep the end of a stop and the first push of a start out, however the speed lags.

    Parameters
    ----------
    time_s, speed_mps : shape (n,), a speed that is not known is no standing [s], [m/s]
    still_mps : slower is standing [m/s]
    shortest_s : shorter halts are left out [s]

    Returns
    -------
    Mask, shape (n,).
    """
    with np.errstate(invalid="ignore"):
        still = speed_mps <= still_mps
    return _well_inside(time_s, [run for run in mask_runs(still) if time_s[run[1]] - time_s[run[0]] >= shortest_s])


def idle_mask(
    time_s: Floats,
    current_a: Floats,
    *,
    largest_a: float = 1.0,
    explained_a: float = 1.0,
    drift_a: float = IDLE_DRIFT_A,
    shortest_s: float = 10.0,
) -> Mask:
    """True where the current stays steady for ``shortest_s`` as near to zero as it does anywhere: standing or coasting.

    A motor that helps slowly draws little as well, but more than the electronics alone, and it wavers with the road.
    So no reading is taken for rest that spreads by more than the sensor's noise, or lies farther from zero than others.
    The first and last second are left out, as of a stop.

    Parameters
    ----------
    time_s, current_a : shape (n,) [s], [A]
    largest_a : more is no rest [A]
    explained_a : a level above this is a motor's, where the bike is known to move [A]
    drift_a : what the electronics' draw may change by itself: less is steady, and of one level [A]
    shortest_s : shorter stretches are left out [s]

    Returns
    -------
    Mask, shape (n,).
    """
    mask = np.zeros(len(time_s), dtype=bool)
    noise_a = _quiet_noise(current_a)
    spread_a = min(_LARGEST_SPREAD_A, max(_UNSTEADY_RATIO * noise_a, drift_a))
    found = [
        (first, last, level_a)
        for low, high in mask_runs(np.abs(current_a) <= largest_a)
        for first, last, level_a in _steady(time_s, current_a, (low, high), spread_a, shortest_s)
    ]
    nearest_a = min((abs(level_a) for _, _, level_a in found), default=0.0)
    for first, last, level_a in found:
        if abs(level_a) <= nearest_a + drift_a + noise_a and level_a <= explained_a:
            mask[first : last + 1] = True
    return _well_inside(time_s, mask_runs(mask))


def rests_elsewhere(
    current_a: Floats,
    idle: Mask,
    standing: Mask,
    *,
    fewest: int = 3,
    largest_a: float = 1.0,
    drift_a: float = IDLE_DRIFT_A,
) -> bool:
    """Whether the bike, standing for a moment, reads something else than where its current seemed to rest.

    Regen that holds a bike on a gentle slope may lie as steady and as near to zero as rest does. A halt that is too
    short to tell the level at rest still contradicts such a one.

    Parameters
    ----------
    current_a, idle, standing : shape (n,)
    fewest : samples of standing still that are heard [1]
    largest_a : a standing bike that draws more is under a load, and contradicts nothing [A]
    drift_a : what the electronics' draw may change by itself; three standard uncertainties come to it [A]

    Returns
    -------
    ``False`` where either is not seen.
    """
    resting, still = current_a[idle], current_a[standing]
    if len(still) < fewest or not len(resting) or np.abs(still).max() > largest_a:
        return False
    u_a = float(resting.std()) * math.sqrt(1 / len(resting) + 1 / len(still))
    return abs(float(still.mean()) - float(resting.mean())) > drift_a + 3 * u_a


def _well_inside(time_s: Floats, runs: Runs, *, margin_s: float = 1.0) -> Mask:
    """True in runs less this at either end, but for the ends of the log, shape (n,)."""
    mask = np.zeros(len(time_s), dtype=bool)
    for first, last in runs:
        begin = time_s[first] + (margin_s if first else 0.0)
        end = time_s[last] - (margin_s if last < len(time_s) - 1 else 0.0)
        mask[first : last + 1] = (time_s[first : last + 1] >= begin) & (time_s[first : last + 1] <= end)
    return mask


def _steady(
    time_s: Floats, current_a: Floats, run: tuple[int, int], spread_a: float, shortest_s: float
) -> list[tuple[int, int, float]]:
    """Pieces of a run as long as ``shortest_s`` that are steady: first and last sample, and mean [A]."""
    low, high = run
    part, at_s = current_a[low : high + 1], time_s[low : high + 1]
    sums, squares = (np.concatenate(([0.0], np.cumsum(values))) for values in (part, part**2))
    first = np.arange(len(part))
    last = np.searchsorted(at_s, at_s + shortest_s - 1e-6)
    first, last = first[last < len(part)], last[last < len(part)]
    n = last + 1 - first
    means = (sums[last + 1] - sums[first]) / n
    spreads = np.sqrt(np.maximum((squares[last + 1] - squares[first]) / n - means**2, 0.0))
    kept = spreads <= spread_a
    return list(zip((low + first[kept]).tolist(), (low + last[kept]).tolist(), means[kept].tolist(), strict=True))


def resolution(values: Floats) -> float:
    """The step of the grid that the values lie on; 0 where no grid shows.

    The smallest difference between distinct values is the step, if all values are whole multiples of it within 2 %.
    """
    distinct = np.unique(np.round(values, 6))
    if len(distinct) < 3:
        return 0.0
    step = float(np.diff(distinct).min())
    off = np.abs(distinct / step - np.round(distinct / step))
    return step if step >= 1e-4 and float(off.max()) < 0.02 else 0.0


def find_rest(time_s: Floats, current_a: Floats, standing: Mask, *, largest_a: float = 1.0) -> Rest:
    """Mean and noise of the current at rest; the noise from the quietest parts of the ride where it never rests.

    Parameters
    ----------
    time_s, current_a, standing : shape (n,)
    largest_a : readings beyond this are not the standby draw (a charger, a motor held) [A]

    Returns
    -------
    Without a mean where the bike never rests for ten samples.
    """
    step_s = float(np.median(np.diff(time_s))) if len(time_s) > 1 else 0.0
    grid_a = resolution(current_a)
    at_rest = standing & (np.abs(current_a) <= largest_a)
    least_a = grid_a / np.sqrt(12)
    if at_rest.sum() >= 10:
        middle = float(np.median(current_a[at_rest]))
        spread = robust_scale(current_a[at_rest], centre=middle)
        near = at_rest & (np.abs(current_a - middle) <= max(6 * spread, 3 * grid_a))
        values = current_a[near]
        return Rest(
            float(values.mean()), len(values), float(near.sum() * step_s), max(float(values.std()), least_a), grid_a
        )
    standing_a = float(np.median(current_a[standing])) if standing.sum() >= 10 else None
    return Rest(None, 0, 0.0, max(_quiet_noise(current_a), least_a), grid_a, standing_a)


def cut_off_at_zero(
    values: Floats, at_rest: Mask, *, largest_rest_share: float = 0.05, least_share: float = 0.005, fewest: int = 5
) -> bool:
    """Whether a log without a value below zero cuts off there: it reads exactly 0 while riding, and never at rest.

    A bike at rest draws what its electronics do, and no less does a bike that coasts. Where the log shows that draw at
    rest and exactly 0 elsewhere, more came back than the electronics took, and the log did not show it.

    Parameters
    ----------
    values, at_rest : current or power, and where the bike rests, shape (n,)
    largest_rest_share : of the readings at rest may be 0 before 0 is what rest looks like [1]
    least_share, fewest : of the other readings are exactly 0, by share and by number

    Returns
    -------
    False where nothing is known of rest, or nothing is exactly 0.
    """
    resting, riding = values[at_rest], values[~at_rest]
    if len(resting) < 10 or float((resting == 0).mean()) > largest_rest_share:
        return False
    n_zero = int((riding == 0).sum())
    return n_zero >= max(fewest, least_share * len(riding))


def held_at_zero(time_s: Floats, values: Floats, *, shortest_s: float = 3.0, fewest: int = 3) -> bool:
    """Whether a log without a value below zero stays at exactly 0 for seconds, as one that cuts off there does.

    While a current that is cut off comes back, the log reads 0, without noise and without the electronics' draw. What
    stays so at the beginning or the end of a log may be a battery that is switched off.

    Parameters
    ----------
    time_s, values : current or power, shape (n,) [s]
    shortest_s : a reading that flickers between 0 and its last digit stays at 0 for less [s]
    fewest : samples of such a stay, in a log of few

    Returns
    -------
    True as well for a bike without any draw that its log could show: nothing there tells the two apart.
    """
    step_s = float(np.median(np.diff(time_s))) if len(time_s) > 1 else 0.0
    inside = [(first, last) for first, last in mask_runs(values == 0) if first > 0 and last < len(values) - 1]
    return any(
        last - first + 1 >= fewest and time_s[last] - time_s[first] + step_s >= shortest_s for first, last in inside
    )


def _quiet_noise(current_a: Floats, *, window: int = 25, largest_a: float = 0.5) -> float:
    """Noise from second differences, in the quietest tenth of the ride (they are blind to slow changes).

    More than ``largest_a`` is no noise of a sensor that anybody would log with, but a current that really changes.
    """
    if len(current_a) < 3 * window:
        return 0.0
    bends = (current_a[:-2] - 2 * current_a[1:-1] + current_a[2:]) ** 2 / 6  # variance 6σ² for white noise
    blocks = bends[: len(bends) // window * window].reshape(-1, window).mean(axis=1)
    noise_a = float(np.sqrt(np.quantile(blocks, 0.1)))
    return noise_a if noise_a <= largest_a else 0.0


def quiet_runs(
    time_s: Floats,
    current_a: Floats,
    rest: Rest,
    gap_mask: Mask,
    *,
    n_sigma: float = 4.0,
    chunk_s: float = 2.0,
) -> Runs:
    """Stretches in which the current cannot be told from rest sample by sample, in pieces of about ``chunk_s``.

    There the sign of a single sample says nothing: zero-mean noise of standard deviation σ would count as 0.399 σ
    each way. The mean over a piece still tells the direction. Pieces shorter than half of ``chunk_s`` are left out.

    Parameters
    ----------
    time_s, current_a : shape (n,) [s], [A]
    rest : the current at rest
    gap_mask : steps across which nothing is known, shape (n - 1,)
    n_sigma : a sample further off the reading at rest, in units of the noise, is a current [1]
    chunk_s : length of a piece [s]

    Returns
    -------
    First and last sample of each piece.
    """
    level_a = rest.mean_a if rest.mean_a is not None else 0.0
    width_a = n_sigma * rest.noise_a + rest.resolution_a / 2
    runs: Runs = []
    for first, last in mask_runs(np.abs(current_a - level_a) <= width_a):
        cuts = first + 1 + np.flatnonzero(gap_mask[first:last])
        for low, high in itertools.pairwise([first, *cuts.tolist(), last + 1]):
            runs += _pieces(time_s, *_inside(time_s, low, high - 1), chunk_s)
    return runs


def _inside(time_s: Floats, first: int, last: int) -> tuple[int, int]:
    """The run without a margin at either end, where the current still comes from or goes to somewhere else."""
    low = int(np.searchsorted(time_s, time_s[first] + QUIET_MARGIN_S))
    high = int(np.searchsorted(time_s, time_s[last] - QUIET_MARGIN_S, side="right")) - 1
    return low, high


def false_flow(level: Floats, noise: Floats) -> Floats:
    """Mean of max(−(level + n), 0) for zero-mean normal noise n beyond max(−level, 0): what noise feigns each way.

    σ φ(z) − |level| Φ(−z) with z = |level|/σ; 0.399 σ at level 0.
    """
    z = np.abs(level) / np.maximum(noise, 1e-12)
    beyond = np.array([math.erfc(each) / 2 for each in (z / math.sqrt(2)).tolist()])  # Φ(−z); scipy is slow to load
    feigned: Floats = noise * np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi) - np.abs(level) * beyond
    return feigned


def _pieces(time_s: Floats, first: int, last: int, chunk_s: float) -> Runs:
    """A run cut into equal pieces of about ``chunk_s``; nothing where it is shorter than half of that."""
    length_s = float(time_s[last] - time_s[first]) if last > first else 0.0
    if length_s < chunk_s / 2:
        return []
    n = min(max(1, round(length_s / chunk_s)), last - first + 1)
    bounds = np.linspace(first, last + 1, n + 1).astype(int).tolist()
    return [(low, high - 1) for low, high in itertools.pairwise(bounds)]
