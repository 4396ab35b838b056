"""A ride's answer: the scene built once, the questions asked of it one after the other, their answers put together."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from ridelog.analysis.basis.provenance import with_provenance
from ridelog.analysis.basis.sources import source_record
from ridelog.analysis.braking.events import (
    Event,
    Events,
    braking_record,
    kind_of,
    measured_events,
    offered_anew,
    summed,
)
from ridelog.analysis.braking.hills import cut_findings, descents_share_pct, hill_passes, hill_records
from ridelog.analysis.braking.told import DEFAULT_SETTINGS as TOLD
from ridelog.analysis.braking.told import idle_drag_n, told_road
from ridelog.analysis.coastdown.record import coasts_of
from ridelog.analysis.ledger.record import ledger_record
from ridelog.analysis.open_sign import sign_open, without_shares
from ridelog.analysis.pack.record import pack_record
from ridelog.analysis.remarks import log_findings, motor_findings, scene_findings, sign_is_of_map
from ridelog.analysis.road.load_uncertainty import road_trials
from ridelog.analysis.scene import Scene, scene_of
from ridelog.analysis.share_budget import recovered_budget
from ridelog.analysis.shared_errors import shared_errors
from ridelog.analysis.summary import charge_record, distance_of, energy_record, summary_record
from ridelog.analysis.worth.benefit import dragged_range
from ridelog.analysis.worth.motor import available_by_kind
from ridelog.analysis.worth.record import RideTotals, worth_record
from ridelog.answer.ride import Answer
from ridelog.answer.worth import Worth
from ridelog.arrays import runs_mask
from ridelog.constants import STANDARD_GRAVITY
from ridelog.findings import gravest_first
from ridelog.recording import Ride
from ridelog.uncertain.trials import Uncertain, unevaluated


def measure(ride: Ride, *, min_height_m: float = 5.0, min_grade_pct: float = 2.0) -> Answer:
    """Measure a ride.

    Parameters
    ----------
    ride : from `ridelog.load_ride`
    min_height_m : least height of a hill [m]
    min_grade_pct : least mean grade of a hill [%]

    Returns
    -------
    answer : its ``series`` is the ride's common series with, added, ``smooth_altitude_m`` [m], ``grade_pct`` [%],
        ``braking_force_n`` (what slows the bike beyond air, rolling and grade) [N], ``regen_mask`` and
        ``braking_mask`` (bool), and where there are positions ``east_m`` and ``north_m`` from the first one [m]
    """
    scene, events = told_scene(ride, scene_of(ride))
    series = _with_results(scene)
    distance_m = distance_of(ride, scene)
    whole = summed(scene, events)
    braking = braking_record(scene, events, whole)
    passes, pairs = hill_passes(scene, events, min_height_m=min_height_m, min_grade_pct=min_grade_pct)
    hills, both_ways = hill_records(scene, passes, pairs)
    charge = charge_record(scene.flow)
    energy = energy_record(scene.flow, distance_m, descents_share_pct(scene, passes))
    pack, pack_findings = pack_record(ride.electrical, scene.flow, series, ride.bike)
    ledger, bands, ledger_findings = ledger_record(scene, events, passes)
    budget = recovered_budget(scene.flow, step_s=ride.reference.step_s)
    found = (
        *ride.findings,
        *scene.flow.findings,
        *pack_findings,
        *log_findings(ride, scene, braking, series),
        *ledger_findings,
        *motor_findings(ride.bike.motor.kind, scene, charge, energy, sign_by_map=sign_is_of_map(ride.electrical)),
        *scene_findings(scene, ride.recordings),
        *cut_findings(hills, passes),
    )
    answer = Answer(
        ride=summary_record(ride, scene, distance_m),
        sources=tuple(source_record(*pair) for pair in zip(ride.recordings, ride.joins, strict=True)),
        charge=charge,
        energy=energy,
        braking=braking,
        hills=hills,
        hill_pairs=both_ways,
        pack=pack,
        findings=gravest_first(found),
        ledger=ledger,
        speed_bands=bands,
        budget=(budget,) if budget is not None else (),
        worth=_worth(ride, scene, events, whole.available_wh, distance_m),
        shared_errors=shared_errors(ride, scene, distance_m, events, whole, passes),
        series=series,
    )
    if sign_open(found):
        answer = without_shares(answer)
    return with_provenance(answer, ride, min_height_m=min_height_m, min_grade_pct=min_grade_pct)


def told_scene(ride: Ride, scene: Scene) -> tuple[Scene, Events]:
    """The scene with what the ride itself tells of mass, air, rolling and wind, and its braking events by that."""
    events = measured_events(scene)
    if scene.heights is None:
        return scene, events
    pool = road_trials(scene.load, ride.bike, speed_source=ride.speed_source, n_trials=TOLD.n_pool, seed="road pool")
    road = told_road(scene, events, coasts_of(scene, ride.bike), pool, drag_n=idle_drag_n(scene, ride.bike))
    if road is scene.road:
        return scene, events
    scene = replace(scene, road=road)
    return scene, offered_anew(scene, events)


def _with_results(scene: Scene) -> pd.DataFrame:
    """The common series with what the scene adds to it."""
    series, plane = scene.series, scene.plane
    found = {
        "smooth_altitude_m": scene.motion.height_m,
        "grade_pct": scene.motion.grade_pct,
        "braking_force_n": scene.force.force_n,
        "regen_mask": scene.regen_mask,
        "braking_mask": runs_mask(scene.braking, len(series)),
        **({"east_m": plane.east_m, "north_m": plane.north_m} if plane is not None else {}),
    }
    columns = {str(name): series[name] for name in series}
    return pd.DataFrame({**columns, **found}, index=series.index, copy=False)  # a long log has them but once in memory


def _worth(
    ride: Ride, scene: Scene, events: Sequence[Event], available_wh: Uncertain, distance_m: Uncertain
) -> Worth | None:
    """What regeneration is worth on this ride."""
    braked = scene.regen_mask | runs_mask(scene.braking, len(scene.series))
    way = (scene.time_s, scene.track.distance_m, braked)
    totals = RideTotals(
        flow=scene.flow.total.told,
        distance_m=distance_m,
        dragged=dragged_range(scene.flow, *way, standby_a=ride.bike.sensor.standby_draw_a),
        available_wh=available_wh,
        kinds=available_by_kind((kind_of(scene, event), unevaluated(event.facts.available_wh)) for event in events),
        lower_wh=_lower_wh(scene),
    )
    return worth_record(totals, ride.bike)


def _lower_wh(scene: Scene) -> float | None:
    """Energy of the height by which a ride ends lower than it begins; ``None`` without heights [Wh]."""
    height_m = scene.motion.height_m[np.isfinite(scene.motion.height_m)]
    if not len(height_m):
        return None
    return scene.load.mass_kg * STANDARD_GRAVITY * float(height_m[0] - height_m[-1]) / 3600
