"""Logs that a device began anew on the way: several files, one recording."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd

from ridelog.findings import Finding
from ridelog.recording import Recording
from ridelog.timeline.sign import with_one_sign

SAME_TIME_S = 1e-6  # closer stamps are one
USUAL_STEPS = 1.5  # the next log goes on where it begins no later than so many of its steps after the end of the last


def continued(
    recordings: Sequence[Recording], *, longest_break_s: float = 6 * 3600.0
) -> tuple[list[Recording], list[Finding]]:
    """Put together recordings of one format with the same channels and kind of clock that follow one another.

    The clock may be of wall time, or count on from the first log to the next. The time between them is a pause, unless
    it is a usual step: nothing is bridged across a pause. Rows that two logs share count once.

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
    chains.sort(key=lambda chain: min(place.get(id(part), len(place)) for part in chain))
    findings = [_continued_finding(chain) for chain in chains if len(chain) > 1]
    return [chain[0] if len(chain) == 1 else _whole(with_one_sign(chain)) for chain in chains], findings


def _alike(recordings: Sequence[Recording]) -> list[list[Recording]]:
    """Recordings that may be parts of one; each other one by itself."""
    groups: dict[object, list[Recording]] = {}
    for recording in recordings:
        same = (recording.format, recording.clock, frozenset(recording.frame.columns), recording.can_show_return)
        alone = recording.format != "csv"
        groups.setdefault(id(recording) if alone else same, []).append(recording)
    return list(groups.values())


def _chains(alike: list[Recording], longest_break_s: float) -> list[list[Recording]]:
    """Rows of recordings that follow one another, none of them overlapping the one before but for rows they share."""
    ordered = sorted(alike, key=_begin_s) if len(alike) > 1 else alike
    chains = [ordered[:1]]
    for part in ordered[1:]:
        rest = _without_shared_rows(chains[-1][-1], part)
        away_s = _begin_s(rest) - _begin_s(chains[-1][-1]) - chains[-1][-1].duration_s
        if 0 < away_s <= longest_break_s:
            chains[-1].append(rest)
        else:
            chains.append([part])
    return chains


def _begin_s(recording: Recording) -> float:
    """When it begins on its clock: seconds since 1970, or what its elapsed clock shows [s]."""
    return recording.clock_s if recording.start is None else recording.start.timestamp()


def _without_shared_rows(earlier: Recording, later: Recording, *, most: int = 5) -> Recording:
    """The later recording without its first rows, where these repeat the last rows of the earlier one."""
    shift_s = _begin_s(later) - _begin_s(earlier)
    n = int(np.searchsorted(later.time_s + shift_s, earlier.duration_s + SAME_TIME_S, side="right"))
    if not 0 < n <= min(most, len(later.frame) - 2):
        return later
    first, last = later.frame.iloc[:n], earlier.frame.iloc[-n:]
    if not np.allclose(first.to_numpy(), last.to_numpy(), rtol=0, atol=1e-9, equal_nan=True):
        return later
    begin_s = float(later.time_s[n])
    frame = later.frame.iloc[n:]
    return replace(
        later,
        frame=frame.set_axis(frame.index - begin_s, axis="index").rename_axis(index="time_s"),
        start=None if later.start is None else later.start + timedelta(seconds=begin_s),
        clock_s=later.clock_s + begin_s if later.start is None else 0.0,
        pauses_s=tuple((low - begin_s, high - begin_s) for low, high in later.pauses_s if low >= begin_s),
        findings=tuple(finding.later(-begin_s) for finding in later.findings),
    )


_PLUS = " + "


def _continued_finding(chain: list[Recording]) -> Finding:
    return Finding("log-continued", "note", {"files": tuple(part.called for part in chain)})


def _whole(chain: list[Recording]) -> Recording:
    """The chain of recordings as one."""
    first = chain[0]
    begin_s = _begin_s(first)
    frames, pauses, findings = [], [], []
    last_s: float | None = None
    for part in chain:
        shift_s = _begin_s(part) - begin_s
        frames.append(part.frame.set_axis(part.time_s + shift_s, axis="index"))
        if last_s is not None and shift_s - last_s > USUAL_STEPS * part.step_s:
            pauses.append((last_s, shift_s))
        pauses += [(start + shift_s, end + shift_s) for start, end in part.pauses_s]
        findings += [finding.later(shift_s) for finding in part.findings]
        last_s = shift_s + part.duration_s
    return replace(
        first,
        writes_sign=any(part.writes_sign for part in chain),
        name=_PLUS.join(part.name for part in chain),
        sha256=_PLUS.join(part.sha256 for part in chain),
        frame=pd.concat(frames).rename_axis(index="time_s"),
        pauses_s=tuple(sorted(pauses)),
        stated={},  # what each part states of itself does not hold for the whole
        findings=tuple(findings),
    )
