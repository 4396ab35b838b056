"""Scenes made by hand, for tests of single questions: a ride whose heights have no error, or stated ones."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd

from ridelog.analysis.braking.force import braking_force
from ridelog.analysis.electrical.flow import NO_FLOW, ElectricalFlow
from ridelog.analysis.road.drag import Drag
from ridelog.analysis.road.height_noise import HeightNoise, Track
from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.load_uncertainty import road_trials
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.road.profile import Profile
from ridelog.analysis.scene import Heights, Scene, with_braking
from ridelog.arrays import Floats, Runs
from ridelog.settings.bike import Bike


def rolled_m(motion: Motion) -> Floats:
    """Distance along the ride by trapezoids of the speed."""
    speed = motion.speed_mps
    return np.concatenate(([0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(motion.time_s))))


def true_heights(time_s: Floats, distance_m: Floats) -> HeightNoise:
    """Heights without an error."""
    zero = np.zeros_like(distance_m)
    return HeightNoise("barometric", 0.0, math.inf, 300.0, 0.0, 0.0, time_s, distance_m, zero)


def scene_by_hand(  # noqa: PLR0913 - each keyword is one thing about the ride that a test chooses
    motion: Motion,
    load: RoadLoad,
    *,
    flow: ElectricalFlow = NO_FLOW,
    braking: Runs | None = None,
    drag: Drag | None = None,
    rider_w: Floats | None = None,
    bike: Bike | None = None,
) -> Scene:
    """A scene of one motion; its heights have no error, its braking events are found where none are given."""
    distance, n = rolled_m(motion), len(motion.time_s)
    track = Track(motion.time_s, distance, motion.height_m, motion.speed_mps)
    profile = Profile(distance, motion.height_m, motion.grade_pct)
    series = pd.DataFrame({"elapsed_s": motion.time_s})
    if rider_w is not None:
        series["rider_power_w"] = rider_w
    scene = Scene(
        series=series,
        track=track,
        plane=None,
        motion=motion,
        heights=Heights(profile, true_heights(motion.time_s, distance), 0.0),
        load=load,
        assumed={},
        road=road_trials(load, bike or Bike()),
        force=braking_force(motion, load),
        flow=flow,
        drag=drag,
        gap_mask=np.zeros(n - 1, dtype=bool),
        regen_mask=np.zeros(n, dtype=bool),
        braking=[] if braking is None else braking,
    )
    return with_braking(scene) if braking is None else scene


def with_rider(scene: Scene, rider_w: Floats) -> Scene:
    """The scene with another power at the pedals."""
    return replace(scene, series=scene.series.assign(rider_power_w=rider_w))
