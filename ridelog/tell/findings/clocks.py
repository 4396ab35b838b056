"""How the files of a ride and their clocks were put together."""

from collections.abc import Mapping
from datetime import datetime

from ridelog.tell.findings.words import Stated, Template, case, listed, trimmed
from ridelog.tell.kinds import CLOCK_DRIFT, RATIO
from ridelog.tell.numbers import Style, amount, fixed
from ridelog.tell.times import duration, from_to


def clock_joined(stated: Stated, style: Style) -> str:
    """By what was recorded, or by the wall clocks alone."""
    file, reference = stated.text("file"), stated.text("reference")
    if stated.text("method") == "wall clock":
        return (
            f"The clocks of {file} and {reference} were lined up by the time of day alone, and so only as well as they "
            f"were set, because {_reason(stated, style)}."
        )
    by = "" if stated.text("method") == "speed" else ", by power and motion"
    drift_ppm = stated.maybe("drift_ppm")
    drift = f"; drift {amount(drift_ppm, CLOCK_DRIFT, style, decimals=0)}" if drift_ppm is not None else ""
    agreement = amount(stated.number("agreement"), RATIO, style, decimals=2)
    how = f"agreement {agreement} over {duration(stated.number('overlap_s'), style)}{by}{drift}"
    offset_s, lag_s = stated.maybe("offset_s"), stated.number("lag_s")
    if offset_s is None or not stated.flag("wall_clocks"):
        apart = f"{to_hundredths(abs(lag_s), style)} {'after' if lag_s >= 0 else 'before'} {reference}"
        return f"The recording {file} begins {apart} ({how})."
    apart = f"{to_hundredths(abs(offset_s), style)} {'ahead of' if offset_s >= 0 else 'behind'} that of {reference}"
    return f"The clock of {file} runs {apart} ({how})."


def to_hundredths(seconds: float, style: Style) -> str:
    """``2 h 0 min 3.42 s``: a time to hundredths of a second."""
    minutes, rest = divmod(round(seconds, 2), 60.0)
    hours, minutes = divmod(int(minutes), 60)
    words = [f"{hours} h"] * bool(hours) + [f"{minutes} min"] * bool(hours or minutes)
    return " ".join([*words, f"{fixed(rest, 2, style)} s"])


def _reason(stated: Stated, style: Style) -> str:
    agreement = fixed(stated.maybe("agreement"), 2, style)
    apart_s = stated.maybe("apart_s")
    reason = case(
        stated,
        "reason",
        {
            "weak": f"they agree by {agreement} at best, and anything below "
            f"{trimmed(stated.number('least_agreement'), RATIO, style)} may be chance",
            "short": "what they share is too short or too even to rule out chance",
            "ambiguous": "they fit about equally well in more than one place",
            "contradicted": f"they fit best {duration(apart_s, style)} away from where their clocks put them, but "
            f"agree only by {agreement} there",
            "unlike": f"smoothed over 10 s, their speeds agree by {agreement}, as those of two rides on one road may; "
            f"those of one ride agree by {trimmed(stated.number('least_agreement'), RATIO, style)} or more",
            "too-long": "one of them goes on for more than a week, and no ride does",
            "nothing-in-common": "they hold nothing that can be compared (speed, or power and motion)",
        },
    )
    return f"they do not agree where their clocks put them, and {reason}" if stated.flag("opposed") else reason


def clocks_disagree(stated: Stated, _style: Style) -> str:
    """Wall clocks that contradict what was recorded."""
    return (
        f"The clocks of {stated.text('file')} and {stated.text('reference')} are {duration(stated.number('apart_s'))} "
        "apart, so the two were lined up by what they recorded instead. Check that both files belong to this ride."
    )


def clocks_not_joined(stated: Stated, style: Style) -> str:
    """No trustworthy join."""
    file = stated.text("file")
    return (
        f"We could not line up the clocks of {file} and {stated.text('reference')}: {_reason(stated, style)}. The ride "
        f"is measured without {file}."
    )


def no_overlap(stated: Stated, _style: Style) -> str:
    """Two times."""
    file = stated.text("file")
    return (
        f"The recordings {file} ({_span(stated, 'file')}) and {stated.text('reference')} "
        f"({_span(stated, 'reference')}) do not overlap in time, so {file} was left out."
    )


def _span(stated: Stated, which: str) -> str:
    begin, end = (datetime.fromisoformat(stated.text(f"{which}_{at}")) for at in ("start", "end"))
    return from_to(begin, end)


def no_wall_time(_stated: Stated, _style: Style) -> str:
    """No date."""
    return "No file gives the time of day, so the times of this ride count from 1970-01-01 00:00."


def time_zone_unknown(stated: Stated, _style: Style) -> str:
    """No zone."""
    return f"The clock of {stated.text('file')} does not give its time zone, so its times are shown as they stand."


def same_file_twice(stated: Stated, _style: Style) -> str:
    """A copy, or the file itself named twice."""
    if stated.text("file") == stated.text("same_as"):
        return f"The file {stated.text('file')} was given twice; it counts once."
    return f"The file {stated.text('file')} has the same content as {stated.text('same_as')} and was left out."


def several_current_logs(stated: Stated, _style: Style) -> str:
    """One of several is counted."""
    file = stated.text("file")
    why = {"finer-step": "its samples are closer together", "voltage": "it also holds voltage"}
    return (
        f"Battery current is logged in {listed([file, *stated.texts('others')])}. We use {file}, because "
        f"{case(stated, 'chosen_for', why)}."
    )


def log_continued(stated: Stated, _style: Style) -> str:
    """Several files, one log."""
    return (
        f"The files {listed(stated.texts('files'))} follow one another and were read as one log. The time between them "
        "is left empty."
    )


TEMPLATES: Mapping[str, Template] = {
    "clock-joined": clock_joined,
    "clocks-disagree": clocks_disagree,
    "clocks-not-joined": clocks_not_joined,
    "no-overlap": no_overlap,
    "no-wall-time": no_wall_time,
    "time-zone-unknown": time_zone_unknown,
    "same-file-twice": same_file_twice,
    "several-current-logs": several_current_logs,
    "log-continued": log_continued,
}
