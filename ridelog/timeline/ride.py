"""Files to a ride: read them, choose the reference, set the clocks, and lay everything on one series."""

from collections.abc import Sequence
from dataclasses import asdict, replace
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from ridelog.errors import UsageError
from ridelog.findings import Finding, gravest_first
from ridelog.recording import ClockJoin, Recording, Ride
from ridelog.settings.bike import Bike, read_bike
from ridelog.timeline.clock.findings import join_findings
from ridelog.timeline.clock.join import join_clock
from ridelog.timeline.clock.settings import DEFAULTS as CLOCK_SETTINGS
from ridelog.timeline.clock.signals import grid_step_s, signals_of
from ridelog.timeline.continued import continued
from ridelog.timeline.motion.best import best_motion
from ridelog.timeline.motion.heights import without_height_leaps
from ridelog.timeline.motion.speeds import measure_motion
from ridelog.timeline.series import Joined, common_series, wall_start

if TYPE_CHECKING:
    from ridelog.settings.column_map import ColumnMap

File = str | Path | BinaryIO | tuple[str, BinaryIO] | Recording


def load_ride(
    files: Sequence[File],
    *,
    bike: str | Path | BinaryIO | Bike | None = None,
    columns: "str | Path | BinaryIO | ColumnMap | None" = None,
) -> Ride:
    """Read the recordings of one ride and join their clocks.

    Parameters
    ----------
    files : paths, files open for binary reading, pairs of a name and such a file, or recordings read already
    bike : the bike file, read or not; an empty one where ``None``
    columns : how the columns of delimited logs are to be understood, a map read or not

    Returns
    -------
    ride : see `ridelog.recording.Ride`

    Raises
    ------
    UsageError : no file
    InputError : a file cannot be read, with its name, the place and the cause
    """
    from ridelog.importers.registry import read
    from ridelog.settings.column_map import ColumnMap, read_map, require_headers

    if isinstance(files, (str, Path)) or hasattr(files, "read"):
        raise UsageError("load_ride takes a list of files", hint='write load_ride(["controller.csv", "track.gpx"])')
    if not files:
        raise UsageError("no recording was given", hint="name at least the log that holds battery current")
    known_bike = bike if isinstance(bike, Bike) else Bike() if bike is None else read_bike(bike)
    known_map = columns if columns is None or isinstance(columns, ColumnMap) else read_map(columns)
    recordings: list[Recording] = []
    for file in files:
        if isinstance(file, Recording):
            recordings.append(file)
            continue
        source, name = (file[1], file[0]) if isinstance(file, tuple) else (file, None)
        recordings += read(source, name=name, columns=known_map)
    if known_map is not None:
        logs = [(item.name, [column.header for column in item.columns]) for item in recordings if item.columns]
        require_headers(known_map, logs, columns if isinstance(columns, str) else "column map")
    return join_recordings(recordings, known_bike)


def join_recordings(recordings: Sequence[Recording], bike: Bike | None = None, name: str | None = None) -> Ride:
    """Join recordings that were read already.

    Parameters
    ----------
    recordings : of one ride, in any order
    bike : an empty bike file where ``None``
    name : what to call the ride; from the names of the files where ``None``

    Returns
    -------
    ride : its recordings are those given, less repeated ones, logs that continue one another put together

    Raises
    ------
    UsageError : no recording
    """
    if not recordings:
        raise UsageError("no recording was given", hint="name at least the log that holds battery current")
    bike = bike or Bike()
    findings: list[Finding] = []
    parts, told = continued(_without_repetitions(recordings, findings))
    findings += told
    parts = [without_height_leaps(part) for part in parts]
    reference = choose_reference(parts, findings)
    motions = {id(part): measure_motion(part, bike) for part in parts}
    step_s = grid_step_s(parts)
    own_signals = signals_of(reference, motions[id(reference)], bike, step_s) if len(parts) > 1 else None
    joined: list[Joined] = []
    for part in parts:
        motion = motions[id(part)]
        if part is reference or own_signals is None:
            joined.append(Joined(part, _reference_join(part), motion))
            continue
        verdict = join_clock(reference, part, own_signals, signals_of(part, motion, bike, step_s))
        findings += join_findings(reference, part, verdict)
        joined.append(Joined(part, verdict.join, motion))
    return _ride(name or ride_name(parts), joined, bike, findings)


def _ride(name: str, joined: list[Joined], bike: Bike, findings: list[Finding]) -> Ride:
    own = next(item for item in joined if item.join.method == "reference")
    others = [item for item in joined if item is not own and item.join.trusted]
    best = best_motion(own, others)
    start, told = wall_start(own.recording, others)
    chosen = {
        "speed_mps": best.speed_mps,
        "distance_m": best.distance_m,
        "track_speed_mps": best.track_speed_mps,
    }
    series = common_series(own, others, start, chosen)
    for item in joined:
        findings += _on_reference(item, item.recording.findings + item.motion.findings)
    holds_current = own.recording.role != "track"
    return Ride(
        name=name,
        reference=own.recording,
        electrical=own.recording if holds_current else None,
        recordings=tuple(item.recording for item in joined),
        joins=tuple(item.join for item in joined),
        series=series,
        bike=bike,
        findings=gravest_first([*findings, *best.findings, *told]),
        speed_source=best.speed_source,
        distance_source=best.distance_source,
        wheel_circumference_m=best.wheel_circumference_m,
        settings={"clock": asdict(CLOCK_SETTINGS)},
    )


def _on_reference(item: Joined, findings: Sequence[Finding]) -> list[Finding]:
    """A recording's findings with their seconds on the reference clock; without seconds where it is not joined."""

    def moved(at_s: float | None) -> float | None:
        if at_s is None or not item.join.trusted:
            return None
        return float(item.join.to_reference_s(np.array([at_s]))[0])

    if item.join.method == "reference":
        return list(findings)
    return [replace(finding, start_s=moved(finding.start_s), end_s=moved(finding.end_s)) for finding in findings]


def _reference_join(reference: Recording) -> ClockJoin:
    return ClockJoin(
        name=reference.name,
        lag_s=0.0,
        offset_s=0.0,
        drift_ppm=0.0,
        method="reference",
        agreement=None,
        overlap_s=reference.duration_s,
        trusted=True,
        offset_u_s=0.0,
        drift_u_ppm=0.0,
    )


def _without_repetitions(recordings: Sequence[Recording], findings: list[Finding]) -> list[Recording]:
    """The recordings without those that were given before; members of one archive share its hash, not their samples."""
    kept: list[Recording] = []
    for recording in recordings:
        same = [item for item in kept if item.sha256 == recording.sha256 and item.frame.equals(recording.frame)]
        if same:
            message = f"{recording.name} holds the same bytes as {same[0].name} and was left out."
            findings.append(Finding("same-file-twice", "warning", message))
        else:
            kept.append(recording)
    return kept


def choose_reference(recordings: Sequence[Recording], findings: list[Finding]) -> Recording:
    """The recording whose samples the ride stands on; a finding names it where several hold battery current.

    Battery current (or power) comes before motor current alone, with voltage before without, then the finer
    step; where nothing is electrical, positions come before height and speed, then the longer recording.
    """

    def rank(recording: Recording) -> tuple[bool, bool, bool, float]:
        frame = recording.frame
        measured = "current_a" in frame or "power_w" in frame
        whole = "power_w" in frame or ("current_a" in frame and "voltage_v" in frame)
        if recording.role == "track":
            return False, False, "latitude_deg" in frame, recording.duration_s
        return True, measured, whole, -recording.step_s

    best = max(recordings, key=rank)
    rivals = [item for item in recordings if item is not best and rank(item)[1] and rank(best)[1]]
    if rivals:
        finer = all(rank(item)[2] == rank(best)[2] for item in rivals)
        why = "its samples are the closest together" if finer else "it also holds voltage"
        names = ", ".join(item.called for item in rivals)
        message = f"{best.called} and {names} hold battery current; that of {best.called} is counted, because {why}."
        findings.append(Finding("several-current-logs", "note", message))
    return best


def ride_name(recordings: Sequence[Recording]) -> str:
    """A name for people from the names of the files, without folders and endings."""
    stems = [
        PurePath(recording.name.split(" + ", maxsplit=1)[0]).name.split(".", maxsplit=1)[0] for recording in recordings
    ]
    stems = [stem for stem in dict.fromkeys(stems) if stem]
    return " + ".join(stems) or "ride"
