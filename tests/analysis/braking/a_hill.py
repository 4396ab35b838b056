"""A hill ridden up and down again, for tests of what is measured on it."""

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import cache

import pandas as pd

from ridelog.analysis.braking.events import Events, measured_events
from ridelog.analysis.braking.hills import hill_passes
from ridelog.analysis.braking.passes import HillPass
from ridelog.analysis.scene import Scene, scene_of
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, SensorSection
from ridelog.timeline.ride import join_recordings
from sample_rides.loggers import electrical_log, track_log
from sample_rides.route import Route, Stop, Stretch
from sample_rides.simulation import Scenario, Simulated, simulate

LEAST = {"min_height_m": 5.0, "min_grade_pct": 2.0}
ROAD = Route((Stretch(400.0), Stretch(500.0, grade_pct=5.0), Stretch(300.0)), stops=(Stop(1150.0, 10.0, 1.0),))


def recording(name: str, log: pd.DataFrame, frame: tuple[str, ...]) -> Recording:
    columns = [column for column in log.columns if column != "time_s" and column in frame]
    channels = log.set_index("time_s")[columns]
    return Recording(name, name.ljust(64, "0"), "csv", channels, datetime(2026, 5, 1, 8, tzinfo=UTC), "utc")


@cache
def ridden() -> tuple[Simulated, Scene, Events, Sequence[HillPass], tuple[tuple[int, int], ...]]:
    """A hill of 25 m ridden up, over a level road, and down again; perfect logs."""
    ride = simulate(Scenario(ROAD.there_and_back()))
    log = electrical_log(ride)
    track = track_log(ride, position_error_m=0.3, altitude_error_m=0.1)
    electrical = recording("log.csv", log, ("current_a", "voltage_v", "speed_mps"))
    positions = recording("track.csv", track, ("latitude_deg", "longitude_deg", "altitude_m"))
    scene = scene_of(join_recordings([electrical, positions], Bike(sensor=SensorSection(standby_draw_a=0.06))))
    events = measured_events(scene)
    passes, pairs = hill_passes(scene, events, **LEAST)
    return ride, scene, events, passes, pairs
