"""Where a ride coasted: no motor, no pedalling, no brake, and a speed that changes as air, rolling and grade let it."""

import itertools

import numpy as np

from ridelog.analysis.electrical.rest import find_rest, resolution, standing_mask
from ridelog.arrays import Floats, Mask, Runs, local_slope, mask_runs
from ridelog.constants import STANDARD_GRAVITY
from ridelog.lazy import dataclass


@dataclass(frozen=True)
class CoastingSettings:
    """What counts as coasting.

    Attributes
    ----------
    least_s : shorter stretches show little but the noise of the speed [s]
    longest_s : longer ones are cut into equal pieces, each with a wind of its own [s]
    edge_s : left out at either end, where motor torque, pedals and averaged readings still come or go [s]
    slowest_mps : below walking pace a rider wavers, and satellites hardly tell the speed [m/s]
    idle_a : a reading may lie this far off the current at rest; 0.15 A of 48 V at 5 m/s push with 1.4 N [A]
    idle_mean_a : and the mean of a stretch this far: 0.6 N [A]
    pedal_rpm, pedal_w, brake_ratio, throttle_ratio : more is pedalling, braking, driving [1/min], [W], [1], [1]
    least_mps2, most_mps2, most_drag_per_m : a coasting bike is slowed, its grade taken off, by between ``least_mps2``
        (what noise of speed and height may feign below nothing) and ``most_mps2 + most_drag_per_m v²`` (Crr 0.035, and
        a CdA of 1.3 m² at 80 kg); beyond, it is driven or braked [m/s²], [1/m]
    window_s : over which a change of speed is taken [s]
    rolls_out_mps2, falls_to_ratio : where no current shows whether the motor brakes; only what slows by at least
        this (Crr 0.003, less than any bike), and a stretch whose speed falls to less than this share, counts then, as
        a bike that is rolled out does [m/s²], [1]
    steady_ratio : where pedals or brakes are not logged, a speed that changes by less than this share may be held by
        them, softly pedalling or dragging a brake downhill, and does not count [1]
    """

    least_s: float = 8.0
    longest_s: float = 60.0
    edge_s: float = 1.0
    slowest_mps: float = 1.4
    idle_a: float = 0.15
    idle_mean_a: float = 0.06
    pedal_rpm: float = 5.0
    pedal_w: float = 5.0
    brake_ratio: float = 0.01
    throttle_ratio: float = 0.03
    least_mps2: float = -0.15
    most_mps2: float = 0.35
    most_drag_per_m: float = 0.010
    window_s: float = 4.0
    rolls_out_mps2: float = 0.03
    falls_to_ratio: float = 0.7
    steady_ratio: float = 0.15


DEFAULT_SETTINGS = CoastingSettings()


@dataclass(frozen=True)
class CoastingSignals:
    """What a ride shows of how it was ridden; arrays of shape (n,), NaN where not known, ``None`` where not logged.

    ``current_a`` : of the battery, positive out of it (or power over a nominal voltage) · ``standby_a`` : what the bike
    file says the electronics draw · ``grade_pct`` : NaN where no height is known, which is then taken for level ·
    ``shows_braking`` : false where the current is cut off at zero, so that it shows a motor that drives, but none that
    brakes
    """

    time_s: Floats
    speed_mps: Floats
    grade_pct: Floats
    current_a: Floats | None = None
    cadence_rpm: Floats | None = None
    rider_power_w: Floats | None = None
    brake_ratio: Floats | None = None
    throttle_ratio: Floats | None = None
    standby_a: float | None = None
    shows_braking: bool = True

    @property
    def motor_seen(self) -> bool:
        """Whether the current shows that the motor neither drives nor brakes."""
        return self.current_a is not None and self.shows_braking

    @property
    def pedals_seen(self) -> bool:
        """Whether anything tells of pedalling."""
        return self.cadence_rpm is not None or self.rider_power_w is not None


def idle_current(signals: CoastingSignals, *, settings: CoastingSettings = DEFAULT_SETTINGS) -> tuple[float, float]:
    """The reading at which the motor neither drives nor brakes, and how far off it single readings may lie [A].

    The mean while the bike stands; else the standby draw of the bike file; else 0.
    """
    current = signals.current_a
    if current is None or not np.isfinite(current).any():
        return 0.0, settings.idle_a
    known = np.isfinite(current)
    standing = standing_mask(signals.time_s[known], signals.speed_mps[known])
    rest = find_rest(signals.time_s[known], current[known], standing)
    level_a = rest.mean_a if rest.mean_a is not None else signals.standby_a or 0.0
    return level_a, max(settings.idle_a, 4 * rest.noise_a + resolution(current[known]) / 2)


def coasting_mask(signals: CoastingSignals, *, settings: CoastingSettings = DEFAULT_SETTINGS) -> Mask:
    """Samples at which nothing but air, rolling, grade and an idle motor acts, as far as the log tells, shape (n,)."""
    speed = signals.speed_mps
    level_a, within_a = idle_current(signals, settings=settings)
    limits = (
        (signals.cadence_rpm, settings.pedal_rpm),
        (signals.rider_power_w, settings.pedal_w),
        (signals.brake_ratio, settings.brake_ratio),
        (signals.throttle_ratio, settings.throttle_ratio),
    )
    uphill = STANDARD_GRAVITY * np.nan_to_num(signals.grade_pct) / 100
    slowing = -local_slope(signals.time_s, speed, window_s=settings.window_s) - uphill
    with np.errstate(invalid="ignore"):
        mask: Mask = np.isfinite(speed) & (speed >= settings.slowest_mps)
        if signals.current_a is not None:
            mask &= np.abs(signals.current_a - level_a) <= within_a
        if not signals.motor_seen:
            mask &= (
                -local_slope(signals.time_s, speed, window_s=2 * settings.window_s) - uphill >= settings.rolls_out_mps2
            )
        for values, limit in limits:
            if values is not None:
                mask &= ~(np.abs(values) > limit)
        mask &= slowing >= settings.least_mps2
        mask &= slowing <= settings.most_mps2 + settings.most_drag_per_m * speed**2
    return mask


def coasting_runs(signals: CoastingSignals, gap_mask: Mask, *, settings: CoastingSettings = DEFAULT_SETTINGS) -> Runs:
    """First and last sample of each stretch of coasting.

    Parameters
    ----------
    signals : the ride
    gap_mask : shape (n - 1,), True for steps that nothing is known of; a stretch ends there
    settings : what counts as coasting

    Returns
    -------
    runs : in signals order, at least ``least_s`` long, without their edges, none longer than ``longest_s``
    """
    level_a, _ = idle_current(signals, settings=settings)
    mask = coasting_mask(signals, settings=settings)
    step_s = float(np.median(np.diff(signals.time_s))) if len(mask) > 1 else 0.0
    edge_s = max(settings.edge_s, step_s)
    runs: Runs = []
    for first, last in mask_runs(mask):
        if signals.time_s[last] - signals.time_s[first] < settings.least_s:
            continue
        cuts = (first + 1 + np.flatnonzero(gap_mask[first:last])).tolist()
        for low, high in zip([first, *cuts], [*cuts, last + 1], strict=True):
            run = _without_edges(signals.time_s, low, high - 1, edge_s)
            if run is None or signals.time_s[run[1]] - signals.time_s[run[0]] < settings.least_s:
                continue
            if _idle(signals, run, level_a, settings) and _smooth(signals, run):
                runs += _pieces(signals.time_s, run, settings.longest_s)
    return runs


def _without_edges(time_s: Floats, first: int, last: int, edge_s: float) -> tuple[int, int] | None:
    low = int(np.searchsorted(time_s, time_s[first] + edge_s - 1e-9))
    high = int(np.searchsorted(time_s, time_s[last] - edge_s + 1e-9, side="right")) - 1
    return (low, high) if high > low + 2 else None


def _idle(signals: CoastingSignals, run: tuple[int, int], level_a: float, settings: CoastingSettings) -> bool:
    """The motor is off on the mean as well, and nothing unseen holds the speed: it falls, or rises, as it likes."""
    inside = slice(run[0], run[1] + 1)
    speed = signals.speed_mps[inside]
    sixth = max(len(speed) // 6, 1)
    ratio = float(speed[-sixth:].mean()) / float(speed[:sixth].mean())
    current = signals.current_a
    if current is not None and abs(float(np.nanmean(current[inside])) - level_a) > settings.idle_mean_a:
        return False
    if not signals.motor_seen:
        return ratio <= settings.falls_to_ratio
    seen = signals.pedals_seen and signals.brake_ratio is not None
    return seen or not 1 - settings.steady_ratio < ratio < 1 + settings.steady_ratio


def _smooth(signals: CoastingSignals, run: tuple[int, int], *, rough_mps: float = 0.25) -> bool:
    """The speed follows a curve of few bends; a touch of the brake or a turn of the pedals does not.

    ``rough_mps`` : spread about that curve which the noise of a satellite's speed does not reach [m/s]
    """
    inside = slice(run[0], run[1] + 1)
    time_s, speed = signals.time_s[inside], signals.speed_mps[inside]
    lasts_s = float(time_s[-1] - time_s[0])
    degree = min(3 + int(lasts_s // 10), 8, len(speed) - 2)
    curve = np.polynomial.Polynomial.fit(time_s, speed, degree)
    return float(np.sqrt(np.mean((speed - curve(time_s)) ** 2))) <= rough_mps


def _pieces(time_s: Floats, run: tuple[int, int], longest_s: float) -> Runs:
    first, last = run
    n = int(np.ceil((time_s[last] - time_s[first]) / longest_s - 1e-9))
    bounds = np.searchsorted(time_s, np.linspace(time_s[first], time_s[last], max(n, 1) + 1)).tolist()
    return [(int(low), int(high)) for low, high in itertools.pairwise(bounds)]
