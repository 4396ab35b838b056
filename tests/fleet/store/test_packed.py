"""Small Parquet files."""

import pyarrow as pa
import pytest

from ridelog.errors import StoreError
from ridelog.fleet.store.packed import by_ride, packed, unpacked


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


def test_the_rows_of_each_ride_come_in_their_order():
    rows = pa.table({"key": ["a", "a", "b", "a"], "n": [1, 2, 3, 4]})
    assert {key: own["n"].to_pylist() for key, own in by_ride(rows).items()} == {"a": [1, 2, 4], "b": [3]}
    assert by_ride(rows.slice(0, 0)) == {}
