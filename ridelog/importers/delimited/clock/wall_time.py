"""Dates and times of day written as text, as seconds: the vectorised parsing behind `columns`."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np

from ridelog.importers.delimited.arrow_arrays import counts_of, floats_of, mask_of
from ridelog.lazy import dataclass
from ridelog.tell.reasons import clocks as reasons

if TYPE_CHECKING:
    import pyarrow as pa

    from ridelog.settings.column_map import DateOrder

_COMPACT = r"^(\d{4})(\d{2})(\d{2})T(\d{2})(\d{2})(\d{2})"
_DATE = r"^\s*(?P<a>\d{1,4})[-/.](?P<b>\d{1,2})[-/.](?P<c>\d{1,4})(?:[T ,;]+(?P<time>.*))?$"
_TIME = (
    r"^\s*(?P<h>\d{1,4}):(?P<m>\d{1,2})(?::(?P<s>\d{1,2}(?:[.,]\d*)?)|(?P<f>[.,]\d+))?"
    r"\s*(?P<ap>[AaPp])?(?:\.?[Mm]\.?)?\s*(?P<zone>Z|z|UTC|GMT|[+-]\d{2}:?(?:\d{2})?)?\s*$"
)
_ZONES = {"": 0, "z": 0, "utc": 0, "gmt": 0}


@dataclass(frozen=True)
class WallTexts:
    """Texts taken apart.

    Attributes
    ----------
    parts : the three numbers of the date, shape (n, 3), NaN where there is none
    year_first : whether the first of the three is the year
    dotted : whether they are parted by full stops
    day_s : seconds since midnight, zone taken off [s]; 0 where there is a date only
    has_zone : whether the texts state their zone
    has_time : whether there is a time of day beside the date
    two_parts : whether times consist of two numbers only (m:ss or h:mm)
    """

    parts: np.ndarray
    year_first: bool
    dotted: bool
    day_s: np.ndarray
    has_zone: bool
    has_time: bool
    two_parts: bool


def _floats(texts: Any) -> np.ndarray:
    """Numbers of a string array; NaN where the string is empty or null."""
    import pyarrow as pa
    import pyarrow.compute as pc

    filled = pc.replace_substring(pc.if_else(pc.equal(texts, ""), None, texts), ",", ".")
    return floats_of(pc.cast(filled, pa.float64()))


def time_of_day_s(texts: pa.Array) -> tuple[np.ndarray, bool, bool]:
    """Seconds of texts such as ``8:00:01.25``, ``08:00:01 PM`` or ``12:34.5``.

    Returns
    -------
    seconds : shape (n,), zone taken off, NaN where the text is no time [s]
    has_zone : whether any text states a zone
    two_parts : whether the texts consist of two numbers (taken as minutes and seconds)
    """
    import pyarrow.compute as pc

    found = pc.extract_regex(texts, _TIME)
    hours, minutes = _floats(found.field(0)), _floats(found.field(1))
    seconds = _floats(found.field(2))
    fraction = pc.replace_substring(found.field(3), ",", ".")
    two_parts = bool(len(seconds)) and not np.isfinite(seconds).any()
    if two_parts:
        total = 60 * hours + minutes + np.nan_to_num(_floats(fraction))
    else:
        total = 3600 * hours + 60 * minutes + np.nan_to_num(seconds)
    half = pc.utf8_lower(found.field(4))
    after_noon, before_noon = (mask_of(pc.equal(half, c)) for c in "pa")
    total = total + 43200 * (after_noon & (hours < 12)) - 43200 * (before_noon & (hours == 12))
    zones = found.field(5)
    has_zone = bool(pc.any(pc.fill_null(pc.not_equal(zones, ""), False)).as_py())
    if has_zone:
        total = total - _zone_offsets_s(zones)
    return total, has_zone, two_parts


def _zone_offsets_s(zones: pa.Array) -> np.ndarray:
    """Seconds that each zone's clock is ahead of UTC [s]."""
    import pyarrow.compute as pc

    coded = pc.fill_null(zones, "").dictionary_encode()
    offsets = []
    for zone in coded.dictionary.to_pylist():
        if zone.lower() in _ZONES:
            offsets.append(0)
            continue
        digits = zone[1:].replace(":", "").ljust(4, "0")
        offsets.append((1 if zone[0] == "+" else -1) * (3600 * int(digits[:2]) + 60 * int(digits[2:])))
    result: np.ndarray = np.array(offsets, dtype=float)[counts_of(coded.indices)]
    return result


def take_apart(texts: pa.Array) -> WallTexts | None:
    """Dates, with or without a time of day; ``None`` where most texts are no dates."""
    import pyarrow.compute as pc

    found = pc.extract_regex(pc.replace_substring_regex(texts, _COMPACT, r"\1-\2-\3T\4:\5:\6"), _DATE)
    parts = np.column_stack([_floats(found.field(k)) for k in range(3)])
    known_mask = np.isfinite(parts).all(axis=1)
    if not known_mask.any():
        return None
    times = found.field(3)
    has_time = bool(pc.any(pc.fill_null(pc.not_equal(times, ""), False)).as_py())
    day_s, has_zone, two_parts = np.zeros(len(parts)), False, False
    if has_time:
        day_s, has_zone, two_parts = time_of_day_s(times)
        if two_parts:
            day_s = day_s * 60  # beside a date, two numbers are hours and minutes
    first = texts.filter(pc.is_valid(found)).slice(0, 1).to_pylist()
    dotted = bool(first) and "." in str(first[0])[:5]
    year_first = bool(np.nanmax(parts[:, 0]) > 31)
    return WallTexts(parts, year_first, dotted, day_s, has_zone, has_time, two_parts)


def order_of_date(wall: WallTexts) -> tuple[DateOrder | None, str]:
    """Which number is the day, and why; ``None`` where the texts do not tell."""
    if wall.year_first:
        return "year-month-day", reasons.YEAR_FIRST
    first, second = wall.parts[:, 0], wall.parts[:, 1]
    if np.nanmax(first) > 12:
        return "day-month-year", reasons.number_reaches("first", float(np.nanmax(first)))
    if np.nanmax(second) > 12:
        return "month-day-year", reasons.number_reaches("second", float(np.nanmax(second)))
    if wall.dotted:
        return "day-month-year", reasons.FULL_STOPS
    if (first == second)[np.isfinite(first)].all():
        return "day-month-year", reasons.SAME_NUMBER
    if np.nanmin(first) != np.nanmax(first) and np.nanmin(second) == np.nanmax(second):
        return "day-month-year", reasons.FIRST_CHANGES
    if np.nanmin(second) != np.nanmax(second) and np.nanmin(first) == np.nanmax(first):
        return "month-day-year", reasons.SECOND_CHANGES
    return None, ""


def iso_epoch_s(texts: pa.StringArray) -> tuple[float, np.ndarray, bool] | None:
    """Plain ISO 8601 texts the quick way, as `epoch_s` gives them, and whether they state their zone.

    ``None`` where any text is of another form: the slower way of `take_apart` then says more.
    """
    import pyarrow as pa
    import pyarrow.compute as pc

    first = texts.drop_null().slice(0, 1).to_pylist()
    if not first or not re.match(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}", first[0]):
        return None
    has_zone = bool(re.search(r"(Z|[+-]\d{2}:?\d{2})$", first[0][16:]))
    try:
        stamps = pc.cast(texts, pa.timestamp("us", "UTC" if has_zone else None), memory_pool=pa.system_memory_pool())
    except pa.ArrowInvalid:
        return None
    valid_mask = mask_of(pc.is_valid(stamps))
    counts = counts_of(stamps)
    base = int(counts[valid_mask][0]) // 1_000_000
    since_base_s = (counts - base * 1_000_000) / 1e6
    since_base_s[~valid_mask] = np.nan
    return float(base), since_base_s, has_zone


def epoch_s(wall: WallTexts, order: DateOrder) -> tuple[float, np.ndarray]:
    """Whole seconds from 1970-01-01 to a base, and seconds from there, shape (n,) [s].

    NaN for a date that does not exist. Two parts, since a number that counts from 1970 keeps no microseconds.
    """
    places = {"year-month-day": (0, 1, 2), "day-month-year": (2, 1, 0), "month-day-year": (2, 0, 1)}[order]
    year, month, day = (wall.parts[:, k] for k in places)
    year = np.where(year < 100, year + 2000, year)
    good_mask = (year >= 1970) & (year <= 2200) & (month >= 1) & (month <= 12) & (day >= 1) & (day <= 31)
    months = np.where(good_mask, (year - 1970) * 12 + month - 1, 0).astype("int64").astype("datetime64[M]")
    days = months.astype("datetime64[D]") + np.where(good_mask, day - 1, 0).astype("int64")
    good_mask &= days.astype("datetime64[M]") == months
    base = int(days.astype("int64")[good_mask][0]) if good_mask.any() else 0
    since_base = (days.astype("int64") - base) * 86400.0 + wall.day_s
    return base * 86400.0, np.where(good_mask, since_base, np.nan)
