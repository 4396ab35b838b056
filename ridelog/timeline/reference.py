"""The recording that a ride stands on, and which of the files given hold anything new."""

from collections.abc import Sequence

from ridelog.findings import Fact, Finding
from ridelog.recording import Recording


def without_repetitions(recordings: Sequence[Recording]) -> tuple[list[Recording], list[Finding]]:
    """The recordings without those that were given before; members of one archive share its hash, not their samples."""
    kept: list[Recording] = []
    findings: list[Finding] = []
    for recording in recordings:
        same = [item for item in kept if _repeats(recording, item)]
        if same:
            names = {"file": recording.name, "same_as": same[0].name}
            findings.append(Finding("same-file-twice", "warning", names))
        else:
            kept.append(recording)
    return kept, findings


def _repeats(one: Recording, other: Recording) -> bool:
    """Whether both hold the same samples of the same time; a bike that stands may read alike for minutes."""
    if (one.sha256, one.start, one.clock_s) != (other.sha256, other.start, other.clock_s):
        return False
    return one.frame.equals(other.frame)


def choose_reference(recordings: Sequence[Recording]) -> tuple[Recording, list[Finding]]:
    """The recording whose samples the ride stands on; a finding names it where several hold battery current.

    Battery current (or power) comes before motor current alone, with voltage before without, then the finer
    step; where nothing is electrical, positions come before height and speed, then the longer recording.
    """
    best = max(recordings, key=_rank)
    if not _holds_battery_current(best):
        return best, []
    rivals = [item for item in recordings if item is not best and _holds_battery_current(item)]
    return best, [_several_finding(best, rivals)] if rivals else []


def _rank(recording: Recording) -> tuple[bool, bool, bool, float]:
    """What makes a recording the better reference, the weightiest first."""
    if recording.role == "track":
        return False, False, "latitude_deg" in recording.frame, recording.duration_s
    return True, _holds_battery_current(recording), _holds_power(recording), -recording.step_s


def _holds_battery_current(recording: Recording) -> bool:
    return recording.role != "track" and ("current_a" in recording.frame or "power_w" in recording.frame)


def _holds_power(recording: Recording) -> bool:
    return "power_w" in recording.frame or {"current_a", "voltage_v"} <= set(recording.frame)


def _several_finding(best: Recording, rivals: Sequence[Recording]) -> Finding:
    finer = all(_holds_power(item) == _holds_power(best) for item in rivals)
    facts: dict[str, Fact] = {
        "file": best.called,
        "others": tuple(item.called for item in rivals),
        "chosen_for": "finer-step" if finer else "voltage",
    }
    return Finding("several-current-logs", "note", facts)
