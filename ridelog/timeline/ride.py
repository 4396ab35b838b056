"""Files to a ride: read them, choose the reference, set the clocks, and lay everything on one series."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from ridelog.findings import Finding, gravest_first
from ridelog.recording import ClockJoin, Recording, Ride
from ridelog.settings.bike import Bike, read_bike
from ridelog.tell.refusals import recordings as refusals
from ridelog.timeline.clock.findings import join_findings
from ridelog.timeline.clock.join import join_clock, without_other_days
from ridelog.timeline.clock.signals import Signals, grid_step_s, signals_of
from ridelog.timeline.continued import continued
from ridelog.timeline.current_span import while_current_is_known
from ridelog.timeline.held_values import without_held_values
from ridelog.timeline.joined import JoinedRecording
from ridelog.timeline.motion.best import best_motion
from ridelog.timeline.motion.bridged import told_once
from ridelog.timeline.motion.heights import without_height_leaps
from ridelog.timeline.motion.held import without_held_positions
from ridelog.timeline.motion.speeds import measure_motion
from ridelog.timeline.pack_voltage import with_voltage_of_cells
from ridelog.timeline.reference import choose_reference, without_repetitions
from ridelog.timeline.series import common_series, wall_start
from ridelog.timeline.sign import sign_by_motion
from ridelog.timeline.thresholds import thresholds_used

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
    if isinstance(files, (str, Path)) or hasattr(files, "read"):
        raise refusals.one_file_for_a_list()
    if not files:
        raise refusals.no_recording()
    known_bike = bike if isinstance(bike, Bike) else Bike() if bike is None else read_bike(bike)
    known_map = None if columns is None else _map_of(columns)
    recordings = [recording for file in files for recording in _read(file, known_map)]
    if known_map is not None:
        from ridelog.settings.column_map import require_headers

        logs = [(item.name, [column.header for column in item.columns]) for item in recordings if item.columns]
        require_headers(known_map, logs, columns if isinstance(columns, str) else "column map")
    return join_recordings(recordings, known_bike)


def _map_of(columns: "str | Path | BinaryIO | ColumnMap") -> "ColumnMap":
    """The map, read where it is a file."""
    from ridelog.settings.column_map import ColumnMap, read_map  # loads much, for few

    return columns if isinstance(columns, ColumnMap) else read_map(columns)


def _read(file: File, columns: "ColumnMap | None") -> list[Recording]:
    """The recordings in a file; itself where it was read already."""
    from ridelog.importers.registry import read

    if isinstance(file, Recording):
        return [file]
    source, name = (file[1], file[0]) if isinstance(file, tuple) else (file, None)
    return read(source, name=name, columns=columns)


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
        raise refusals.no_recording()
    bike = bike or Bike()
    kept, findings = without_repetitions(recordings)
    parts, continuing = continued(kept)
    parts = [with_voltage_of_cells(without_height_leaps(without_held_positions(part, bike)), bike) for part in parts]
    whole, several = choose_reference(parts)
    reference, ending = while_current_is_known(without_held_values(whole))
    parts = [reference if part is whole else part for part in parts]

    def put_together(now: Recording) -> Ride:
        joined, joining = _joined(now, [now if part is reference else part for part in parts], bike)
        return _ride(name or ride_name(parts), joined, bike, [*findings, *continuing, *several, *ending, *joining])

    return sign_by_motion(put_together(reference), put_together)


def _joined(
    reference: Recording, parts: Sequence[Recording], bike: Bike
) -> tuple[list[JoinedRecording], list[Finding]]:
    """Every recording with its clock against the reference's, in the order given, and what to say of the joins."""
    step_s = grid_step_s(parts)
    own_motion = measure_motion(reference, bike)
    own_signals = signals_of(reference, own_motion, bike, step_s) if len(parts) > 1 else Signals(step_s)
    others = [part for part in parts if part is not reference]
    motions = [measure_motion(part, bike) for part in others]
    results = [
        join_clock(reference, part, own_signals, signals_of(part, motion, bike, step_s))
        for part, motion in zip(others, motions, strict=True)
    ]
    results = without_other_days(others, results)
    joined = [
        JoinedRecording(part, result.join, motion)
        for part, result, motion in zip(others, results, motions, strict=True)
    ]
    findings = [
        finding
        for part, result in zip(others, results, strict=True)
        for finding in join_findings(reference, part, result)
    ]
    joined.insert(
        list(map(id, parts)).index(id(reference)), JoinedRecording(reference, _reference_join(reference), own_motion)
    )
    return joined, findings


def _ride(name: str, joined: list[JoinedRecording], bike: Bike, findings: list[Finding]) -> Ride:
    own = next(item for item in joined if item.join.method == "reference")
    others = [item for item in joined if item is not own and item.join.trusted]
    best = best_motion(own, others)
    start, undated = wall_start(own.recording, others)
    for item in joined:
        findings += _on_reference(item, item.recording.findings + item.motion.findings)
    return Ride(
        name=name,
        reference=own.recording,
        electrical=own.recording if own.recording.role != "track" else None,
        recordings=tuple(item.recording for item in joined),
        joins=tuple(item.join for item in joined),
        series=common_series(own.recording, others, start, best.columns),
        bike=bike,
        findings=gravest_first(told_once([*findings, *best.findings, *undated])),
        speed_source=best.speed.source if best.speed is not None else None,
        distance_source=best.distance.source if best.distance is not None else None,
        fix_step_s=best.spacing.step_s,
        distance_shortened_m=best.spacing.shortened_m,
        wheel_circumference_m=best.speed.wheel_circumference_m if best.speed is not None else None,
        settings=thresholds_used(),
    )


def _on_reference(item: JoinedRecording, findings: Sequence[Finding]) -> list[Finding]:
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


def ride_name(recordings: Sequence[Recording]) -> str:
    """A name for people from the names of the files, without folders and endings."""
    stems = [
        PurePath(recording.name.split(" + ", maxsplit=1)[0]).name.split(".", maxsplit=1)[0] for recording in recordings
    ]
    stems = [stem for stem in dict.fromkeys(stems) if stem]
    return " + ".join(stems) or "ride"
