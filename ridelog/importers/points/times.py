"""Time stamps of points as microseconds since 1970: those that are written alike at once, any other one by one."""

import re
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
_FIRST_DAY = np.datetime64("0001-01-01")  # of datetime's calendar; numpy's begins before
_ONE_DIGIT = str.maketrans("123456789", "000000000")
_PLAIN_SHAPE = re.compile(r"0000-00-00[T ]00:00:00(?:\.0{1,6})?Z?")


def stamps_of(texts: Sequence[str]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Times of texts; gpxpy decides on all but dates with whole or decimal seconds in UTC or of no zone.

    Returns
    -------
    time_us : since 1970, shape (n,); 0 where there is none [1e-6 s]
    zoned_mask : whether the text names a zone, shape (n,)
    readable_mask : whether it is a time, shape (n,)
    """
    time_us = np.zeros(len(texts), dtype=np.int64)
    zoned_mask, readable_mask = np.zeros(len(texts), dtype=bool), np.zeros(len(texts), dtype=bool)
    for shape, rows in _alike(texts):
        if not shape:
            continue
        if _PLAIN_SHAPE.fullmatch(shape) and (plain := _plain_us([texts[row] for row in rows])) is not None:
            time_us[rows], zoned_mask[rows], readable_mask[rows] = plain, shape.endswith("Z"), True
            continue
        for row in rows:
            if (stamp := microseconds(texts[row])) is not None:
                time_us[row], zoned_mask[row] = stamp
                readable_mask[row] = True
    return time_us, zoned_mask, readable_mask


def _alike(texts: Sequence[str]) -> Iterator[tuple[str, Sequence[int]]]:
    """Texts that are written alike, but for their digits: in what form, and which they are."""
    shapes = "\n".join(texts).translate(_ONE_DIGIT).split("\n")
    if len(shapes) == len(texts) and shapes.count(shapes[0]) == len(shapes):
        yield shapes[0], range(len(texts))
        return
    rows_of: dict[str, list[int]] = {}
    for row, text in enumerate(texts):
        rows_of.setdefault(text.translate(_ONE_DIGIT), []).append(row)
    yield from rows_of.items()


def _plain_us(texts: Sequence[str]) -> np.ndarray | None:
    """Microseconds of plain stamps, shape (n,); ``None`` where one is of no calendar."""
    try:
        times = np.array([text.removesuffix("Z") for text in texts], dtype="datetime64[us]")
    except ValueError:
        return None
    return None if times.min() < _FIRST_DAY else times.view(np.int64)


def microseconds(text: str) -> tuple[int, bool] | None:
    """Microseconds since 1970 and whether the zone is known; ``None`` for no time, or an impossible zone."""
    from gpxpy.gpxfield import TIME_TYPE

    time: Any = TIME_TYPE.from_string(text)
    if time is None:
        return None
    zoned = time.tzinfo is not None
    try:
        since = (time if zoned else time.replace(tzinfo=UTC)) - EPOCH
    except (ValueError, OverflowError):
        return None
    return since // _MICROSECOND, zoned
