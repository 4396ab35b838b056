"""What was ridden, and what flowed over all of it: the totals of a ride."""

import numpy as np

from ridelog.analysis.electrical.flow import ElectricalFlow
from ridelog.analysis.road.distance import position_lengthening_m, ridden_distance, unseen_ends_m
from ridelog.analysis.road.height_uncertainty import ascent_q, drop_q
from ridelog.analysis.scene import Scene
from ridelog.analysis.worth.record import LEAST_DISTANCE_M
from ridelog.answer.ride import Charge, Energy, RideSummary
from ridelog.recording import Ride
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import UNKNOWN, Uncertain

MOVING_MPS = 0.5


def distance_of(ride: Ride, scene: Scene) -> Uncertain:
    """The distance ridden; where it comes from positions, their noise lengthens and bends shorten it [m]."""
    known = scene.track.distance_m[np.isfinite(scene.track.distance_m)]
    if not len(known):
        return UNKNOWN
    along = ride.distance_source == "positions"
    return ridden_distance(
        float(known[-1] - known[0]),
        ride.distance_source,
        lengthened_m=position_lengthening_m(scene.track, fix_step_s=ride.fix_step_s) if along else 0.0,
        shortened_m=ride.distance_shortened_m + (unseen_ends_m(scene.track, ride.fix_step_s) / 2 if along else 0.0),
    )


def summary_record(ride: Ride, scene: Scene, distance_m: Uncertain) -> RideSummary:
    """What was ridden.

    Parameters
    ----------
    ride : as it was joined
    scene : of the ride
    distance_m : ridden [m]

    Returns
    -------
    Record; what is not known is ``None``.
    """
    speed = scene.motion.speed_mps
    moving_s = None
    if np.isfinite(speed).any():
        moving = (speed[:-1] > MOVING_MPS) & (speed[1:] > MOVING_MPS) & ~scene.gap_mask
        moving_s = float(np.diff(scene.time_s)[moving].sum())
    ascent_m = descent_m = lower_m = None
    if scene.heights is not None:
        ascent_m, descent_m = ascent_q(scene.heights.profile, scene.heights.noise)
        there = np.flatnonzero(np.isfinite(scene.motion.height_m))
        lower_m = drop_q(scene.motion, (int(there[0]), int(there[-1])), scene.heights.noise) if len(there) else None
    start = scene.series.index[0].to_pydatetime() if len(scene.series) else None
    return RideSummary(
        name=ride.name,
        start=start if start is not None and start.year > 1970 else None,
        duration_s=ride.reference.duration_s,
        moving_s=moving_s,
        distance_m=distance_m.quantity(),
        ascent_m=ascent_m,
        descent_m=descent_m,
        ends_lower_m=lower_m,
    )


def charge_record(flow: ElectricalFlow) -> Charge:
    """Ampere-hours over the whole ride."""
    charge = flow.total.told.charge
    return Charge(charge.drawn.quantity(), charge.returned.quantity(), charge.recovered_pct.quantity())


def energy_record(flow: ElectricalFlow, distance_m: Uncertain, descents_share_pct: Quantity | None = None) -> Energy:
    """Watt-hours over the whole ride, net per km, and the distance that the returned energy bought at that rate.

    Parameters
    ----------
    flow : of the ride
    distance_m : ridden [m]
    descents_share_pct : of what came back, what did on the hills ridden down [%]

    Returns
    -------
    Record; what is not known is ``None``.
    """
    energy = flow.total.told.energy
    gained_m = UNKNOWN
    if energy.returned.known and distance_m.value >= LEAST_DISTANCE_M:
        gained_m = energy.returned.share_pct(energy.net) * distance_m / 100
    return Energy(
        drawn_wh=energy.drawn.quantity(),
        returned_wh=energy.returned.quantity(),
        recovered_pct=energy.recovered_pct.quantity(),
        net_wh_per_km=net_wh_per_km(flow, distance_m).quantity(),
        distance_gained_m=gained_m.quantity(),
        descents_share_of_returned_pct=descents_share_pct,
    )


def net_wh_per_km(flow: ElectricalFlow, distance_m: Uncertain) -> Uncertain:
    """Drawn less returned for each kilometre; unknown where hardly anything was ridden [Wh/km]."""
    if not flow.net_energy.known or not distance_m.value >= LEAST_DISTANCE_M:
        return UNKNOWN
    return flow.net_energy / (distance_m / 1000)
