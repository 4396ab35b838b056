"""What a measuring process hands back: an answer as JSON and the columns that are drawn as arrays; nothing that runs.

A process that read a hostile file is not trusted: what it says is data, checked as any answer that is read back.
"""

import io
import json
import zlib
from collections.abc import Callable
from dataclasses import asdict, replace
from typing import Any

import numpy as np
import pandas as pd

from ridelog.answer.ride import Answer
from ridelog.recording import ColumnReading, Preview
from ridelog.web.rides import KEPT_COLUMNS, Columns, ShownRide

TIME = "time"


def packed(shown: ShownRide) -> tuple[bytes, bytes]:
    """A ride as two messages: all that is said of it, and its series."""
    told = {
        "title": shown.title,
        "answer": shown.answer.to_dict() if shown.answer is not None else None,
        "error_lines": shown.error_lines,
        "columns": [asdict(each) for each in shown.columns],
        "sample": shown.sample,
        "files": shown.files,
    }
    series = shown.answer.series if shown.answer is not None else pd.DataFrame()
    target = io.BytesIO()
    arrays: dict[str, Any] = {name: series[name].to_numpy() for name in KEPT_COLUMNS if name in series}
    if isinstance(series.index, pd.DatetimeIndex):
        arrays[TIME] = series.index.tz_localize(None).to_numpy()  # UTC, as all times of a series
    np.savez(target, **arrays)
    return json.dumps(told, allow_nan=False).encode(), target.getvalue()


def unpacked(told: bytes, arrays: bytes) -> ShownRide:
    """The ride of two such messages.

    Raises
    ------
    ValueError : they are none
    AnswerError : the answer in them is none
    """
    said = json.loads(told)
    with np.load(io.BytesIO(arrays), allow_pickle=False) as file:
        series = pd.DataFrame({name: file[name] for name in KEPT_COLUMNS if name in file.files})
        if TIME in file.files:
            series.index = pd.DatetimeIndex(file[TIME], name=TIME).tz_localize("UTC")
    answer = None
    if said["answer"] is not None:
        answer = replace(Answer.from_dict(said["answer"]), series=series)
    columns = tuple(
        Columns(
            each["name"],
            tuple(ColumnReading(**reading) for reading in each["readings"]),
            tuple(each["questions"]),
            each["map_toml"],
            tuple(_preview(one) for one in each["previews"]),
        )
        for each in said["columns"]
    )
    return ShownRide(
        said["title"],
        answer,
        tuple(said["error_lines"]),
        columns,
        said["sample"],
        tuple(said["files"]),
        size_bytes=int(series.memory_usage().sum()) if answer is not None else 0,
    )


def folded(shown: ShownRide) -> Callable[[], ShownRide]:
    """What gives a ride back that came from such a process, in a tenth of the room."""
    told, arrays = (zlib.compress(each, 1) for each in packed(shown))
    return lambda: unpacked(zlib.decompress(told), zlib.decompress(arrays))


def _preview(said: Any) -> Preview:
    values = tuple(None if value is None else float(value) for value in said["values"])
    return Preview(values, tuple(str(cell) for cell in said["cells"]))
