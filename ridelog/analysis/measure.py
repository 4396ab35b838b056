"""A ride's answer: the questions asked one after the other, and their answers put together."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ridelog.analysis.braking.events import Roadside, braking_record, find_events
from ridelog.analysis.braking.force import Offered, offered, regen_runs
from ridelog.analysis.braking.hills import Ground, cut_findings, hill_records
from ridelog.analysis.electrical.flow import LONGEST_BRIDGE_S, ElectricalFlow, electrical_flow
from ridelog.analysis.electrical.flow_model import Draws, coverage, share
from ridelog.analysis.electrical.share_budget import recovered_budget
from ridelog.analysis.ledger.entries import Basis
from ridelog.analysis.ledger.record import ledger_record
from ridelog.analysis.pack.record import pack_record
from ridelog.analysis.provenance import with_provenance
from ridelog.analysis.quality.findings import quality_findings
from ridelog.analysis.road.drag import told_drag
from ridelog.analysis.road.height_uncertainty import (
    HeightNoise,
    Passage,
    ascent_q,
    clock_drift_q,
    clock_offset_q,
    distance_q,
    height_noise,
    position_lengthening_m,
)
from ridelog.analysis.road.load import RoadLoad, road_load
from ridelog.analysis.road.load_uncertainty import Course, heading_rad, road_draws
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.road.profile import Profile, find_slopes, height_profile, same_hill_pairs
from ridelog.analysis.road.rough_heights import grade_smoothing_m, height_findings, usual_pace_mps
from ridelog.analysis.worth.benefit import dragged_range, km_draws
from ridelog.analysis.worth.motor import contradiction, plausibility
from ridelog.analysis.worth.record import LEAST_DISTANCE_M, Ridden, worth_record
from ridelog.answer.braking import Braking
from ridelog.answer.hills import Hill, HillPair
from ridelog.answer.ledger import Ledger, SpeedBand
from ridelog.answer.ride import Answer, Charge, Energy, RideSummary, Source
from ridelog.answer.worth import Worth
from ridelog.arrays import Floats, Mask, Runs, pause_steps, runs_mask, time_gaps
from ridelog.findings import Fact, Finding, gravest_first
from ridelog.recording import ClockJoin, Recording, Ride
from ridelog.uncertain.quantity import Quantity

MOVING_MPS = 0.5


@dataclass(frozen=True)
class _Parts:
    """What the analysis of one ride passes from question to question."""

    series: pd.DataFrame
    flow: ElectricalFlow
    motion: Motion
    offer: Offered
    profile: Profile | None
    noise: HeightNoise | None
    grade_over_m: float
    load: RoadLoad
    assumed: Mapping[str, float]
    gap_mask: Mask
    regen_mask: Mask
    braking: Runs


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
    parts = _analyse(ride)
    clock_u_s = max((join.offset_u_s or 0.0 for join in ride.joins if join.trusted), default=0.0)
    roadside = _roadside(ride, parts, clock_u_s)
    hills, pairs, cut = _hills(parts, roadside, (min_height_m, min_grade_pct))
    braking = braking_record(parts.braking, roadside, parts.flow)
    summary = _summary(ride, parts)
    charge, energy = _totals(parts.flow, summary.distance_m)
    series = _with_results(parts)
    budget = recovered_budget(parts.flow, step_s=ride.reference.step_s)
    pack, treated = pack_record(ride.electrical, parts.flow, series, ride.bike)
    ledger, bands, energy_findings = _ledger(ride, parts, roadside, hills)
    found = (
        *_log_findings(ride, parts, braking, series),
        *energy_findings,
        *_motor_findings(ride, parts, charge, energy),
        *_findings(parts),
        *cut,
    )
    answer = Answer(
        ride=summary,
        sources=tuple(_source(*pair) for pair in zip(ride.recordings, ride.joins, strict=True)),
        charge=charge,
        energy=energy,
        braking=braking,
        hills=hills,
        hill_pairs=pairs,
        pack=pack,
        findings=gravest_first((*ride.findings, *parts.flow.findings, *treated, *found)),
        ledger=ledger,
        speed_bands=bands,
        budget=(budget,) if budget is not None else (),
        worth=_worth(ride, parts, braking, summary.distance_m),
        series=series,
    )
    return with_provenance(answer, ride, min_height_m=min_height_m, min_grade_pct=min_grade_pct)


def _analyse(ride: Ride) -> _Parts:
    series = ride.series
    speed = _column(series, "speed_mps")
    flow = electrical_flow(ride.electrical, sensor=ride.bike.sensor, speed_mps=speed)
    time_s = series["elapsed_s"].to_numpy(dtype=float)
    distance, altitude = _column(series, "distance_m"), _column(series, "altitude_m")
    profile = height_profile(distance, altitude)
    height = profile.height_at(distance) if profile else np.full(len(time_s), np.nan)
    noise = height_noise(profile, _passage(series)) if profile else None
    grade_over_m = grade_smoothing_m(noise, usual_pace_mps(speed)) if noise else 0.0
    grade = _grade(series, profile, grade_over_m) if profile else np.full(len(time_s), np.nan)
    motion = Motion(time_s, speed, height, grade)
    load, assumed = road_load(ride.bike, mean_height_m=float(np.nanmean(height)) if profile else None)
    offer = offered(motion, load)
    gap_mask = time_gaps(time_s) | pause_steps(time_s, ride.reference.pauses_s)
    regen_mask = _regen_mask(flow, time_s)
    braking = find_events(motion, offer, regen_mask, gap_mask, load)
    heights = (profile, noise, grade_over_m)
    return _Parts(series, flow, motion, offer, *heights, load, assumed, gap_mask, regen_mask, braking)


def _grade(series: pd.DataFrame, profile: Profile, smoothing_m: float) -> Floats:
    """Grade along the ride, shape (n,), over a longer stretch than the profile's where the heights ask for it [%]."""
    distance, altitude = _column(series, "distance_m"), _column(series, "altitude_m")
    longer = height_profile(distance, altitude, smoothing_m=smoothing_m)
    return (longer or profile).grade_at(distance)


def _column(series: pd.DataFrame, name: str) -> Floats:
    return series[name].to_numpy(dtype=float) if name in series else np.full(len(series), np.nan)


def _regen_mask(flow: ElectricalFlow, time_s: Floats) -> Mask:
    """Regen on the common series' samples; from current, or from power at a nominal 48 V where there is none."""
    if flow.current_a is None and flow.power_w is None:
        return np.zeros(len(time_s), dtype=bool)
    current = flow.current_a if flow.current_a is not None else np.asarray(flow.power_w) / 48.0
    runs = regen_runs(flow.time_s, current, time_gaps(flow.time_s))
    first, last = (np.array([flow.time_s[run[side]] for run in runs]) for side in (0, 1))
    if not len(first):
        return np.zeros(len(time_s), dtype=bool)
    latest = np.searchsorted(first, time_s, side="right") - 1
    mask: Mask = (latest >= 0) & (time_s <= last[np.maximum(latest, 0)])
    return mask


def _roadside(ride: Ride, parts: _Parts, clock_u_s: float) -> Roadside:
    """What braking is evaluated against."""
    if parts.profile is None or parts.noise is None:
        return Roadside(parts.motion, parts.offer, parts.gap_mask, None, None)
    plane, noise = _plane(parts.series), parts.noise
    course = Course(parts.motion, noise, heading_rad(*plane) if plane is not None else None, clock_u_s)
    road = road_draws(parts.load, ride.bike, speed_source=ride.speed_source)
    return Roadside(parts.motion, parts.offer, parts.gap_mask, course, road)


def _passage(series: pd.DataFrame) -> Passage:
    plane = _plane(series)
    return Passage(
        series["elapsed_s"].to_numpy(dtype=float),
        *(_column(series, name) for name in ("distance_m", "altitude_m", "speed_mps")),
        *(plane if plane is not None else ()),
    )


def _hills(
    parts: _Parts, roadside: Roadside, least: tuple[float, float]
) -> tuple[tuple[Hill, ...], tuple[HillPair, ...], list[Finding]]:
    """Hills, those ridden both ways, and which of them go on beyond the known heights."""
    profile, noise = parts.profile, parts.noise
    if profile is None or noise is None:
        return (), (), []
    slopes = find_slopes(profile, min_height_m=least[0], min_grade_pct=least[1], unsure_m=noise.unsure_m)
    distance = _column(parts.series, "distance_m")
    pairs: list[tuple[int, int]] = []
    if (position := _plane(parts.series)) is not None:
        known = np.isfinite(distance) & np.isfinite(position[0])
        on_grid = [np.interp(profile.distance_m, distance[known], axis[known]) for axis in position]
        pairs = same_hill_pairs(slopes, profile, on_grid[0], on_grid[1])
    clock_u_s = roadside.course.clock_u_s if roadside.course is not None else 0.0
    ground = Ground(profile, noise, distance, roadside, parts.braking, clock_u_s)
    hills, both = hill_records(slopes, pairs, ground, parts.flow)
    return hills, both, cut_findings(slopes, hills, ground)


def _plane(series: pd.DataFrame) -> tuple[Floats, Floats] | None:
    """East and north of the first known position, azimuthal equidistant on WGS 84 [m]."""
    if "latitude_deg" not in series or "longitude_deg" not in series:
        return None
    latitude, longitude = _column(series, "latitude_deg"), _column(series, "longitude_deg")
    known = np.isfinite(latitude) & np.isfinite(longitude)
    if not known.any():
        return None
    from pyproj import Proj

    first = int(np.argmax(known))
    plane = Proj(proj="aeqd", lat_0=latitude[first], lon_0=longitude[first], ellps="WGS84")
    east, north = np.full(len(series), np.nan), np.full(len(series), np.nan)
    east[known], north[known] = plane(longitude[known], latitude[known])
    return east, north


def _with_results(parts: _Parts) -> pd.DataFrame:
    plane = _plane(parts.series)
    return parts.series.assign(
        smooth_altitude_m=parts.motion.height_m,
        grade_pct=parts.motion.grade_pct,
        braking_force_n=parts.offer.force_n,
        regen_mask=parts.regen_mask,
        braking_mask=runs_mask(parts.braking, len(parts.series)),
        **({"east_m": plane[0], "north_m": plane[1]} if plane is not None else {}),
    )


def _summary(ride: Ride, parts: _Parts) -> RideSummary:
    distance = _column(parts.series, "distance_m")
    known = distance[np.isfinite(distance)]
    speed = parts.motion.speed_mps
    moving_s = None
    if np.isfinite(speed).any():
        moving = (speed[:-1] > MOVING_MPS) & (speed[1:] > MOVING_MPS) & ~parts.gap_mask
        moving_s = float(np.diff(parts.motion.time_s)[moving].sum())
    climbed: tuple[Quantity | None, Quantity | None] = (None, None)
    if parts.profile is not None and parts.noise is not None:
        climbed = ascent_q(parts.profile, parts.noise)
    start = parts.series.index[0].to_pydatetime() if len(parts.series) else None
    return RideSummary(
        name=ride.name,
        start=start if start is not None and start.year > 1970 else None,
        duration_s=ride.reference.duration_s,
        moving_s=moving_s,
        distance_m=_distance(ride, parts, float(known[-1] - known[0])) if len(known) else None,
        ascent_m=climbed[0],
        descent_m=climbed[1],
    )


def _distance(ride: Ride, parts: _Parts, metres: float) -> Quantity:
    """Distance with its interval; where it comes from positions, their noise lengthens it."""
    by_positions = ride.distance_source == "positions"
    lengthened_m = position_lengthening_m(_passage(parts.series)) if by_positions else 0.0
    return distance_q(metres, ride.distance_source, lengthened_m=lengthened_m)


def _totals(flow: ElectricalFlow, distance_m: Quantity | None) -> tuple[Charge, Energy]:
    total = flow.total()
    energy = Energy(*_split(total.energy, flow.shows_return), None, None)
    if total.energy is not None and flow.shows_return and distance_m and distance_m.value >= LEAST_DISTANCE_M:
        energy = replace(energy, **_on_the_road(total.energy, distance_m))
    return Charge(*_split(total.charge, flow.shows_return)), energy


def _on_the_road(energy: Draws, distance_m: Quantity) -> dict[str, Quantity | None]:
    """Net consumption per km, and the distance that the returned energy bought at that consumption."""
    km, kms = distance_m.value / 1000, km_draws(distance_m, len(energy.drawn))
    net_wh, net_draws = energy.nominal[0] - energy.nominal[1], energy.drawn - energy.returned
    gained = None
    if net_wh > 0:
        gained = share(energy.returned * 10 * kms, net_draws, energy.nominal[1] * 10 * km, net_wh)  # 1000/100 %
    return {"net_wh_per_km": coverage(net_wh / km, net_draws / kms), "distance_gained_m": gained}


def _split(draws: Draws | None, shows_return: bool) -> tuple[Quantity | None, Quantity | None, Quantity | None]:
    """Drawn, returned and recovered share of one flow."""
    if draws is None:
        return None, None, None
    if not shows_return:
        return draws.drawn_q(), None, None
    return draws.drawn_q(), draws.returned_q(), draws.recovered_q()


def _worth(ride: Ride, parts: _Parts, braking: Braking, distance_m: Quantity | None) -> Worth | None:
    """What regeneration is worth on this ride."""
    braked = parts.regen_mask | runs_mask(parts.braking, len(parts.series))
    way = (parts.motion.time_s, _column(parts.series, "distance_m"), braked)
    dragged = dragged_range(parts.flow, *way, standby_a=ride.bike.sensor.standby_draw_a)
    total = parts.flow.total()
    ridden = Ridden(total.charge, total.energy, parts.flow.shows_return, distance_m, dragged, braking)
    return worth_record(ridden, ride.bike)


def _ledger(
    ride: Ride, parts: _Parts, roadside: Roadside, hills: tuple[Hill, ...]
) -> tuple[Ledger | None, tuple[SpeedBand, ...], list[Finding]]:
    """Where the energy went, and braking by speed."""
    rider_w = _column(parts.series, "rider_power_w") if "rider_power_w" in parts.series else None
    return ledger_record(Basis(roadside, parts.flow, parts.braking, told_drag(ride.bike), rider_w), hills)


def _motor_findings(ride: Ride, parts: _Parts, charge: Charge, energy: Energy) -> list[Finding]:
    """What the kind of the motor, and what usually comes back, say of the result."""
    height = parts.motion.height_m[np.isfinite(parts.motion.height_m)]
    drop_m = float(height[0] - height[-1]) if len(height) else None
    returned, unit = (energy.returned_wh, "Wh") if energy.returned_wh is not None else (charge.returned_ah, "Ah")
    against = contradiction(ride.bike.motor.kind, returned, unit, regen_seen=bool(parts.regen_mask.any()))
    return against or plausibility(energy.recovered_pct or charge.recovered_pct, drop_m)


def _source(recording: Recording, join: ClockJoin) -> Source:
    time_s = recording.time_s
    counted = ~(time_gaps(time_s) | pause_steps(time_s, recording.pauses_s))
    covered_s = float(np.diff(time_s)[counted].sum())
    own = Quantity(0.0, 0.0, 0.0)  # the reference against itself
    return Source(
        path=recording.name,
        sha256=recording.sha256,
        format=recording.format,
        role=recording.role,
        start=recording.start if recording.clock == "utc" else None,
        end=recording.end if recording.clock == "utc" else None,
        samples=len(recording.frame),
        step_s=recording.step_s,
        covered_pct=100 * covered_s / recording.duration_s if recording.duration_s else 0.0,
        clock_offset_s=own if join.method == "reference" else clock_offset_q(join),
        clock_drift_ppm=own if join.method == "reference" else clock_drift_q(join),
    )


def _log_findings(ride: Ride, parts: _Parts, braking: Braking, series: pd.DataFrame) -> list[Finding]:
    """Verdicts on the electrical log, where it holds battery current."""
    if ride.electrical is None or parts.flow.rest is None:
        return []
    return quality_findings(
        ride.electrical, parts.flow.rest, parts.flow.standing, braking.events, series, ride.bike.sensor
    )


def _findings(parts: _Parts) -> list[Finding]:
    findings: list[Finding] = []
    if parts.flow.assumed:
        findings.append(Finding("sensor-defaults", "note", parts.flow.assumed))
    if parts.flow.charge is None and parts.flow.energy is None:
        findings.append(Finding("no-battery-current", "warning"))
    elif parts.flow.covered_pct < 99.0:
        facts: dict[str, Fact] = {
            "uncovered_pct": 100 - parts.flow.covered_pct,
            "longest_bridge_s": LONGEST_BRIDGE_S,
            "missing_s": parts.flow.missing_s,
        }
        findings.append(Finding("gaps", "warning", facts))
    if not np.isfinite(parts.motion.speed_mps).any():
        findings.append(Finding("no-speed", "note", {"used_for": "braking"}))
    if parts.profile is None:
        findings.append(Finding("no-height", "note", {"used_for": "braking"}))
    if parts.noise is not None:
        findings += height_findings(parts.noise, usual_pace_mps(parts.motion.speed_mps), parts.grade_over_m)
    if parts.assumed and np.isfinite(parts.motion.speed_mps).any():
        findings.append(Finding("bike-defaults", "note", {"used_for": "braking", **parts.assumed}))
    return findings
