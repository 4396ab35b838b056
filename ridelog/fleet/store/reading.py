"""Tables of a store for whoever asks for rides, without opening again what was read before.

A file may hold one ride, and opening it costs more than reading it: 2,000 take seconds. Their rows are therefore
kept together beside the tables, each with its file's path and stamp; a file whose stamp is another is read anew.
That is a copy of what stands in the files: whoever takes it away loses nothing.
"""

from __future__ import annotations

import contextlib
import io
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING

import pyarrow as pa
import pyarrow.ipc

from ridelog.errors import StoreError
from ridelog.fleet.store.columns import arrow_schema, columns
from ridelog.fleet.store.held import GoneError, Which, listed, may_be_meant, steady
from ridelog.fleet.store.packed import unpacked
from ridelog.fleet.store.places import Place
from ridelog.tell.refusals import store as refusals

if TYPE_CHECKING:
    import pandas as pd

KEPT_FROM = 50  # files read anew, before the copy is written again
TOGETHER = 32  # files whose rows become one piece: a table each of some rides and a hundred columns is mostly overhead
PATH, _STAMP = "_path", "_stamp"
_WHOLE = "answer"  # the JSON of a whole answer is larger than all other columns together


def asked(place: Place, table: str, which: Which) -> pd.DataFrame:
    """The rows of a table of the rides that are asked for, by the start of the ride.

    Parameters
    ----------
    place : of the store
    table : "answers" or another one
    which : rides, and columns

    Returns
    -------
    rows : numbers that are not known are NaN, times UTC

    Raises
    ------
    StoreError : the store cannot be read or has no such column, or a time has no zone
    """
    for bound in ("since", "until"):
        moment = which.get(bound)
        if moment is not None and (not isinstance(moment, datetime) or moment.tzinfo is None):
            raise refusals.no_moment(bound, moment)
    known = [each.name for each in columns(table)]
    said = which.get("columns")
    wanted = [name for name in known if name != _WHOLE] if said is None else list(said)
    for name in wanted:
        if name not in known:
            raise refusals.no_such_column(name, table)
    return steady(lambda: _frame(place, table, which, wanted), place.address)


def _frame(place: Place, table: str, which: Which, wanted: Sequence[str]) -> pd.DataFrame:
    files, rides = listed(place, table, partial(may_be_meant, which))
    held = [name for name in arrow_schema(table).names if name in {*wanted, "key", "ride_start"}]
    frame: pd.DataFrame = rows_of(place, table, files, held).to_pandas()
    frame = frame[frame[PATH] == frame["key"].map({key: entry.path(table) for key, entry in rides.items()})]
    for name in ("bike", "month"):
        if name not in held:
            told = frame["key"].map({key: getattr(entry, name) for key, entry in rides.items()})
            frame[name] = told.astype("str")
    return _between(frame, which).sort_values(["ride_start", "key"], kind="stable", ignore_index=True)[wanted]


def _between(frame: pd.DataFrame, which: Which) -> pd.DataFrame:
    """The rows of rides that began in a span."""
    since, until = which.get("since"), which.get("until")
    start = frame["ride_start"]
    if since is not None:
        frame = frame[start >= since]
    return frame if until is None else frame[frame["ride_start"] < until]


def rows_of(place: Place, table: str, listed: Mapping[str, str], names: Sequence[str]) -> pa.Table:
    """The rows of files.

    Parameters
    ----------
    place : of the store
    table : "answers" or another one
    listed : path -> stamp of the files
    names : of the columns wanted, of those that a file holds

    Returns
    -------
    rows : in no order, with the path of the file of each in a column `PATH`

    Raises
    ------
    GoneError : a file has gone meanwhile
    StoreError : a file cannot be read
    """
    told = [*names, PATH]
    schema = pa.schema([arrow_schema(table).field(name) for name in names])
    if _WHOLE in names:
        rows, n_read = _read(place, schema, list(listed))
        return _all(rows, n_read, len(listed)).select(told)
    kept_schema = pa.schema([field for field in arrow_schema(table) if field.name != _WHOLE])
    kept = _kept(place, table, kept_schema, listed)
    missing = sorted(set(listed) - set(kept[PATH].to_pylist()))
    n_read = 0
    if missing:
        fresh, n_read = _read(place, kept_schema, missing)
        stamps = [listed[path] for path in fresh[PATH].to_pylist()]
        fresh = fresh.append_column(_STAMP, pa.array(stamps, pa.string()))
        kept = pa.concat_tables([kept, fresh]).combine_chunks()
        if len(missing) >= KEPT_FROM:
            _keep(place, table, kept)
    return _all(kept, n_read, len(missing)).select(told)


def _all(rows: pa.Table, n_read: int, n_asked: int) -> pa.Table:
    """Rows, where all files that were asked for were there."""
    if n_read < n_asked:
        raise GoneError
    return rows


def _read(place: Place, schema: pa.Schema, paths: Sequence[str]) -> tuple[pa.Table, int]:
    """The rows of files, with the path of each, and how many files were there."""
    whole = schema.append(pa.field(PATH, pa.string()))
    parts, few, n_read = [whole.empty_table()], [], 0
    for path, content in place.read(paths):
        few.append(_rows(content, path, whole, place.address))
        n_read += 1
        if len(few) == TOGETHER:
            parts.append(pa.concat_tables(few).combine_chunks())
            few.clear()
    return pa.concat_tables([*parts, *few]).combine_chunks(), n_read


def _rows(content: bytes, path: str, schema: pa.Schema, address: str) -> pa.Table:
    """The rows of one file, with those columns; what it does not have is not known."""
    table = unpacked(content, f"{address}/{path}", schema.names)
    table = table.append_column(PATH, pa.array([path] * len(table), pa.string()))
    if table.column_names != schema.names:
        held = set(table.column_names)
        unknown = {field.name: pa.nulls(len(table), field.type) for field in schema if field.name not in held}
        table = pa.table({name: table[name] if name in held else unknown[name] for name in schema.names})
    return table if table.schema.equals(schema) else table.cast(schema)


def _kept(place: Place, table: str, schema: pa.Schema, listed: Mapping[str, str]) -> pa.Table:
    """What the copy has of the files, as they are now."""
    whole = schema.append(pa.field(PATH, pa.string())).append(pa.field(_STAMP, pa.string()))
    for _, content in place.read([_copy_of(table)]):
        with contextlib.suppress(pa.ArrowInvalid, OSError):  # damaged: as if it were not there
            held = pa.ipc.open_file(pa.py_buffer(content)).read_all()
            if held.schema.equals(whole):
                path, stamp = (held[name].to_pandas() for name in (PATH, _STAMP))
                return held.filter(pa.array((path.map(listed) == stamp).to_numpy(dtype=bool)))
    return whole.empty_table()


def _keep(place: Place, table: str, rows: pa.Table) -> None:
    """Write the copy, where we may."""
    content = io.BytesIO()
    with pa.ipc.new_file(content, rows.schema, options=pa.ipc.IpcWriteOptions(compression="zstd")) as writer:
        writer.write_table(rows)
    with contextlib.suppress(StoreError):
        place.put({_copy_of(table): content.getvalue()})


def _copy_of(table: str) -> str:
    """Path of the copy; readers of the tables pass over a folder whose name begins with a dot."""
    return f".rows/{table}.arrow"
