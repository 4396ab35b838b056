"""Small Parquet files."""

import pyarrow as pa
import pytest

from ridelog.errors import StoreError
from ridelog.fleet.store.packed import packed, unpacked


def test_a_table_comes_back_with_the_columns_that_are_there():
    table = pa.table({"a": [1.5, None], "b": ["x", "y"]})
    content = packed(table)
    assert unpacked(content, "t").equals(table)
    assert unpacked(content, "t", ["b", "c"]).column_names == ["b"]


def test_a_damaged_file_is_one_sentence():
    content = packed(pa.table({"a": [1.5]}))
    for damaged in (b"", b"PAR1", content[:-9], content[: len(content) // 2]):
        with pytest.raises(StoreError, match=r"hills/x\.parquet: cannot be read: it is damaged, or no Parquet file"):
            unpacked(damaged, "hills/x.parquet")
