"""Logs that a device began anew on the way: several files, one recording."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import cast

import pandas as pd

from ridelog.findings import Finding
from ridelog.recording import Recording


def continued(
    recordings: Sequence[Recording], *, longest_break_s: float = 6 * 3600.0
) -> tuple[list[Recording], list[Finding]]:
    """Put together recordings of one format with the same channels and kind of wall clock that follow one another.

    The time between them is a pause: nothing is bridged across it.

    Parameters
    ----------
    recordings : in the order given
    longest_break_s : longer apart, they are two outings [s]

    Returns
    -------
    recordings : the joined one stands where its first part stood
    findings : one for each that was put together
    """
    chains = [chain for alike in _alike(recordings) for chain in _chains(alike, longest_break_s)]
    place = {id(recording): at for at, recording in enumerate(recordings)}
    chains.sort(key=lambda chain: min(place[id(part)] for part in chain))
    findings = [_continued_finding(chain) for chain in chains if len(chain) > 1]
    return [chain[0] if len(chain) == 1 else _whole(chain) for chain in chains], findings


def _alike(recordings: Sequence[Recording]) -> list[list[Recording]]:
    """Recordings that may be parts of one; each other one by itself."""
    groups: dict[object, list[Recording]] = {}
    for recording in recordings:
        same = (recording.format, recording.clock, frozenset(recording.frame.columns), recording.can_show_return)
        alone = recording.start is None or recording.format != "csv"
        groups.setdefault(id(recording) if alone else same, []).append(recording)
    return list(groups.values())


def _chains(alike: list[Recording], longest_break_s: float) -> list[list[Recording]]:
    """Rows of recordings that follow one another, none of them overlapping the one before."""
    ordered = sorted(alike, key=lambda part: cast("datetime", part.start)) if len(alike) > 1 else alike
    chains = [ordered[:1]]
    for part in ordered[1:]:
        away_s = (cast("datetime", part.start) - cast("datetime", chains[-1][-1].end)).total_seconds()
        if 0 < away_s <= longest_break_s:
            chains[-1].append(part)
        else:
            chains.append([part])
    return chains


_PLUS = " + "


def _continued_finding(chain: list[Recording]) -> Finding:
    return Finding("log-continued", "note", {"files": tuple(part.called for part in chain)})


def _whole(chain: list[Recording]) -> Recording:
    """The chain of recordings as one."""
    first = chain[0]
    begin = cast("datetime", first.start)
    frames, pauses, findings = [], [], []
    last_s: float | None = None
    for part in chain:
        shift_s = (cast("datetime", part.start) - begin).total_seconds()
        frames.append(part.frame.set_axis(part.time_s + shift_s, axis="index"))
        if last_s is not None:
            pauses.append((last_s, shift_s))
        pauses += [(start + shift_s, end + shift_s) for start, end in part.pauses_s]
        findings += [finding.later(shift_s) for finding in part.findings]
        last_s = shift_s + part.duration_s
    return replace(
        first,
        name=_PLUS.join(part.name for part in chain),
        sha256=_PLUS.join(part.sha256 for part in chain),
        frame=pd.concat(frames).rename_axis(index="time_s"),
        pauses_s=tuple(sorted(pauses)),
        stated={},  # what each part states of itself does not hold for the whole
        findings=tuple(findings),
    )
