"""What a rider is told of how two clocks were joined, or why they were not."""

from datetime import datetime

import numpy as np

from ridelog.findings import Finding
from ridelog.recording import ClockJoin, Recording
from ridelog.timeline.clock.join import JoinResult
from ridelog.timeline.clock.peak import Refusal
from ridelog.timeline.clock.settings import DEFAULTS
from ridelog.timeline.clock.wall_clock import wall_lags_s


def join_findings(reference: Recording, other: Recording, verdict: JoinResult) -> list[Finding]:
    """What a rider must know of a join.

    Parameters
    ----------
    reference, other : the two recordings
    verdict : of `ridelog.timeline.clock.join.join_clock`
    """
    join = verdict.join
    if not join.trusted:
        if _apart(reference, other):
            message = (
                f"{other.called} ({_span(other)}) and {reference.called} ({_span(reference)}) do not overlap in time; "
                f"{other.called} was left out."
            )
            return [Finding("no-overlap", "warning", message)]
        message = (
            f"The clocks of {other.called} and {reference.called} could not be set against each other: "
            f"{_reason(verdict.why_not)}. The ride is measured without {other.called}."
        )
        return [Finding("clocks-not-joined", "warning", message)]
    if join.method == "wall clock":
        message = (
            f"{other.called} and {reference.called} were put together by their wall clocks alone, as precisely as "
            f"these were set, for {_reason(verdict.why_not)}."
        )
        return [Finding("clock-joined", "note", message)]
    told = join.drift_ppm is not None and abs(join.drift_ppm) > 2 * (join.drift_u_ppm or 0.0)
    drift = f"; drift {join.drift_ppm:.0f} ppm" if told else ""  # one that may be none is not worth a word
    by = "" if join.method == "speed" else ", by power and motion"
    message = (
        f"{other.called} {_apart_in_words(join, reference, other)} (agreement {join.agreement:.2f} over "
        f"{in_words(join.overlap_s)}{by}{drift})."
    )
    found = [Finding("clock-joined", "note", message)]
    if verdict.clocks_disagree_s is not None:
        message = (
            f"The wall clocks of {other.called} and {reference.called} are "
            f"{in_words(verdict.clocks_disagree_s)} apart; they were joined by what they recorded "
            "instead. Do both files belong to this ride?"
        )
        found.append(Finding("clocks-disagree", "warning", message))
    return found


def _reason(refusal: Refusal | None) -> str:
    """Why the signals did not tell it, in words."""
    if refusal is None:
        return ""
    reason = {
        "weak": f"their best agreement is {refusal.agreement or 0.0:.2f}, and less than {DEFAULTS.least_agreement:g} "
        "may be chance",
        "short": "what they share is too short or too even to tell agreement from chance",
        "ambiguous": "they fit in more than one place about equally well",
        "contradicted": f"they would fit best {refusal.apart_s or 0.0:.0f} s away from what their clocks say, but only "
        f"at {refusal.agreement or 0.0:.2f}",
        "nothing-in-common": "they hold nothing that both would show (speed, or power and motion)",
    }[refusal.reason]
    return f"where their clocks put them together they do not agree, and {reason}" if refusal.opposed else reason


def _apart_in_words(join: ClockJoin, reference: Recording, other: Recording) -> str:
    """``runs 3.42 s ahead of controller.csv``, or where it begins if one of the clocks keeps no wall time."""
    if join.offset_s is None or reference.start is None or other.start is None:
        later = "after" if join.lag_s >= 0 else "before"
        return f"begins {in_words(abs(join.lag_s), exact=True)} {later} {reference.called}"
    ahead = "ahead of" if join.offset_s >= 0 else "behind"
    return f"runs {in_words(abs(join.offset_s), exact=True)} {ahead} {reference.called}"


def in_words(seconds: float, *, exact: bool = False) -> str:
    """``2 h 5 min``, ``31 min``, ``45 s``; with ``exact``, down to hundredths of a second."""
    if exact:
        minutes, rest = divmod(round(seconds, 2), 60.0)
        hours, minutes = divmod(int(minutes), 60)
        words = [f"{hours} h"] * bool(hours) + [f"{minutes} min"] * bool(hours or minutes)
        return " ".join([*words, f"{rest:.2f} s"])
    if seconds < 90:
        return f"{seconds:.0f} s"
    hours, minutes = divmod(round(seconds / 60), 60)
    return " ".join([f"{hours} h"] * bool(hours) + [f"{minutes} min"])


def _apart(reference: Recording, other: Recording) -> bool:
    """Whether no reading of the wall clocks lets the two overlap."""
    lags_s = wall_lags_s(reference, other)
    return len(lags_s) > 0 and bool(np.all((lags_s > reference.duration_s) | (lags_s < -other.duration_s)))


def _span(recording: Recording) -> str:
    zone = " UTC" if recording.clock == "utc" else ""
    begin, end = recording.start, recording.end
    if begin is None or end is None:
        return "no wall time"
    return f"{_stamp(begin)} to {_stamp(end) if end.date() != begin.date() else end.strftime('%H:%M')}{zone}"


def _stamp(at: datetime) -> str:
    return at.strftime("%Y-%m-%d %H:%M")
