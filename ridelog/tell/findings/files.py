"""What was wrong with a file: its rows, its values, its clock, its end."""

from collections.abc import Mapping
from datetime import date

from ridelog.tell.findings.words import Stated, Template, case, listed, number_of, quoted, sentences, trimmed
from ridelog.tell.kinds import DISTANCE, RATIO, TIME
from ridelog.tell.numbers import METRIC, Style, amount, as_logged, count, counted, with_unit
from ridelog.tell.times import elapsed

_DAY_S = 86_400.0


def rows_skipped(stated: Stated, style: Style) -> str:
    """Rows with another number of fields."""
    n, line = stated.count("n_skipped"), stated.maybe("first_line")
    cut = "; the last line is cut off" if stated.flag("cut_off") else ""
    at = f" (the first is line {count(int(line), style)}{cut})" if line is not None else ""
    return (
        f"In {stated.text('file')}, {count(n, style)} of {counted(stated.count('n_rows'), 'row', style=style)} "
        f"{'does' if n == 1 else 'do'} not have {counted(stated.count('n_fields'), 'field', style=style)}{at}. We "
        "left them out."
    )


def rows_counted(stated: Stated, _style: Style) -> str:
    """No time but the rows' own order."""
    step = as_logged(stated.number("step_s"))
    return (
        f"{stated.text('file')} states no time; its rows are taken to be {step} s apart, as you said. What was drawn "
        "and returned is as right as that, while the share that came back hardly depends on it."
    )


def header_repeated(stated: Stated, style: Style) -> str:
    """The header among the rows."""
    n = stated.count("n_repeats")
    return (
        f"The header of {stated.text('file')} is repeated {'once' if n == 1 else counted(n, 'time', style=style)} "
        "among its rows; we skipped it there."
    )


_ELECTRICAL = {"current_a": "current", "voltage_v": "voltage", "power_w": "power"}


def values_missing(stated: Stated, style: Style) -> str:
    """Cells without a value."""
    columns = [quoted(column) for column in stated.texts("columns")]
    named = (
        f"The {'column' if len(columns) == 1 else 'columns'} {listed(columns)} in"
        if columns
        else f"The {case(stated, 'channel', _ELECTRICAL)} in"
    )
    has = "has" if len(columns) <= 1 else "have"
    return (
        f"{named} {stated.text('file')} {has} no value in {count(stated.count('n_missing'), style)} of "
        f"{number_of(stated, 'n_all', style)}."
    )


def unreadable_values(stated: Stated, style: Style) -> str:
    """Positions or heights that are no numbers."""
    n, file = stated.count("n_values"), stated.text("file")
    return case(
        stated,
        "channel",
        {
            "position": f"In {file}, the position of {counted(n, 'point', style=style)} is not a number; left out.",
            "altitude_m": f"In {file}, the height of {counted(n, 'point', style=style)} is not a number and counts as "
            "not known.",
        },
    )


def no_fix(stated: Stated, style: Style) -> str:
    """Positions in the Gulf of Guinea."""
    n, n_all = stated.count("n_positions"), stated.count("n_all")
    return (
        f"In {stated.text('file')}, {count(n, style)} of {counted(n_all, 'position', style=style)} "
        f"{'is' if n == 1 else 'are'} at latitude 0, longitude 0: the receiver had no fix there. We left "
        f"{'it' if n == 1 else 'them'} out."
    )


def unreadable_cells(stated: Stated, style: Style) -> str:
    """Cells that are no numbers."""
    n, n_all = stated.count("n_cells"), stated.count("n_all")
    column, cell = quoted(stated.text("column")), quoted(stated.text("cell"))
    at = f"line {count(stated.count('line'), style)}"
    some = (
        f"one cell of {column} in {stated.text('file')}"
        if n == 1
        else (f"{count(n, style)} of {counted(n_all, 'cell', style=style)} of {column} in {stated.text('file')}")
    )
    first = ", the first" if n > 1 else ""
    told = f"{some[:1].upper()}{some[1:]} {'is' if n == 1 else 'are'} no number ({cell} in {at}{first})"
    if stated.flag("left_out"):
        return f"{told}, so that the column was left out. The rest of the file was read."
    return f"{told} and {'was' if n == 1 else 'were'} left out."


def infinite_values(stated: Stated, style: Style) -> str:
    """Cells that say "inf"."""
    n, n_all = stated.count("n_values"), stated.count("n_all")
    column, file = quoted(stated.text("column")), stated.text("file")
    if n == n_all:
        return f"Every value of {column} in {file} is infinite or beyond any measure, so nothing is known of it."
    some = "one value" if n == 1 else f"{count(n, style)} of {counted(n_all, 'value', style=style)}"
    return (
        f"{some[:1].upper()}{some[1:]} of {column} in {file} {'is' if n == 1 else 'are'} infinite or beyond any "
        "measure, as loggers write where a sensor gives nothing; "
        f"{'it counts' if n == 1 else 'they count'} as not known."
    )


def impossible_values(stated: Stated, style: Style) -> str:
    """Values out of range, or a counted distance that was reset."""
    file, first = stated.text("file"), elapsed(stated.number("first_s"), style)
    if "n_resets" in stated:
        n = stated.count("n_resets")
        step_m = stated.number("first_step_m")
        step = f"{'+' if step_m > 0 else ''}{amount(step_m, DISTANCE, style)}"
        return (
            f"The distance counted in {file} was reset or jumped "
            f"{'once' if n == 1 else counted(n, 'time', style=style)} (first by {step} at {first}). Nothing is "
            "counted there."
        )
    n, channel = stated.count("n_values"), stated.text("channel")
    value, possible = _value_and_range(stated, style)
    some = "one value" if n == 1 else counted(n, "value", style=style)
    which = value if n == 1 else f"the first {value}"
    return (
        f"In {file}, {some} of {channel} cannot be right and {'was' if n == 1 else 'were'} left out: {which} at "
        f"{first}. Possible are {possible}."
    )


def _value_and_range(stated: Stated, style: Style) -> tuple[str, str]:
    """The first impossible value, and what is possible."""
    channel, named = stated.text("channel"), stated.text("unit")
    unit = "" if named == "1" else named  # of a ratio
    low, high = (trimmed(stated.number(f"{end}_{channel}"), RATIO, style) for end in ("lowest", "highest"))
    first = stated.maybe(channel)
    shown = "infinite" if first is None else with_unit(trimmed(first, RATIO, style), unit, style)
    return shown, with_unit(f"{low} to {high}", unit, style)


def channel_left_out(stated: Stated, style: Style) -> str:
    """A column of impossible values, without which the rest can be measured."""
    n = stated.count("n_values")
    value, possible = _value_and_range(stated, style)
    return (
        f"In {stated.text('file')}, {stated.text('channel')} was left out: {count(n, style)} of its "
        f"{counted(stated.count('n_all'), 'value', style=style)} cannot be right (the first is {value}; possible are "
        f"{possible}). The rest of the file was read."
    )


def no_bicycle(stated: Stated, style: Style) -> str:
    """More volts or amperes than a bicycle's."""
    channel, unit = stated.text("channel"), stated.text("unit")
    largest, most = (
        with_unit(trimmed(stated.number(name), RATIO, style), unit, style) for name in (channel, f"highest_{channel}")
    )
    return (
        f"{stated.text('file')} reads up to {largest}, and no electric bicycle goes beyond {most}. What flowed is "
        "measured all the same; what we assume of mass, drag and losses is a bicycle's."
    )


def rows_without_time(stated: Stated, style: Style) -> str:
    """Rows whose time is empty."""
    n = stated.count("n_lost")
    return (
        f"In {stated.text('file')}, {count(n, style)} of {number_of(stated, 'n_all', style)} "
        f"{'has' if n == 1 else 'have'} no time and {'was' if n == 1 else 'were'} left out."
    )


def _points(stated: Stated, style: Style, why: str) -> str:
    n = stated.count("n_points")
    return (
        f"In {stated.text('file')}, {counted(n, 'point', style=style)} {'was' if n == 1 else 'were'} left out because "
        f"{why}."
    )


def untimed_samples(stated: Stated, style: Style) -> str:
    """Points without a time."""
    return _points(stated, style, "the time is missing")


def unreadable_times(stated: Stated, style: Style) -> str:
    """Times that nobody can read."""
    return _points(stated, style, "the time cannot be read")


def mixed_zones(stated: Stated, style: Style) -> str:
    """Some times name a zone."""
    return _points(stated, style, "some times in the file give a time zone and others do not")


def rows_repeated(stated: Stated, style: Style) -> str:
    """Rows that stand twice."""
    n = stated.count("n_repeated")
    return (
        f"In {stated.text('file')}, {counted(n, 'row', style=style)} {'is' if n == 1 else 'are'} the same as the row "
        f"above, time included; left out."
    )


def _dropped(stated: Stated, style: Style, one: str, many: str) -> str:
    n = stated.count("n_dropped")
    fate = one if n == 1 else many
    return (
        f"In {stated.text('file')}, {count(n, style)} of {number_of(stated, 'n_all', style)} {fate} (the first is "
        f"{stated.text('first_place')}, at {trimmed(stated.number('first_s'), TIME, style)})."
    )


def _left_out(stated: Stated) -> str:
    return "It was left out." if stated.count("n_dropped") == 1 else "They were left out."


def time_repeated(stated: Stated, style: Style) -> str:
    """Two samples of one time."""
    told = _dropped(stated, style, "repeats the time of another one", "repeat the time of another one")
    return f"{told} The first of each was kept."


def clock_backward(stated: Stated, style: Style) -> str:
    """A clock that stepped back."""
    return f"{_dropped(stated, style, 'goes back in time', 'go back in time')} {_left_out(stated)}"


def far_off_times(stated: Stated, style: Style) -> str:
    """Times that are days away."""
    away = "more than a day away from the others"
    return f"{_dropped(stated, style, f'is {away}', f'are {away}')} {_left_out(stated)}"


def time_spread(stated: Stated, style: Style) -> str:
    """Stamps coarser than the samples."""
    step = trimmed(stated.number("step_s"), TIME, style)
    each = trimmed(stated.number("samples_per_stamp"), RATIO, style, digits=2)
    return (
        f"The time stamps in {stated.text('file')} have a resolution of {step}, and about {each} samples share each "
        f"one. We spread them evenly over the {step}."
    )


def clock_leap(stated: Stated, style: Style) -> str:
    """More than a day within a log."""
    days = trimmed(stated.number("leap_s") / _DAY_S, RATIO, style, digits=3)
    return f"The clock in {stated.text('file')} jumps ahead by {days} days at {stated.text('place')}."


def clock_wrapped(stated: Stated, style: Style) -> str:
    """Midnight, or a full counter."""
    n = stated.count("n_wraps")
    return (
        f"The clock in {stated.text('file')} starts again from zero "
        f"{'once' if n == 1 else counted(n, 'time', style=style)} (midnight, or a full counter). We read it as "
        "running on."
    )


def impossible_date(stated: Stated, _style: Style) -> str:
    """A ride of the future, or of before 1990."""
    at = date.fromisoformat(stated.text("date"))
    return (
        f"According to {stated.text('file')} the ride began on {at}, which cannot be right. We do not use its dates "
        "and times of day, only the time between samples."
    )


_DAMAGE = {
    "line": "at line {at}",
    "ends-inside-message": "it ends at byte {at}, inside a message",
    "bad-message": "the message at byte {at} makes no sense",
    "not-this-format": "what follows is something else",
    "never-finished": "the device never finished it",
}


def damage_words(kind: str, at: float | None, style: Style = METRIC) -> str:
    """What ended a file before its time, as a part of a sentence.

    Parameters
    ----------
    kind : what kind of damage
    at : line or byte; ``None`` where it has none
    style : how numbers are written

    Returns
    -------
    text : "at line 12", "it ends at byte 768, inside a message"
    """
    return _DAMAGE[kind].format(at="" if at is None else count(int(at), style))


def damaged_tail(stated: Stated, style: Style) -> str:
    """What came before the damage was kept."""
    at = stated.maybe("at")
    where = damage_words(case(stated, "damage", {kind: kind for kind in _DAMAGE}), at, style)
    return f"The file {stated.text('file')} is damaged or cut off ({where}). Everything before that was kept."


def check_sum(stated: Stated, _style: Style) -> str:
    """Bytes that changed."""
    return f"A checksum in {stated.text('file')} does not match its content, so single values may be wrong."


def overlapping_tracks(stated: Stated, style: Style) -> str:
    """Two tracks of one time."""
    n, n_all = stated.count("n_dropped"), stated.count("n_all")
    return (
        f"In {stated.text('file')}, {count(n, style)} of {counted(n_all, 'point', style=style)} belong to a track or "
        "segment recorded at the same time as a longer one, and were left out."
    )


def member_not_recognised(stated: Stated, _style: Style) -> str:
    """A readme, a picture."""
    files = stated.texts("files")
    are = "is not a recording and was" if len(files) == 1 else "are not recordings and were"
    return f"In the archive, {listed(files)} {are} passed over."


def unit_unknown(stated: Stated, _style: Style) -> str:
    """A column without a unit, or with one that is not known."""
    odd = f"states {quoted(stated.text('stated'))}, which is not a unit we know" if "stated" in stated else ""
    return (
        f"The column {quoted(stated.text('column'))} in {stated.text('file')} {odd or 'has no unit'}, and "
        f"nothing in the log shows whether it is in {listed(stated.texts('units'), 'or')}. It was left out."
    )


def unused_field(stated: Stated, _style: Style) -> str:
    """A maker's field that may be electrical."""
    words = stated.texts("unknown_words")
    why = (
        f"because its name also says {listed([quoted(word) for word in words])}, which we do not understand"
        if words
        else "because its name and unit do not say enough; `ridelog columns` shows what was understood"
    )
    return sentences((f"The field {quoted(stated.text('field'))} in {stated.text('file')} is not used, {why}.",))


TEMPLATES: Mapping[str, Template] = {
    "rows-skipped": rows_skipped,
    "rows-counted": rows_counted,
    "header-repeated": header_repeated,
    "values-missing": values_missing,
    "unreadable-values": unreadable_values,
    "no-fix": no_fix,
    "unreadable-cells": unreadable_cells,
    "infinite-values": infinite_values,
    "impossible-values": impossible_values,
    "channel-left-out": channel_left_out,
    "no-bicycle": no_bicycle,
    "rows-without-time": rows_without_time,
    "untimed-samples": untimed_samples,
    "unreadable-times": unreadable_times,
    "mixed-zones": mixed_zones,
    "rows-repeated": rows_repeated,
    "time-repeated": time_repeated,
    "clock-backward": clock_backward,
    "far-off-times": far_off_times,
    "time-spread": time_spread,
    "clock-leap": clock_leap,
    "clock-wrapped": clock_wrapped,
    "impossible-date": impossible_date,
    "damaged-tail": damaged_tail,
    "check-sum": check_sum,
    "overlapping-tracks": overlapping_tracks,
    "member-not-recognised": member_not_recognised,
    "unit-unknown": unit_unknown,
    "unused-field": unused_field,
}
