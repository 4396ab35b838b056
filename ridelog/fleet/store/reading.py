"""The rows of many rides' files as one table, without opening again what was read before.

A file holds one ride, and opening it costs more than reading it: 2,000 of them take seconds. Their rows are therefore
kept together beside the tables, each with its file's path and stamp; a file whose stamp is another is read anew.
That is a copy of what stands in the files: whoever takes it away loses nothing.
"""

from __future__ import annotations

import contextlib
import io
from collections.abc import Mapping, Sequence

import pyarrow as pa
import pyarrow.ipc

from ridelog.errors import StoreError
from ridelog.fleet.store.columns import arrow_schema
from ridelog.fleet.store.packed import unpacked
from ridelog.fleet.store.places import Place

KEPT_FROM = 50  # files read anew, before the copy is written again
_PATH, _STAMP = "_path", "_stamp"
_WHOLE = "answer"  # the JSON of a whole answer is larger than all other columns together


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
    rows : in no order; a file that has gone meanwhile has none

    Raises
    ------
    StoreError : a file cannot be read
    """
    schema = pa.schema([arrow_schema(table).field(name) for name in names])
    if _WHOLE in names:
        return _read(place, schema, list(listed)).select(names)
    kept_schema = pa.schema([field for field in arrow_schema(table) if field.name != _WHOLE])
    kept = _kept(place, table, kept_schema, listed)
    missing = sorted(set(listed) - set(kept[_PATH].to_pylist()))
    if missing:
        fresh = _read(place, kept_schema, missing)
        stamps = [listed[path] for path in fresh[_PATH].to_pylist()]
        fresh = fresh.append_column(_STAMP, pa.array(stamps, pa.string()))
        kept = pa.concat_tables([kept, fresh]).combine_chunks()
        if len(missing) >= KEPT_FROM:
            _keep(place, table, kept)
    return kept.select(names)


def _read(place: Place, schema: pa.Schema, paths: Sequence[str]) -> pa.Table:
    """The rows of files, with the path of each."""
    whole = schema.append(pa.field(_PATH, pa.string()))
    tables = (_rows(content, path, whole, place.address) for path, content in place.read(paths))
    return pa.concat_tables([whole.empty_table(), *tables]).combine_chunks()


def _rows(content: bytes, path: str, schema: pa.Schema, address: str) -> pa.Table:
    """The rows of one file, with those columns; what it does not have is not known."""
    table = unpacked(content, f"{address}/{path}", schema.names)
    table = table.append_column(_PATH, pa.array([path] * len(table), pa.string()))
    if table.column_names != schema.names:
        held = set(table.column_names)
        unknown = {field.name: pa.nulls(len(table), field.type) for field in schema if field.name not in held}
        table = pa.table({name: table[name] if name in held else unknown[name] for name in schema.names})
    return table if table.schema.equals(schema) else table.cast(schema)


def _kept(place: Place, table: str, schema: pa.Schema, listed: Mapping[str, str]) -> pa.Table:
    """What the copy has of the files, as they are now."""
    whole = schema.append(pa.field(_PATH, pa.string())).append(pa.field(_STAMP, pa.string()))
    for _, content in place.read([_copy_of(table)]):
        with contextlib.suppress(pa.ArrowInvalid, OSError):  # damaged: as if it were not there
            held = pa.ipc.open_file(pa.py_buffer(content)).read_all()
            if held.schema.equals(whole):
                path, stamp = (held[name].to_pandas() for name in (_PATH, _STAMP))
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
