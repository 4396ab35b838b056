"""The column of times in a log whose headers name none: its cells are times that go on, or its header is "s" alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ridelog.importers.delimited.clock.wall_time import iso_epoch_s, take_apart, time_of_day_s
from ridelog.importers.delimited.dialect import NO_VALUE, Dialect
from ridelog.vocabulary.headers import HeaderMeaning, understand
from ridelog.vocabulary.units import unit_named

if TYPE_CHECKING:
    from ridelog.settings.column_map import ColumnEntry

_DAY_S = 86_400.0
_TIMELY = ("time", "date")
_SPANS = frozenset({"void", "part"})  # words such as "remaining" or "lap": of a span, which is no stamp of its row


def time_found(
    dialect: Dialect, meanings: Sequence[HeaderMeaning], entries: Sequence[ColumnEntry | None]
) -> list[HeaderMeaning]:
    """The meanings, with a time where no header names one and one column is nothing else.

    Parameters
    ----------
    dialect : headers, and the cells of the first rows
    meanings, entries : of every column, by its words and by the map

    Returns
    -------
    meanings : as given where a header or the map tells of times, or where no column or more than one holds them
    """
    found = list(meanings)
    if any(meaning.quantity in _TIMELY for meaning in meanings):
        return found
    free = [i for i, m in enumerate(meanings) if entries[i] is None and not (m.quantity or m.concepts & _SPANS)]
    for timely in (_with_times(dialect, free), [i for i in free if dialect.headers[i].strip() == "s"]):
        if len(timely) == 1:
            index = timely[0]
            found[index] = replace(understand("time"), unit=unit_named(dialect.headers[index]))
            break
    return found


def _with_times(dialect: Dialect, columns: Sequence[int]) -> list[int]:
    """Those whose cells are times, of which none is before the one above it and one is after."""
    timely = []
    for index in columns:
        cells = [row[index] for row in dialect.sample if row[index].lower() not in NO_VALUE]
        if all(":" in cell for cell in cells) and _go_on(_times_s(cells)):
            timely.append(index)
    return timely


def _times_s(cells: Sequence[str]) -> np.ndarray:
    """The cells as seconds, of some day, NaN where one is no time, shape (n,) [s]."""
    import pyarrow as pa

    texts = pa.array(cells, pa.string())
    if (iso := iso_epoch_s(texts)) is not None:
        return iso[1]
    if (apart := take_apart(texts)) is not None:
        return np.where(np.isfinite(apart.parts).all(axis=1), apart.day_s, np.nan)
    return time_of_day_s(texts)[0]


def _go_on(times_s: np.ndarray) -> bool:
    """Whether all are known, none is before the one above it but by midnight, and one is after."""
    steps_s = np.diff(times_s) % _DAY_S
    return bool((steps_s < _DAY_S / 2).all() and (steps_s > 0).any())
