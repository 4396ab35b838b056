"""What a rider must know of how two clocks were joined, or why they were not."""

from datetime import datetime

from ridelog.findings import Fact, Finding
from ridelog.recording import Recording
from ridelog.timeline.clock.join import JoinResult
from ridelog.timeline.clock.peak import Refusal
from ridelog.timeline.clock.settings import DEFAULTS
from ridelog.timeline.clock.wall_clock import apart_by_wall


def join_findings(reference: Recording, other: Recording, result: JoinResult) -> list[Finding]:
    """What a rider must know of a join.

    Parameters
    ----------
    reference, other : the two recordings
    result : of `ridelog.timeline.clock.join.join_clock`

    Returns
    -------
    One for a join that failed; for one that holds, what was done and what is doubtful. ``offset_s`` is that of the
    answer's source, ``wall_clocks`` whether it is between times of day.
    """
    join = result.join
    names: dict[str, Fact] = {"file": other.called, "reference": reference.called}
    if not join.trusted:
        if apart_by_wall(reference, other):
            return [
                Finding("no-overlap", "warning", {**names, **_span("file", other), **_span("reference", reference)})
            ]
        return [Finding("clocks-not-joined", "warning", {**names, **_reason(result.why_not)})]
    if join.method == "wall clock":
        return [Finding("clock-joined", "note", {**names, "method": join.method, **_reason(result.why_not)})]
    sure = join.drift_ppm is not None and abs(join.drift_ppm) > 2 * (join.drift_u_ppm or 0.0)
    walls = reference.start is not None and other.start is not None
    facts: dict[str, Fact] = {
        **names,
        "method": join.method,
        "offset_s": join.offset_s,
        "wall_clocks": walls,
        "lag_s": join.lag_s,
        "agreement": join.agreement,
        "overlap_s": join.overlap_s,
        "drift_ppm": join.drift_ppm if sure else None,  # one that may be none is not worth a word
    }
    found = [Finding("clock-joined", "note", facts)]
    if result.clocks_disagree_s is not None:
        found.append(Finding("clocks-disagree", "warning", {**names, "apart_s": result.clocks_disagree_s}))
    return found


def _reason(refusal: Refusal | None) -> dict[str, Fact]:
    """Why the signals did not tell it."""
    refusal = refusal or Refusal("nothing-in-common")
    return {
        "reason": refusal.reason,
        "agreement": refusal.agreement,
        "least_agreement": DEFAULTS.slow_agreement if refusal.reason == "unlike" else DEFAULTS.least_agreement,
        "apart_s": refusal.apart_s,
        "opposed": refusal.opposed,
    }


def _span(which: str, recording: Recording) -> dict[str, Fact]:
    """Start and end by the recording's own clock, ISO 8601; without a zone where it is not known."""
    return {f"{which}_start": _iso(recording, recording.start), f"{which}_end": _iso(recording, recording.end)}


def _iso(recording: Recording, at: datetime | None) -> str | None:
    if at is None:
        return None
    return (at if recording.clock == "utc" else at.replace(tzinfo=None)).isoformat()
