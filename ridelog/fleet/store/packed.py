"""Tables as small Parquet files, and back."""

from __future__ import annotations

import io
from collections.abc import Collection
from itertools import groupby
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from ridelog.tell.refusals import store as refusals

# A foot of 88 columns is a third of a ride's row: nothing that can be done without stands in it. Pages of version 2
# leave unpacked what packing would make larger.
_SMALL: dict[str, Any] = {
    "use_dictionary": False,
    "write_statistics": False,
    "store_schema": False,
    "data_page_version": "2.0",
    "compression": "zstd",
    "compression_level": 15,
}


def packed(table: pa.Table, **options: Any) -> bytes:
    """A table as a Parquet file; ``options`` of pyarrow's."""
    content = io.BytesIO()
    pq.write_table(table, content, **_SMALL, **options)
    return content.getvalue()


def unpacked(content: bytes, path: str, names: Collection[str] | None = None) -> pa.Table:
    """The table of a Parquet file.

    Parameters
    ----------
    content : of the file
    path : of the file, for messages
    names : of the columns wanted, ``None`` for all; one that it does not have is left out

    Returns
    -------
    table : its columns in the order of the file

    Raises
    ------
    StoreError : it is no such file
    """
    try:
        file = pq.ParquetFile(io.BytesIO(content))
        there = [name for name in file.schema_arrow.names if names is None or name in names]
        return file.read(columns=there, use_threads=False)
    except (pa.ArrowInvalid, OSError) as error:
        raise refusals.damaged(path) from error


def by_ride(rows: pa.Table) -> dict[str, pa.Table]:
    """The rows of each ride, in the order in which they stand.

    Parts of the table as it lies: arrow's kernels begin threads of their own, which a process that is forked lacks.
    """
    parts: dict[str, list[pa.Table]] = {}
    first = 0
    for key, run in groupby(rows["key"].to_pylist()):
        n = sum(1 for _ in run)
        parts.setdefault(key, []).append(rows.slice(first, n))
        first += n
    return {key: pa.concat_tables(each) for key, each in parts.items()}
