"""What is possible: nothing reaches the battery that the wheel did not give, less what any generator loses on the way.

That is known before a ride is measured, and belongs in the distribution (JCGM 101:2008, 6.4): of a stretch, the trials
in which more came back than its braking can have given are left out, of all its numbers alike. The same trials then
bound what was available from below and what was captured from above.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats
from ridelog.lazy import dataclass
from ridelog.uncertain.coverage import coverage_interval
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import LEAST_WHOLE, Uncertain


@dataclass(frozen=True)
class CaptureSettings:
    """What bounds the captured share, each with its reason.

    Attributes
    ----------
    best_efficiency : no more of the work at the wheel reaches the battery terminals: a bound, not a usual value, by
        judgement. The best motor built into a light wheel, for a solar racing car, loses 2 % at its best point
        (Lovatt, Ramsden, Mecrow 1998, from memory), and a controller 1 %; a bicycle's motor loses more [1]
    least_share : where fewer of the trials are possible, log and road contradict each other and nothing is said [1]

    References
    ----------
    Lovatt, Ramsden, Mecrow, "Design of an in-wheel motor for a solar-powered electric vehicle", IEE Proc. Electr. Power
    Appl. 145 (1998) 402-408 (from memory).
    """

    best_efficiency: float = 0.97
    least_share: float = 0.025


DEFAULT_SETTINGS = CaptureSettings()


@dataclass(frozen=True)
class Possible:
    """Which trials of a stretch are possible.

    ``trials`` : as many numbers of trials as there are trials, those that are not possible replaced by others that
    are; ``None`` where all are taken as they are · ``contradicted`` : hardly any is possible
    """

    trials: NDArray[np.integer] | None = None
    contradicted: bool = False

    def of(self, number: Uncertain) -> Uncertain:
        """A number of the stretch by the possible trials alone."""
        if self.trials is None or len(number.trials) != len(self.trials):
            return number
        return Uncertain(number.value, number.trials.take(self.trials), number.sources)


EVERY = Possible()


def possible(returned: Uncertain, available: Uncertain, *, settings: CaptureSettings = DEFAULT_SETTINGS) -> Possible:
    """The trials in which what came back can have come from what was available.

    Parameters
    ----------
    returned, available : trials of the same errors of the ride in the same order [Wh]
    settings : the best efficiency, and how many trials must be possible

    Returns
    -------
    All of them where either is not known, or none is left to speak of.
    """
    if not returned.known or not available.evaluated or not returned.evaluated:
        return EVERY
    mask = (settings.best_efficiency * available.trials >= returned.trials) & (available.trials > 0)
    if mask.all():
        return EVERY
    good = np.flatnonzero(mask)
    if len(good) < max(settings.least_share * len(mask), 1):
        return Possible(contradicted=True)
    trials: NDArray[np.integer] = np.arange(len(mask), dtype=np.uint16 if len(mask) <= 1 << 16 else np.intp)
    trials[~mask] = np.resize(good, len(mask) - len(good))
    return Possible(trials)


def raised(
    available: Uncertain, returned: Uncertain, among: Possible, *, settings: CaptureSettings = DEFAULT_SETTINGS
) -> Uncertain:
    """What was available, its best value the median of what is possible where it could not have given what came back.

    Parameters
    ----------
    available, returned : of one stretch [Wh]
    among : its possible trials
    settings : the best efficiency

    Returns
    -------
    The number with all of its trials; as it was where nothing is possible.
    """
    least = returned.value / settings.best_efficiency
    if among.trials is None or not available.value < least:
        return available
    middle = float(np.median(among.of(available).trials))
    return Uncertain(max(middle, least), available.trials, available.sources)


def held_to_whole(parts: Sequence[tuple[Uncertain, Uncertain]], whole_wh: float) -> list[Uncertain]:
    """What parts of a ride had available, their best values together no more than the ride's braking had.

    What a part lost by itself is told less well than what the ride lost, and raised or cut off at nothing for that. The
    excess is taken off what the parts had beyond what came back in them, in proportion; where already that is more than
    the ride had, log and road contradict each other, and it is taken off all.

    Parameters
    ----------
    parts : available and returned of each, apart from each other [Wh]
    whole_wh : what the braking of the ride had available, by its best value [Wh]

    Returns
    -------
    What each had available, with the trials as they are; what is not known stays so.
    """
    known = [(available.value, _least_wh(returned)) for available, returned in parts if available.known]
    value_wh = math.fsum(value for value, _ in known)
    least_wh = math.fsum(min(least, value) for value, least in known)
    if value_wh <= whole_wh or not known:
        return [available for available, _ in parts]
    kept = (whole_wh - least_wh) / (value_wh - least_wh) if least_wh < whole_wh else None

    def held(available: Uncertain, returned: Uncertain) -> Uncertain:
        if kept is None:
            return replace(available, value=available.value * whole_wh / value_wh)
        least = min(_least_wh(returned), available.value)
        return replace(available, value=least + kept * (available.value - least))

    return [held(*part) if part[0].known else part[0] for part in parts]


def _least_wh(returned: Uncertain) -> float:
    """So much was available at least, by what came back; nothing where that is not known."""
    return max(returned.value, 0.0) / DEFAULT_SETTINGS.best_efficiency if returned.known else 0.0


def captured_pct(
    returned: Uncertain, available: Uncertain, among: Possible, *, settings: CaptureSettings = DEFAULT_SETTINGS
) -> Quantity | None:
    """100 × returned / available with its interval by the possible trials; ``None`` where nothing was available.

    Parameters
    ----------
    returned, available : of one stretch, `raised` [Wh]
    among : its possible trials
    settings : the best efficiency

    Returns
    -------
    Share with its 95 % interval, within 0 to 100 × ``best_efficiency`` [%].

    References
    ----------
    JCGM 101:2008, 6.4.
    """
    value = captured_value_pct(returned, available, among, settings=settings)
    if value is None or not available.evaluated or not returned.evaluated:
        return None if value is None else Quantity(value)
    shares = captured_trials_pct(returned, available, among, settings=settings)
    low, high = coverage_interval(shares) if len(shares) > 1 else (value, value)
    return Quantity(value, min(low, value), max(high, value))


def captured_value_pct(
    returned: Uncertain, available: Uncertain, among: Possible, *, settings: CaptureSettings = DEFAULT_SETTINGS
) -> float | None:
    """The best value of the share that `captured_pct` tells, without its interval.

    Parameters
    ----------
    returned, available, among, settings : as there

    Returns
    -------
    Within 0 to 100 × ``best_efficiency`` [%]; ``None`` where nothing was available.
    """
    if not returned.known or not available.value > 0 or among.contradicted:
        return None
    most = 100 * settings.best_efficiency
    value = float(100 * returned.value / available.value)
    # what lost samples miss may take what came back below 0
    return min(max(value, 0.0), most) if value <= most * (1 + 1e-9) else None


def captured_trials_pct(
    returned: Uncertain, available: Uncertain, among: Possible, *, settings: CaptureSettings = DEFAULT_SETTINGS
) -> Floats:
    """Trials of the share that `captured_pct` tells.

    Parameters
    ----------
    returned, available : of one stretch, both evaluated [Wh]
    among : its possible trials
    settings : the best efficiency

    Returns
    -------
    Shape (n_trials,), in the order of the possible trials [%].
    """
    part, whole = among.of(returned).trials, among.of(available).trials
    return np.asarray(np.clip(100 * part / np.maximum(whole, LEAST_WHOLE), 0.0, 100 * settings.best_efficiency))
