"""What a ride itself tells of mass, air, rolling and wind: its trials, weighed by what its braking and coasting allow.

Braking: from no event can more have come back than it had available, less what any generator loses. Where trials of
one event by itself would only cut its own interval, mass, drag area or wind that make any well-measured event
impossible are improbable for the whole ride, and for all of its numbers alike. Coasting: with the motor idle and no
brake, a bike loses to air, rolling and the drag of its motor what it loses of speed and height; trials that do not let
it are improbable too.

Coasting tells from both sides where the road lies, and moves best values; braking bounds it from one side, says nothing
of which of the possible is best, and moves intervals only.

The trials are drawn afresh, each as often as it is probable (sampling and importance resampling), so that everything
after goes on with trials that are alike probable.

References
----------
JCGM 101:2008, 6.4. Rubin, "Using the SIR algorithm to simulate posterior distributions", Bayesian Statistics 3 (1988)
395-402.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.braking.available import available_wh, common_terms_wh
from ridelog.analysis.braking.events import Event
from ridelog.analysis.braking.own_errors import own_u_wh
from ridelog.analysis.braking.possible import DEFAULT_SETTINGS as CAPTURE
from ridelog.analysis.road.drag import assumed_drag, drag_of
from ridelog.analysis.road.load_uncertainty import RoadTrials
from ridelog.analysis.scene import Scene
from ridelog.arrays import Floats, Runs, running_integral
from ridelog.lazy import dataclass
from ridelog.settings.bike import Bike
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.special import normal_p
from ridelog.uncertain.trials import combined


@dataclass(frozen=True)
class ToldSettings:
    """How a ride is asked about its road, each with its reason.

    Attributes
    ----------
    n_pool : trials that are weighed, of which as many as usual are then drawn
    least_effective : where fewer of them carry the weight, ride and bike file contradict each other, or the trials are
        too few to tell; the road then stays as the bike file has it. 200 leave 5 beyond either end of an interval
    astray : share of events and coasts of which what is reckoned here does not hold: somebody pedalled or dragged a
        brake, a clock or a height was off (judgement) [1]
    """

    n_pool: int = 20_000
    least_effective: float = 200.0
    astray: float = 0.1


DEFAULT_SETTINGS = ToldSettings()
AT_ONCE = 2  # stretches whose trials stay near the processor together
SURE = 8.0  # standard deviations beyond which a chance is 0 or 1 but for 1e-15
CELLS = 1 << 15  # to either side, of a straight line each: logarithms of chances are within 1e-8


def told_road(
    scene: Scene,
    events: Sequence[Event],
    coasts: Runs,
    pool: RoadTrials,
    *,
    drag_n: tuple[float, float],
    settings: ToldSettings = DEFAULT_SETTINGS,
) -> RoadTrials:
    """The trials of the road after what the ride itself told of them.

    Parameters
    ----------
    scene : of the ride
    events : its braking events
    coasts : first and last sample of each stretch of coasting
    pool : ``n_pool`` trials of the same road as the scene's
    drag_n : lowest and highest drag of the idle motor [N]
    settings : thresholds

    Returns
    -------
    As many trials as the scene has; those of the scene where nothing is told.
    """
    if scene.heights is None:
        return scene.road
    by_events = _by_events(scene, events, pool, settings)
    by_coasts = _by_coasts(scene, coasts, pool, drag_n, settings)
    weigh = by_events + by_coasts
    if float(np.ptp(weigh)) < 1e-6:
        return scene.road
    weight = np.exp(weigh - weigh.max())
    effective = float(weight.sum() ** 2 / (weight**2).sum())
    if effective < settings.least_effective:
        return scene.road
    n = scene.road.n
    reached = np.cumsum(weight) / weight.sum()
    chosen = np.searchsorted(reached, (np.arange(n) + 0.5) / n)  # evenly, so that drawing adds no chance
    stream("told road").shuffle(chosen)
    centres = pool.middle(np.ones(pool.n)), pool.middle(np.exp(by_coasts - by_coasts.max()))
    return replace(pool.only(np.minimum(chosen, pool.n - 1)), seed=scene.road.seed, moved=centres)


def idle_drag_n(scene: Scene, bike: Bike) -> tuple[float, float]:
    """Lowest and highest drag of the idle motor: as the bike file tells it, else as is assumed of its kind [N].

    Where even the kind is not known and nothing came back, the motor may freewheel as well.
    """
    drag = scene.drag or drag_of(bike, returned_something=bool(scene.regen_mask.any()))
    return (drag.low_n, drag.high_n) if drag is not None else (0.0, assumed_drag(bike).high_n)


def _by_events(scene: Scene, events: Sequence[Event], pool: RoadTrials, settings: ToldSettings) -> Floats:
    """Logarithm of how probable each trial is by what came back in the events, shape (n_pool,)."""
    result = np.zeros(pool.n)
    if not events or scene.heights is None:
        return result
    runs = [event.losing for event in events]
    back_wh, back_u_wh = np.array([event.came_back[:2] for event in events]).T
    own_wh = own_u_wh(scene.motion, scene.heights.noise, runs, scene.road)
    offers = np.array([available_wh(scene.force, *run) is not None for run in runs])
    u_wh = np.maximum(np.hypot(CAPTURE.best_efficiency * own_wh, back_u_wh), 1e-9)
    factors, trials = common_terms_wh(scene.motion, runs, pool)
    factors, back = CAPTURE.best_efficiency * factors / u_wh[:, None], (back_wh / u_wh)[:, None]
    for some in _few(np.flatnonzero(offers & (back_wh > 0) & np.isfinite(u_wh))):
        result += _log_chance(combined(factors[some], trials) - back[some], settings.astray).sum(axis=0)
    return result


def _few(runs: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Numbers of runs, few at a time."""
    return [runs[begin : begin + AT_ONCE] for begin in range(0, len(runs), AT_ONCE)]


def _log_chance(left: Floats, astray: float) -> Floats:
    """Logarithms of how probable normal numbers are below ``left``, or whatever they are with ``astray``."""
    here, rise = _lines(astray)
    place = np.clip(left, -SURE, SURE)
    place += SURE
    place *= CELLS / SURE
    cell = place.astype(np.intp)
    place -= cell
    place *= rise.take(cell)
    place += here.take(cell)
    return place


@lru_cache(maxsize=4)
def _lines(astray: float) -> tuple[Floats, Floats]:
    """The logarithm where each cell from ``-SURE`` to ``SURE`` begins, and its rise over the cell."""
    log_p = np.log(astray + (1 - astray) * normal_p(np.linspace(-SURE, SURE, 2 * CELLS + 1)))
    return log_p, np.append(np.diff(log_p), 0.0)


def _by_coasts(
    scene: Scene, coasts: Runs, pool: RoadTrials, drag_n: tuple[float, float], settings: ToldSettings
) -> Floats:
    """Logarithm of how probable each trial is by how the bike coasted, shape (n_pool,)."""
    result = np.zeros(pool.n)
    runs = [run for run in coasts if np.isfinite(scene.force.state_j[list(run)]).all()]
    if not runs or scene.heights is None:
        return result
    rolled_m = running_integral(scene.motion.time_s, scene.motion.speed_mps)
    drag = stream("told drag").uniform(*drag_n, pool.n)
    u_wh = np.maximum(own_u_wh(scene.motion, scene.heights.noise, runs, scene.road), 1e-9)[:, None]
    first, last = np.array(runs).T
    factors, trials = common_terms_wh(scene.motion, runs, pool)
    factors, rolled_per_n = factors / u_wh, (rolled_m[last] - rolled_m[first])[:, None] / 3600 / u_wh
    wide = 6.0  # a coast that was none may be off by this many times as much
    for some in _few(np.arange(len(runs))):
        square = -0.5 * (combined(factors[some], trials) - rolled_per_n[some] * drag) ** 2
        none = np.log(settings.astray / wide) + square / wide**2
        result += (none + np.log1p(np.exp(np.log(1 - settings.astray) + square - none))).sum(axis=0)
    return result
