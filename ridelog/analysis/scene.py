"""The scene of a ride, built once: how the bike moved, the road, what flowed, and when it was braked.

Every question of the analysis gets this one record. What a ride does not have is ``None`` or all NaN in it.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pandas as pd

from ridelog.analysis.braking.force import BrakingForce, braking_force, find_events, regen_at
from ridelog.analysis.braking.habit import force_u_n, sure_force
from ridelog.analysis.electrical.either_way import either_way
from ridelog.analysis.electrical.flow import ElectricalFlow, cannot_show_return, electrical_flow
from ridelog.analysis.road.drag import Drag, told_drag
from ridelog.analysis.road.height_noise import HeightNoise, Track, height_noise
from ridelog.analysis.road.load import RoadLoad, road_load
from ridelog.analysis.road.load_uncertainty import RoadTrials, road_trials, speed_noise_mps
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.road.plane import Plane, heading_rad, plane_of
from ridelog.analysis.road.profile import Profile, height_profile
from ridelog.analysis.road.rough_heights import grade_smoothing_m, usual_pace_mps
from ridelog.arrays import Floats, Mask, Runs, column, pause_steps, time_gaps
from ridelog.constants import NOMINAL_PACK_V
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass
from ridelog.recording import Recording, Ride

LEAST_FLOWING_A = 0.3  # above the reading at rest: what flowed, in a log that drops the sign


@dataclass(frozen=True)
class Heights:
    """The height profile along the ride, what is wrong with it, and over what stretch grades are sure [m]."""

    profile: Profile
    noise: HeightNoise
    grade_over_m: float


@dataclass(frozen=True)
class Scene:
    """What every question is asked of.

    Attributes
    ----------
    series : the ride's common series
    track : where the bike was, and when, as recorded
    plane : positions on a plane, ``None`` without any
    motion : how it moved, heights smoothed
    heights : ``None`` without any
    load, assumed : the road load with its best values, and which of them the bike file does not give
    road : trials of what is common to the ride
    force : what slowed the bike beyond air, rolling and grade
    flow : what went through the battery terminals
    drag : of the unpowered motor, ``None`` where it is not known
    gap_mask : steps across which nothing is known, shape (n - 1,)
    regen_mask : samples at which current flows into the battery, shape (n,)
    braking : first and last sample of each braking event
    """

    series: pd.DataFrame
    track: Track
    plane: Plane | None
    motion: Motion
    heights: Heights | None
    load: RoadLoad
    assumed: Mapping[str, float]
    road: RoadTrials
    force: BrakingForce
    flow: ElectricalFlow
    drag: Drag | None
    gap_mask: Mask
    regen_mask: Mask
    braking: Runs

    @property
    def time_s(self) -> Floats:
        """Times of the samples, shape (n,) [s]."""
        return self.motion.time_s


def scene_of(ride: Ride) -> Scene:
    """The scene of a ride."""
    series = ride.series
    plane = plane_of(series)
    track = track_of(series, plane)
    heights = heights_of(track)
    motion = _motion(track, heights, plane, height_clock_u_s=_clock_u_s(ride))
    load, assumed = road_load(ride.bike, mean_height_m=float(np.nanmean(motion.height_m)) if heights else None)
    flow = electrical_flow(ride.electrical, sensor=ride.bike.sensor, speed_mps=motion.speed_mps)
    found = with_braking(
        Scene(
            series=series,
            track=track,
            plane=plane,
            motion=motion,
            heights=heights,
            load=load,
            assumed=assumed,
            road=road_trials(load, ride.bike, speed_source=ride.speed_source),
            force=braking_force(motion, load),
            flow=flow,
            drag=told_drag(ride.bike),
            gap_mask=time_gaps(motion.time_s) | pause_steps(motion.time_s, ride.reference.pauses_s),
            regen_mask=_regen_mask(flow, motion.time_s),
            braking=[],
        )
    )
    return replace(found, flow=_with_either_way(found, ride.electrical))


def with_braking(scene: Scene) -> Scene:
    """The scene with its braking events found anew."""
    noise, grade_over_m = (scene.heights.noise, scene.heights.grade_over_m) if scene.heights else (None, 0.0)
    u_n = force_u_n(scene.motion, scene.road, noise, grade_over_m)
    force = sure_force(scene.motion, scene.force, scene.regen_mask, u_n, scene.load.effective_mass_kg)
    found = find_events(scene.motion, force, scene.regen_mask, scene.gap_mask, scene.load)
    return replace(scene, braking=found)


def _with_either_way(scene: Scene, electrical: Recording | None) -> ElectricalFlow:
    """The flow with what may have gone either way, where the log drops the sign and something flowed while braked.

    A log of which all is below zero drops it too where as much flowed while braked: it shows no return then.
    """
    flow = scene.flow
    model = flow.energy if flow.energy is not None else flow.charge
    if model is None or electrical is None or (flow.shows_return and not flow.drawn_sign_only):
        return flow
    power_w = flow.power_w if flow.power_w is not None else np.asarray(flow.current_a) * NOMINAL_PACK_V
    known = np.isfinite(power_w)
    if not known.any():
        return flow
    level_a, noise_a = (flow.rest.mean_a or 0.0, flow.rest.noise_a) if flow.rest is not None else (0.0, 0.0)
    power_w = np.interp(scene.time_s, flow.time_s[known], power_w[known])
    found = either_way(
        scene.time_s, scene.motion.speed_mps, power_w, scene.braking,
        force_n=scene.force.force_n if scene.force.height_known else None,
        least_w=(level_a + max(4 * noise_a, LEAST_FLOWING_A)) * NOMINAL_PACK_V,
    )  # fmt: skip
    if found is None:
        return flow
    if flow.shows_return:
        signed = flow.current_a if flow.current_a is not None else np.asarray(flow.power_w)
        others = tuple(each for each in flow.findings if each.code != "nothing-returned")
        flow = replace(flow, shows_return=False, findings=(*others, cannot_show_return(electrical, signed)))
    unit = "wh" if flow.energy is not None else "ah"
    facts: dict[str, Fact] = {
        "file": next((each.facts.get("file") for each in flow.findings if each.code == "cannot-show-return"), None),
        "flowed_wh": None, "flowed_ah": None, "bounded": found.bounded,
    }  # fmt: skip
    facts[f"flowed_{unit}"] = found.flowed(model, float(flow.time_s[0]), float(flow.time_s[-1]))
    told = Finding("flow-while-braked", "warning", facts)
    return replace(flow, either_way=found, findings=(*flow.findings, told))


def track_of(series: pd.DataFrame, plane: Plane | None) -> Track:
    """Where the bike was, and when, from a ride's common series."""
    return Track(
        column(series, "elapsed_s"),
        column(series, "distance_m"),
        column(series, "altitude_m"),
        column(series, "speed_mps"),
        *((plane.east_m, plane.north_m) if plane is not None else ()),
    )


def heights_of(track: Track) -> Heights | None:
    """The heights along a track; ``None`` where too few are known."""
    profile = height_profile(track.distance_m, track.altitude_m)
    if profile is None:
        return None
    noise = height_noise(profile, track)
    return Heights(profile, noise, grade_smoothing_m(noise, usual_pace_mps(track.speed_mps)))


def grade_over_pct(track: Track, heights: Heights, smoothing_m: float) -> Floats:
    """Grade along the ride from heights smoothed over ``smoothing_m``, or over the profile's own, shape (n,) [%].

    Parameters
    ----------
    track : where the bike was
    heights : along it
    smoothing_m : kernel of the heights [m]

    Returns
    -------
    Grade at the samples, shape (n,) [%].
    """
    longer = height_profile(track.distance_m, track.altitude_m, smoothing_m=smoothing_m)
    return (longer or heights.profile).grade_at(track.distance_m)


def _motion(track: Track, heights: Heights | None, plane: Plane | None, *, height_clock_u_s: float) -> Motion:
    nothing = np.full(len(track.time_s), np.nan)
    return Motion(
        time_s=track.time_s,
        speed_mps=track.speed_mps,
        height_m=heights.profile.height_at(track.distance_m) if heights else nothing,
        grade_pct=grade_over_pct(track, heights, heights.grade_over_m) if heights else nothing,
        heading_rad=heading_rad(plane.east_m, plane.north_m) if plane is not None else None,
        height_clock_u_s=height_clock_u_s,
        speed_u_mps=speed_noise_mps(track.speed_mps),
    )


def _clock_u_s(ride: Ride) -> float:
    """Standard uncertainty of the clock that heights come with: that of the least sure join [s]."""
    return max((join.offset_u_s or 0.0 for join in ride.joins if join.trusted), default=0.0)


def _regen_mask(flow: ElectricalFlow, time_s: Floats) -> Mask:
    """Regen on the common series' samples; from current, or from power at a nominal voltage where there is none."""
    current = flow.current_a
    if current is None and flow.power_w is not None:
        current = flow.power_w / NOMINAL_PACK_V
    return np.zeros(len(time_s), dtype=bool) if current is None else regen_at(time_s, flow.time_s, current)
