"""What a rider must know of a ride as a whole: what is missing, what was assumed, what does not fit together."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from ridelog.analysis.electrical.flow import LONGEST_BRIDGE_S
from ridelog.analysis.quality.counters import counters_alone
from ridelog.analysis.quality.findings import quality_findings
from ridelog.analysis.road.rough_heights import height_findings, usual_pace_mps
from ridelog.analysis.scene import Scene
from ridelog.analysis.worth.motor import WHOLE_PCT, contradiction, plausibility
from ridelog.answer.braking import Braking
from ridelog.answer.ride import Charge, Energy
from ridelog.findings import Fact, Finding
from ridelog.recording import Recording, Ride


def motor_findings(
    kind: str | None, scene: Scene, charge: Charge, energy: Energy, *, sign_by_map: bool = False
) -> list[Finding]:
    """What the kind of the motor, and what usually comes back, say of the result.

    Parameters
    ----------
    kind : of the motor, from the bike file
    scene, charge, energy : of the ride
    sign_by_map : the sign of the current is that of a column map

    Returns
    -------
    One finding at most.
    """
    height = scene.motion.height_m[np.isfinite(scene.motion.height_m)]
    drop_m = float(height[0] - height[-1]) if len(height) else None
    returned, unit = (energy.returned_wh, "Wh") if energy.returned_wh is not None else (charge.returned_ah, "Ah")
    against = contradiction(kind, returned, unit, regen_seen=bool(scene.regen_mask.any()))
    shares = [share for share in (energy.recovered_pct, charge.recovered_pct) if share is not None]
    beyond = [share for share in shares if share.value > WHOLE_PCT]
    return against or plausibility(next(iter(beyond or shares), None), drop_m, sign_by_map=sign_by_map)


def sign_is_of_map(recording: Recording | None) -> bool:
    """Whether a column map states the sign of the current or power."""
    return any(reading.sign_basis == "map" for reading in (recording.columns if recording is not None else ()))


def log_findings(ride: Ride, scene: Scene, braking: Braking, series: pd.DataFrame) -> list[Finding]:
    """Verdicts on the electrical log, where it holds battery current.

    Parameters
    ----------
    ride, scene, braking : of the ride
    series : the common series with what the analysis added

    Returns
    -------
    In no particular order of gravity.
    """
    if ride.electrical is None or scene.flow.rest is None:
        return []
    rest, standing = scene.flow.rest, scene.flow.standing
    return quality_findings(ride.electrical, rest, standing, braking.events, series, ride.bike.sensor)


def _column_of_the_flow(recordings: Sequence[Recording]) -> dict[str, Fact]:
    """The column of battery current or power that holds most, where there is one: it holds too little to be used."""
    found = [
        (int(np.isfinite(part.frame[reading.channel]).sum()) if reading.channel in part.frame else 0, part, reading)
        for part in recordings
        for reading in part.columns
        if reading.channel in ("current_a", "power_w")
        or (reading.is_empty and reading.quantity in ("battery current", "battery power"))
    ]
    if not found:
        return {"file": None, "column": None, "n_values": None}
    n_values, part, reading = max(found, key=lambda each: each[0])
    return {"file": part.called, "column": reading.header, "n_values": n_values}


def scene_findings(scene: Scene, recordings: Sequence[Recording] = ()) -> list[Finding]:
    """What is missing of a ride, and what was assumed in its place; the recordings tell an empty column from none."""
    findings: list[Finding] = []
    if scene.flow.assumed:
        findings.append(Finding("sensor-defaults", "note", scene.flow.assumed))
    if scene.flow.charge is None and scene.flow.energy is None:
        findings.append(Finding("no-battery-current", "warning", _column_of_the_flow(recordings)))
        findings += [found for part in recordings for found in counters_alone(part.called, part.frame)]
    elif scene.flow.covered_pct < 99.0:
        facts: dict[str, Fact] = {
            "uncovered_pct": 100 - scene.flow.covered_pct,
            "longest_bridge_s": LONGEST_BRIDGE_S,
            "missing_s": scene.flow.missing_s,
        }
        findings.append(Finding("gaps", "warning", facts))
    if not np.isfinite(scene.motion.speed_mps).any():
        used_for = "braking" if scene.flow.shows_return else "nothing"  # without speed only the current shows braking
        findings.append(Finding("no-speed", "note", {"used_for": used_for}))
    if scene.heights is None:
        findings.append(Finding("no-height", "note", {"used_for": "braking"}))
    if scene.heights is not None:
        pace_mps = usual_pace_mps(scene.motion.speed_mps)
        findings += height_findings(scene.heights.noise, pace_mps, scene.heights.grade_over_m)
    if scene.assumed and np.isfinite(scene.motion.speed_mps).any():
        findings.append(Finding("bike-defaults", "note", {"used_for": "braking", **scene.assumed}))
    return findings
