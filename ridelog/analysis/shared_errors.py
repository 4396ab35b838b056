"""What a ride's uncertainty has in common with that of other rides: errors of its logger, its bike and its road.

Two rides by one logger share its zero and its gains, two on one bike its mass, drag area and rolling resistance, two
with one wheel the scale of its speed, and two over one road its heights and the wind that was entered for it, as far as
that blows every day. Gusts, air density, sampling and clocks are a ride's own, and so is the scale of a speed that
satellites measured.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from ridelog.analysis.braking.events import Event, Sums
from ridelog.analysis.braking.height_trials import drop_trials
from ridelog.analysis.braking.passes import HillPass
from ridelog.analysis.braking.possible import Possible, captured_trials_pct, captured_value_pct
from ridelog.analysis.electrical.flow import ElectricalFlow
from ridelog.analysis.electrical.sensor import CHARGE_GAIN, GAIN, VOLTAGE_GAIN, ZERO
from ridelog.analysis.road.load_uncertainty import road_trials
from ridelog.analysis.scene import Scene
from ridelog.analysis.summary import net_wh_per_km
from ridelog.answer.shared_errors import HEIGHT, WIND_ALONG_EAST, WIND_ALONG_NORTH, Effects, SharedErrors
from ridelog.arrays import Floats, Runs
from ridelog.constants import STANDARD_GRAVITY
from ridelog.lazy import dataclass
from ridelog.recording import Ride
from ridelog.uncertain.shared import SharedError, shared_effects
from ridelog.uncertain.trials import N_TRIALS, Uncertain

MASS, ROTATING, DRAG_AREA, ROLLING = OF_THE_BIKE = ("mass", "rotating mass", "drag area", "rolling resistance")
SPEED_SCALE = "speed scale"
SCALED_BY_A_WHEEL = ("wheel", "device", "speed")  # whatever speed and distance come from; else from positions

AT_ONCE = 512  # runs whose heights are drawn together, 16 MB

Errors = Mapping[str, SharedError]


@dataclass(frozen=True)
class _OfTheRoad:
    """The errors of bike, wheel and wind on this ride, and those of which it told something by itself."""

    scene: Scene
    errors: Errors
    told: Collection[str]

    def over(self, runs: Runs) -> "_OfTheRoad":
        """With that of the heights, by what it does to some runs together [J]."""
        scene = self.scene
        if scene.heights is None or not runs:
            return self
        drop_m = np.zeros(scene.road.n)
        for start in range(0, len(runs), AT_ONCE):
            some = runs[start : start + AT_ONCE]
            drops_m = drop_trials(scene.motion, scene.heights.noise, some, seed=scene.road.seed, n=scene.road.n)
            drop_m += drops_m.sum(axis=0, dtype=float)
        raised_j = scene.load.mass_kg * STANDARD_GRAVITY * drop_m
        return replace(self, errors={**self.errors, HEIGHT: SharedError.drawn(raised_j)})


def shared_errors(
    ride: Ride,
    scene: Scene,
    distance_m: Uncertain,
    events: Sequence[Event],
    whole: Sums,
    passes: Sequence[HillPass],
) -> SharedErrors:
    """By how much the errors that a ride shares with others move its numbers.

    Parameters
    ----------
    ride : as it was joined
    scene : of the ride
    distance_m : ridden [m]
    events : its braking
    whole : what they had available and returned together
    passes : over its hills

    Returns
    -------
    Signed effects of one standard uncertainty of each error.
    """
    road = _of_the_road(ride, scene)
    braked = [event.losing for event in events if math.isfinite(event.facts.available_wh + event.facts.returned_wh)]
    of_ride = {
        "recovered_pct": _of_recovered(scene.flow),
        "captured_pct": _of_captured(
            scene.flow, road.over(braked), whole.returned_of_known_wh, whole.available_of_logged_wh, whole.possible
        ),
        "net_wh_per_km": _of_net(scene.flow, distance_m, ride.distance_source),
    }
    of_hills = (
        _of_captured(scene.flow, road.over(one.losing), one.energy.returned, one.available_wh, one.possible)
        for one in passes
    )
    return SharedErrors(_known(of_ride), tuple(_known({"captured_pct": effects}) for effects in of_hills))


def _known(effects: Mapping[str, Effects | None]) -> Mapping[str, Effects]:
    return MappingProxyType({name: MappingProxyType(told) for name, told in effects.items() if told is not None})


def _of_the_logger(flow: ElectricalFlow, number: Uncertain) -> dict[str, SharedError]:
    """The errors of the logger that act on a number."""
    model = flow.energy if flow.energy is not None else flow.charge
    if model is None:
        return {}
    common = model.common
    errors = {
        ZERO: common.stated_zero_a,
        GAIN: common.current_gain,
        CHARGE_GAIN: common.charge_gain,
        VOLTAGE_GAIN: common.voltage_gain,
    }
    return {name: SharedError.drawn(trials) for name, trials in errors.items() if name in number.sources}


def _of_the_road(ride: Ride, scene: Scene) -> _OfTheRoad:
    """The errors of bike, wheel and wind, by how well they were known before the ride told anything of them."""
    told = scene.road.moved is not None
    before = road_trials(scene.load, ride.bike, speed_source=ride.speed_source) if told else scene.road
    fields = {MASS: "mass_kg", ROTATING: "rotating_kg", DRAG_AREA: "cda_m2", ROLLING: "crr"}
    fields |= {WIND_ALONG_NORTH: "north_mps", WIND_ALONG_EAST: "east_mps"}
    if ride.speed_source in SCALED_BY_A_WHEEL:
        fields[SPEED_SCALE] = "speed_ratio"
    errors = {
        name: SharedError(getattr(scene.road, field), float(getattr(before, field).std()))
        for name, field in fields.items()
    }
    return _OfTheRoad(scene, errors, tuple(errors) if told else ())


def _of_recovered(flow: ElectricalFlow) -> Effects | None:
    """On the recovered share, by energy where that is known, else by charge."""
    told = flow.total.told
    share = told.energy.recovered_pct if told.energy.recovered_pct.known else told.charge.recovered_pct
    return _effects(share, _of_the_logger(flow, share))


def _of_net(flow: ElectricalFlow, distance_m: Uncertain, source: str | None) -> Effects | None:
    net = net_wh_per_km(flow, distance_m)
    scale = {SPEED_SCALE: distance_m} if source in SCALED_BY_A_WHEEL else {}
    errors = {name: SharedError.drawn(each.trials / each.value) for name, each in scale.items() if each.value > 0}
    return _effects(net, {**_of_the_logger(flow, net), **errors})


def _effects(number: Uncertain, errors: Errors) -> Effects | None:
    if not number.evaluated or len(number.trials) < N_TRIALS:
        return None
    return shared_effects(number.trials, errors)


def _of_captured(
    flow: ElectricalFlow, road: _OfTheRoad, returned: Uncertain, available: Uncertain, among: Possible
) -> Effects | None:
    """On a captured share, by the trials in which it is possible, of the errors as well."""
    value = captured_value_pct(returned, available, among)
    if value is None or not returned.evaluated or not available.evaluated:
        return None
    trials: Floats = captured_trials_pct(returned, available, among)
    errors = {**_of_the_logger(flow, returned), **road.errors}
    if len(trials) < N_TRIALS:
        return None
    if among.trials is None:
        return shared_effects(trials, errors, chosen=road.told)
    picked = np.asarray(among.trials)
    return shared_effects(trials, {name: error.only(picked) for name, error in errors.items()}, chosen=tuple(errors))
