"""The part of an electrical log over which the current is known: a ride without its current is none to measure.

A column that ends halfway, or begins late, would leave the way of the whole beside the energy of a part.
"""

from dataclasses import replace
from datetime import timedelta

import numpy as np

from ridelog.findings import Fact, Finding
from ridelog.recording import Recording


def while_current_is_known(recording: Recording, *, least_s: float = 30.0) -> tuple[Recording, list[Finding]]:
    """The recording from the first to the last sample of its current, or power.

    Parameters
    ----------
    recording : the electrical one; any other stays as it is
    least_s : less at either end is left [s]

    Returns
    -------
    recording : its times count from its new first sample
    findings : one where something was cut off
    """
    carrier = next((name for name in ("current_a", "power_w") if name in recording.frame), None)
    known = np.flatnonzero(recording.frame[carrier].notna().to_numpy()) if carrier else np.empty(0, dtype=int)
    if carrier is None or len(known) < 2:
        return recording, []
    time_s = recording.time_s
    first = int(known[0]) if time_s[known[0]] - time_s[0] > least_s else 0
    last = int(known[-1]) if time_s[-1] - time_s[known[-1]] > least_s else len(time_s) - 1
    if (first, last) == (0, len(time_s) - 1):
        return recording, []
    begin_s, end_s = float(time_s[first]), float(time_s[last])
    facts: dict[str, Fact] = {
        "file": recording.called,
        "channel": carrier,
        "from_s": begin_s,
        "to_s": end_s,
        "whole_s": float(time_s[-1]),
    }
    frame = recording.frame.iloc[first : last + 1]
    cut = replace(
        recording,
        frame=frame.set_axis(frame.index - begin_s, axis="index").rename_axis(index="time_s"),
        start=None if recording.start is None else recording.start + timedelta(seconds=begin_s),
        pauses_s=tuple((low - begin_s, high - begin_s) for low, high in recording.pauses_s if begin_s <= low < end_s),
        stated={},  # what the device states of the whole does not hold for a part
        findings=tuple(finding.later(-begin_s) for finding in recording.findings),
    )
    return cut, [Finding("current-ends", "warning", facts)]
