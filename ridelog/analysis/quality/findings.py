"""Verdicts on an electrical log: what a rider must know of its current, voltage and speed before believing a number."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from ridelog.analysis.braking.force import DEFAULT_SETTINGS as BRAKING
from ridelog.analysis.electrical.charger import charging_mask
from ridelog.analysis.electrical.rest import Rest
from ridelog.analysis.quality.channels import (
    Pile,
    Samples,
    current_pile,
    sag_is_missing,
    stuck_current,
    stuck_speed,
    stuck_voltage,
)
from ridelog.analysis.quality.counters import counter_findings
from ridelog.analysis.quality.standing import rest_findings, zero_findings
from ridelog.answer.braking import BrakingEvent
from ridelog.arrays import Floats, Mask, Runs, lasting_runs, local_slope, mask_runs, merge_runs, runs_mask, time_gaps
from ridelog.findings import Fact, Finding
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection


def quality_findings(
    recording: Recording,
    rest: Rest,
    standing: Mask,
    events: Sequence[BrakingEvent],
    series: pd.DataFrame,
    sensor: SensorSection | None = None,
) -> list[Finding]:
    """All verdicts on an electrical recording.

    Parameters
    ----------
    recording : holds ``current_a``; otherwise there is nothing to say
    rest : of the current, from `ridelog.analysis.electrical.rest.find_rest`
    standing : at the samples whose current is known, as `ElectricalFlow.standing`, or at all samples
    events : braking events of the ride; their seconds count from the recording's first sample
    series : at the recording's samples; ``speed_mps``, ``grade_pct`` and ``track_speed_mps`` are used where they are
        there
    sensor : what the bike file says of the sensor

    Returns
    -------
    findings : in no particular order of gravity
    """
    frame = recording.frame
    if "current_a" not in frame or not np.isfinite(frame["current_a"].to_numpy()).any():
        return []
    log = samples_of(recording, rest, standing, series)
    known = np.isfinite(frame["current_a"].to_numpy())
    speed, grade = (_column(series, name, known) for name in ("speed_mps", "grade_pct"))
    sensor = sensor or SensorSection()
    charging = charging_mask(log.time_s, log.current_a, log.standing, sensor=sensor)
    unbraked = unbraked_charge_mask(log.time_s, log.current_a, speed, grade, least_a=least_charge_a(rest, sensor))
    out, into = current_pile(log, way="out"), current_pile(log, way="in")
    piles = [pile for pile in (out, into) if pile is not None]
    called = recording.called
    return [
        *rest_findings(called, rest, log.standing, sensor),
        *zero_findings(called, log, rest, sensor),
        *(range_finding(called, pile) for pile in piles),
        *stuck_findings(called, log, piles),
        *step_findings(called, log.time_s, events),
        *counter_findings(called, frame, rest),
        *charging_findings(called, log.time_s, log.current_a, charging),
        *unbraked_findings(called, log.time_s, log.current_a, unbraked),
    ]


def samples_of(recording: Recording, rest: Rest, standing: Mask, series: pd.DataFrame) -> Samples:
    """The log as its verdicts see it: the device's own speed where it has one, and what another device says.

    Parameters
    ----------
    recording : the electrical recording
    rest : the current at rest
    standing : the bike stands, shape (n,) of all samples or of those whose current is known
    series : the common series at the recording's samples

    Returns
    -------
    Samples whose current is known.
    """
    frame = recording.frame
    known = np.isfinite(frame["current_a"].to_numpy())
    own, best, track = (
        _column(part, name, known)
        for part, name in ((frame, "speed_mps"), (series, "speed_mps"), (series, "track_speed_mps"))
    )
    has_own = bool(np.isfinite(own).any())
    other = track if np.isfinite(track).any() else best  # the same as own where there is no other
    return Samples(
        time_s=recording.time_s[known],
        current_a=frame["current_a"].to_numpy(dtype=float)[known],
        voltage_v=_column(frame, "voltage_v", known),
        speed_mps=own if has_own else best,
        other_speed_mps=other if has_own else np.full(len(best), np.nan),
        standing=standing[known] if len(standing) == len(known) else standing,
        resolution_a=rest.resolution_a,
    )


def _column(frame: pd.DataFrame, name: str, known: Mask) -> Floats:
    return frame[name].to_numpy(dtype=float)[known] if name in frame else np.full(int(known.sum()), np.nan)


def range_finding(called: str, pile: Pile) -> Finding:
    """The current piles up at its largest value: a limit of the drive, or the end of what the sensor can read."""
    shown_by = {"range": "noise" if pile.by_noise else "voltage", "limit": "voltage", "open": "nothing"}[pile.verdict]
    facts: dict[str, Fact] = {
        "file": called,
        "current_a": pile.value_a,
        "share_pct": pile.share_pct,
        "verdict": pile.verdict,
        "shown_by": shown_by,
    }
    return Finding("current-saturated", "warning" if pile.verdict == "range" else "note", facts)


def stuck_findings(called: str, log: Samples, piles: Sequence[Pile]) -> list[Finding]:
    """Channels that repeat themselves to the last digit although they must have changed.

    Parameters
    ----------
    called : name of the file
    log : its samples
    piles : currents at the end of a range or at a limit, which repeat themselves for that reason

    Returns
    -------
    One for each channel, and one for a voltage that does not answer the current.
    """
    piled = np.zeros(len(log.time_s), dtype=bool)
    for pile in piles:
        piled |= pile.mask
    found = []
    for channel, values, runs in (
        ("current_a", log.current_a, stuck_current(log, piled)),
        ("voltage_v", log.voltage_v, stuck_voltage(log)),
        ("speed_mps", log.speed_mps, stuck_speed(log)),
    ):
        if runs:
            facts: dict[str, Fact] = {
                "file": called,
                "channel": channel,
                channel: values[runs[0][0]],
                **_lasted(log.time_s, runs),
            }
            found.append(Finding("channel-stuck", "warning", facts, *_span(log.time_s, runs)))
    if sag_is_missing(log):
        found.append(Finding("voltage-without-sag", "warning", {"file": called}))
    return found


def step_findings(
    called: str,
    time_s: Floats,
    events: Sequence[BrakingEvent],
    *,
    enough: float = 5.0,
    too_few: float = 3.0,
    longest_step_s: float = BRAKING.longest_step_s,
) -> list[Finding]:
    """The log's step is too long for the braking events in it.

    Parameters
    ----------
    called : name of the file
    time_s : sample times, shape (n,) [s]
    events : braking events of the ride
    enough : samples that a braking event needs for numbers of its own (a pulse of 5 s read every 2 s is uncertain by
        20 %); fewer in the median event is a note
    too_few : fewer in the median event is a warning: short events are then missed, not only blurred
    longest_step_s : with longer steps what braking had available is not known, however many events were found [s]

    Returns
    -------
    One finding at most.
    """
    if len(time_s) < 2:
        return []
    step_s = float(np.median(np.diff(time_s)))
    if step_s > longest_step_s:
        facts: dict[str, Fact] = {"file": called, "n_events": len(events), "step_s": step_s, "available_known": False}
        return [Finding("step-too-long", "warning", {**facts, "advised_step_s": 1.0})]
    if len(events) < 3:
        return []
    bounds = np.array([(event.start_s, event.end_s) for event in events]).T
    counts = np.searchsorted(time_s, bounds[1] + 1e-6, side="right") - np.searchsorted(time_s, bounds[0] - 1e-6)
    median = float(np.median(counts))
    if median >= enough:
        return []
    lasted_s = float(np.median(bounds[1] - bounds[0]))
    facts = {
        "file": called,
        "n_events": len(events),
        "available_known": True,
        "median_samples": median,
        "step_s": step_s,
        "median_event_s": lasted_s,
        "advised_step_s": _short_step_s(lasted_s / enough),
    }
    return [Finding("step-too-long", "warning" if median < too_few else "note", facts)]


def _short_step_s(seconds: float) -> float:
    """The next shorter usual step [s]."""
    return next((step for step in (1.0, 0.5, 0.2, 0.1) if step <= seconds), 0.1)


def charging_findings(called: str, time_s: Floats, current_a: Floats, charging: Mask) -> list[Finding]:
    """Current into the battery while the bike stands: a charger, not regen.

    Parameters
    ----------
    called : name of the file
    time_s, current_a : shape (n,) [s], [A]
    charging : a charger fills the battery, shape (n,)

    Returns
    -------
    One finding at most.
    """
    runs = mask_runs(charging)
    if not runs:
        return []
    facts = _charged(called, time_s, current_a, charging, runs)
    return [Finding("charging-while-standing", "warning", facts, *_span(time_s, runs))]


def least_charge_a(rest: Rest, sensor: SensorSection) -> float:
    """The least current into the battery that neither a zero error, nor the reading at rest, nor noise explains [A]."""
    return max(0.5, (sensor.current_zero_limit_a or 0.1) + 0.3) + abs(rest.mean_a or 0.0) + 4 * rest.noise_a


def unbraked_charge_mask(
    time_s: Floats,
    current_a: Floats,
    speed_mps: Floats,
    grade_pct: Floats,
    *,
    least_a: float,
    margin_s: float = 5.0,
) -> Mask:
    """Samples at which current flows into the battery though the bike rides on, neither slowing nor descending.

    Parameters
    ----------
    time_s, current_a, speed_mps, grade_pct : shape (n,) [s], [A], [m/s], [%]; where speed or grade is not known,
        nothing is said, for a descent explains everything
    least_a : less into the battery is none, see `least_charge_a` [A]
    margin_s : the same must hold this long before and after, so that clocks a few seconds apart and the blur of speed
        and grade raise no false alarm; spans shorter than two margins are therefore left out [s]

    Returns
    -------
    Mask, shape (n,).

    Notes
    -----
    Not descending is a grade of at least -0.5 %, not slowing an acceleration of at least -0.05 m/s² over 6 s: what
    coasting on such a road loses already.
    """
    step_s = float(np.median(np.diff(time_s))) if len(time_s) > 1 else 1.0
    bridge_s = max(1.0, 1.5 * step_s)
    with np.errstate(invalid="ignore"):
        rides = (speed_mps > 1.5) & (grade_pct >= -0.5)
    into = rides & (current_a < -least_a)
    long = lasting_runs(time_s, into, margin_s, bridge_s)
    if not long:
        return np.zeros(len(time_s), dtype=bool)
    near = np.flatnonzero(_around(time_s, long, 2 * margin_s + 6.0))  # the rest of a long log need not be looked at
    with np.errstate(invalid="ignore"):
        keeps_on = rides[near] & (local_slope(time_s[near], speed_mps[near], window_s=6.0) >= -0.05)
    level = np.zeros(len(time_s), dtype=bool)
    for first, last in mask_runs(keeps_on):
        begin_s, end_s = time_s[near[first]] + margin_s, time_s[near[last]] - margin_s
        level[slice(*np.searchsorted(time_s, [begin_s, end_s]))] = True
    return runs_mask(lasting_runs(time_s, level & into, margin_s, bridge_s), len(time_s)) & into


def _around(time_s: Floats, runs: Runs, margin_s: float) -> Mask:
    """True on the runs and ``margin_s`` before and after them."""
    mask = np.zeros(len(time_s), dtype=bool)
    for first, last in runs:
        begin, end = np.searchsorted(time_s, [time_s[first] - margin_s, time_s[last] + margin_s])
        mask[begin : end + 1] = True
    return mask


def unbraked_findings(
    called: str, time_s: Floats, current_a: Floats, unbraked: Mask, *, least_s: float = 20.0
) -> list[Finding]:
    """Current into the battery without braking, where it lasts for at least ``least_s`` in all.

    Parameters
    ----------
    called : name of the file
    time_s, current_a : shape (n,) [s], [A]
    unbraked : from `unbraked_charge_mask`, shape (n,)
    least_s : less in all may be clocks that are apart [s]

    Returns
    -------
    One finding at most.
    """
    runs = merge_runs(mask_runs(unbraked), time_s, gap_s=2.0)
    if sum(float(time_s[last] - time_s[first]) for first, last in runs) < least_s:
        return []
    facts = _charged(called, time_s, current_a, unbraked, runs)
    return [Finding("charge-without-braking", "warning", facts, *_span(time_s, runs))]


def _charged(called: str, time_s: Floats, current_a: Floats, mask: Mask, runs: Runs) -> dict[str, Fact]:
    """The facts of charge that went in."""
    return {"file": called, "charge_ah": _into_ah(time_s, current_a, mask), **_lasted(time_s, runs)}


def _into_ah(time_s: Floats, current_a: Floats, mask: Mask) -> float:
    """Charge into the battery over the steps whose both ends are in the mask [Ah]."""
    both = mask[1:] & mask[:-1] & ~time_gaps(time_s)
    mean_a = -(current_a[1:] + current_a[:-1]) / 2
    return float((mean_a * np.diff(time_s))[both].sum()) / 3600


def _lasted(time_s: Floats, runs: Runs) -> dict[str, float | int]:
    """The facts of how long something was so."""
    return {"lasted_s": sum(float(time_s[last] - time_s[first]) for first, last in runs), "n_stretches": len(runs)}


def _span(time_s: Floats, runs: Runs) -> tuple[float, float]:
    """From the first run's start to the last one's end [s]."""
    return float(time_s[runs[0][0]]), float(time_s[runs[-1][1]])
