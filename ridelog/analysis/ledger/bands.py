"""At which speeds regeneration fades, and where it saturates: braking cut by speed, and the limit that it meets."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ridelog.analysis.braking.available import available_trials, moved_parts_wh
from ridelog.analysis.braking.events import Event, best_wh
from ridelog.analysis.braking.force import regen_runs
from ridelog.analysis.braking.own_errors import ERRORS
from ridelog.analysis.braking.possible import Possible, captured_pct, held_to_whole, possible, raised
from ridelog.analysis.electrical.flow import ElectricalFlow
from ridelog.analysis.scene import Scene
from ridelog.answer.ledger import ReturnLimit, SpeedBand
from ridelog.arrays import Floats, Mask, Runs, mask_runs, time_gaps
from ridelog.lazy import dataclass
from ridelog.uncertain.trials import UNKNOWN, Uncertain, exact, known_quantity

PIECES_ERRORS = tuple(name for name in ERRORS if name != "bounds")
EDGES_KMH = (10.0, 20.0, 30.0)  # below the first a motor's back voltage is small; above the last air takes most


def speed_bands(
    scene: Scene, events: Sequence[Event], *, edges_kmh: Sequence[float] = EDGES_KMH
) -> tuple[SpeedBand, ...]:
    """What the braking events had available, returned and missed by the speed at which they did.

    Parameters
    ----------
    scene : of the ride, with heights
    events : its braking events
    edges_kmh : increasing speeds that part the bands; a step of the log counts by its mean speed [km/h]

    Returns
    -------
    A band between any two edges, below the first and above the last, in which the bike braked

    Raises
    ------
    ValueError : edges that do not increase
    """
    if not (np.diff([0.0, *edges_kmh]) > 0).all():
        raise ValueError(f"edges of speed bands increase from above 0, not {list(edges_kmh)} km/h")
    speed = scene.motion.speed_mps
    between_kmh = np.round(1.8 * (speed[1:] + speed[:-1]), 6)  # a log steps by 0.1 km/h: no rounding decides the band
    band_of = np.searchsorted(edges_kmh, between_kmh, side="right")
    bands: list[_Band] = []
    for index, low_kmh in enumerate((0.0, *edges_kmh)):
        high_kmh = edges_kmh[index] if index < len(edges_kmh) else None
        inside = (band_of == index) & np.isfinite(speed[1:] + speed[:-1])
        stretches = mask_runs(inside)
        pieces = [
            _Pieces(_pieces(event.losing, stretches), _pieces(event.counted, stretches), event.facts.offers)
            for event in events
        ]
        if any(piece.counted for piece in pieces):
            bands.append(_band(scene, pieces, (low_kmh, high_kmh)))
    whole_wh = best_wh(events)
    held = held_to_whole([(band.available, band.of_known) for band in bands], whole_wh)
    return tuple(_record(replace(band, available=wh)) for band, wh in zip(bands, held, strict=True))


def _pieces(run: tuple[int, int], stretches: Runs) -> Runs:
    """The parts of a run whose steps lie in stretches, in order, by the first and last step of each."""
    first, last = run
    some = stretches[bisect_left(stretches, first, key=lambda steps: steps[1]) : bisect_left(stretches, (last,))]
    return [(max(first, start), min(last, end + 1)) for start, end in some]


@dataclass(frozen=True)
class _Pieces:
    """The parts of one braking event in a band, see `Event`, and whether it is known what the event had available."""

    losing: Runs
    counted: Runs
    known: bool


@dataclass(frozen=True)
class _Band:
    """What is known of a band; ``of_known`` is what came back of the events whose available energy is known [Wh]."""

    bounds_kmh: tuple[float, float | None]
    time_s: float
    returned: Uncertain
    of_known: Uncertain
    available: Uncertain

    @property
    def possible(self) -> Possible:
        """The trials in which what came back can have come from what was available."""
        return possible(self.of_known, self.available)


def _band(scene: Scene, pieces: Sequence[_Pieces], bounds_kmh: tuple[float, float | None]) -> _Band:
    """What came back and what was available in a band, the latter no less than what came back tells."""
    braked = [each for each in pieces if each.counted]
    known = [each for each in braked if each.known]
    available = _available(scene, [run for each in known for run in each.losing]) if known else UNKNOWN
    returned = of_known = _returned(scene, [run for each in braked for run in each.counted])
    if len(known) < len(braked):
        of_known = _returned(scene, [run for each in known for run in each.counted])
    time_s = sum(float(scene.time_s[last] - scene.time_s[first]) for each in braked for first, last in each.counted)
    return _Band(bounds_kmh, time_s, returned, of_known, raised(available, of_known, possible(of_known, available)))


def _record(band: _Band) -> SpeedBand:
    """The record of a band; captured and missed are of the events of which it is known what was available."""
    among = band.possible
    return SpeedBand(
        *band.bounds_kmh,
        band.time_s,
        among.of(band.available).quantity(least=0.0),
        band.returned.quantity(least=0.0),
        among.of(band.available - band.of_known).quantity(),
        captured_pct(band.of_known, band.available, among),
    )


def _returned(scene: Scene, runs: Runs) -> Uncertain:
    """What came back in the runs during which the battery was logged; unknown where the log shows no return [Wh]."""
    return scene.flow.returned_in([(float(scene.time_s[first]), float(scene.time_s[last])) for first, last in runs])


def _available(scene: Scene, losing: Runs) -> Uncertain:
    """What the pieces had available; a bound between two bands is no bound of the braking [Wh]."""
    if not losing or scene.heights is None:
        return exact(0.0)
    state_j = scene.force.state_j
    falls_wh = [float(state_j[first] - state_j[last]) / 3600 for first, last in losing]
    trials = available_trials(
        scene.motion, scene.heights.noise, losing, scene.road, acting=PIECES_ERRORS, together=True
    )[0]
    falls_wh += [-float(np.sum(part)) for part in moved_parts_wh(scene, losing).values()]
    return Uncertain(max(math.fsum(falls_wh), 0.0), trials, frozenset(PIECES_ERRORS))


@dataclass(frozen=True)
class LimitSettings:
    """When a current into the battery is taken for a limit, each with its reason.

    Attributes
    ----------
    least_a : smaller currents are no limit of any drive [A]
    tolerance_ratio : samples this near the level stay at it, or as near as noise and last digit let them [1]
    hold_s, least_n : a run of regen stays at it for so long and so many samples; a peak does not [s]
    least_runs : in fewer runs it may be chance
    least_speed_spread_mps : the speed changes at least by this meanwhile; at a steady speed the current of a hand that
        holds its lever still is steady as well [m/s]
    pile_factor : the level holds this many times the samples of an equally wide band below it
    """

    least_a: float = 1.0
    tolerance_ratio: float = 0.04
    hold_s: float = 0.8
    least_n: int = 3
    least_runs: int = 3
    least_speed_spread_mps: float = 1.0
    pile_factor: float = 2.0


DEFAULT_SETTINGS = LimitSettings()


def return_limit(
    flow: ElectricalFlow, time_s: Floats, speed_mps: Floats, *, settings: LimitSettings = DEFAULT_SETTINGS
) -> ReturnLimit | None:
    """The current into the battery that regeneration reaches time and again and does not exceed; ``None`` without one.

    Parameters
    ----------
    flow : the electrical log
    time_s, speed_mps : of the ride, shape (n,) [s], [m/s]
    settings : thresholds

    Returns
    -------
    The current with its interval, from which speed, how often and for how long it was met.
    """
    if flow.current_a is None or flow.zero is None or flow.charge is None or not flow.shows_return:
        return None
    inward = -(flow.current_a - flow.zero.value_a)
    runs = regen_runs(flow.time_s, flow.current_a, time_gaps(flow.time_s))
    if len(runs) < settings.least_runs:
        return None
    level_a, near = _level(flow, inward, runs, settings)
    if level_a < settings.least_a:
        return None
    staying = [piece for run in runs for piece in _staying(near, run, flow.time_s, settings)]
    n_runs = sum(any(first >= a and last <= b for first, last in staying) for a, b in runs)
    if n_runs < settings.least_runs:
        return None
    at = np.concatenate([np.arange(first, last + 1) for first, last in staying])
    speed = np.interp(flow.time_s[at], time_s, speed_mps)
    if not np.isfinite(speed).any():
        return None  # whether the current stays while the speed changes cannot be told
    slowest, fastest = np.quantile(speed[np.isfinite(speed)], [0.05, 0.95])
    if fastest - slowest < settings.least_speed_spread_mps:
        return None
    common = flow.charge.common
    reading = level_a - flow.zero.value_a  # of the sensor, taken positive inward
    level = Uncertain(level_a, (reading + common.zero_a) / (common.gain * common.charge_gain))
    above = float(slowest) if np.isfinite(speed).any() else None
    staying_s = sum(float(flow.time_s[last] - flow.time_s[first]) for first, last in staying)
    return ReturnLimit(known_quantity(level), above, n_runs, staying_s)


def _level(flow: ElectricalFlow, inward: Floats, runs: Runs, settings: LimitSettings) -> tuple[float, Mask]:
    """The highest level at which the current piles up [A], 0 where it does not, and the samples near it, shape (n,)."""
    regen = np.concatenate([inward[first : last + 1] for first, last in runs])
    noise_a = 3 * flow.rest.noise_a + flow.rest.resolution_a if flow.rest is not None else 0.0
    top = float(np.quantile(regen, 0.98))
    tolerance = max(settings.tolerance_ratio * top, noise_a)
    level = float(np.median(regen[regen > top - 2 * tolerance]))
    near = np.abs(inward - level) <= tolerance
    n_near = int((np.abs(regen - level) <= tolerance).sum())
    n_below = int(((regen < level - tolerance) & (regen >= level - 3 * tolerance)).sum())
    n_beyond = int((regen > level + tolerance).sum())
    piled = n_near >= settings.pile_factor * n_below and n_beyond <= 0.05 * n_near
    return (level if piled else 0.0), near


def _staying(near: Mask, run: tuple[int, int], time_s: Floats, settings: LimitSettings) -> Runs:
    """The stretches of a run of regen that stay near the level long enough."""
    first, last = run
    pieces = [(first + a, first + b) for a, b in mask_runs(near[first : last + 1])]
    return [(a, b) for a, b in pieces if time_s[b] - time_s[a] >= settings.hold_s and b - a + 1 >= settings.least_n]
