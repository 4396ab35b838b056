"""STORE.md and the documentation say what a store holds, and their queries run."""

import contextlib
import io
import re

import duckdb
import numpy as np
import pandas as pd
import polars as pl
import pytest

import ridelog
from ridelog.fleet.store.about import about, tables_in_words
from ridelog.fleet.store.columns import TABLES, columns
from tests.fleet.store.kept import made_ride
from tests.places import ROOT


def test_the_documentation_has_the_tables_of_the_schema():
    assert tables_in_words() in (ROOT / "docs" / "store.md").read_text(encoding="utf-8")


def test_every_column_is_named_with_its_unit():
    lines = about().splitlines()
    for table in TABLES:
        for each in columns(table):
            assert any(line.startswith(f"| `{each.name}` |") and f"| {each.unit or ''} |" in line for line in lines)


@pytest.mark.parametrize("reader", ["pandas", "duckdb", "polars"])
def test_a_query_of_the_store_reads_it_without_ridelog(tmp_path, monkeypatch, reader):
    """Two rides of 212 Wh drawn, with 14.1 and 16.1 Wh returned: by hand 30.2 / 424 = 7.1226 %; another 6.6509 %."""
    store = ridelog.open_store(tmp_path, create=True)
    store.write(made_ride(1))
    store.write(made_ride(2, returned_wh=16.1))
    store.write(made_ride(3, bike="Two / 2"))
    blocks = re.findall(r"^```python\n(.*?)^```$", (tmp_path / "STORE.md").read_text(encoding="utf-8"), re.M | re.S)
    (block,) = [each for each in blocks if f"import {reader}" in each]
    assert "ridelog" not in block
    monkeypatch.chdir(tmp_path)
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(block, reader, "exec"), {})
    for shown in ("Gannet", "7.12", "Two / 2", "6.65"):
        assert shown in out.getvalue()


def read_by(reader, path):
    """Current, time and whether the position is known, as pandas, DuckDB and Polars read them."""
    if reader == "pandas":
        frame = pd.read_parquet(path, dtype_backend="pyarrow")
        return (
            frame["current_a"].astype(float),
            frame["time"].astype("datetime64[us, UTC]"),
            frame["latitude_deg"].notna(),
        )
    if reader == "duckdb":
        order = f"SELECT current_a::DOUBLE AS a, epoch_us(time) AS t, latitude_deg IS NOT NULL AS known FROM '{path}'"
        held = duckdb.sql(order).fetchnumpy()
        return held["a"], pd.to_datetime(held["t"], unit="us", utc=True), held["known"]
    held = pl.read_parquet(path)
    times = pd.to_datetime(held["time"].dt.timestamp("us").to_numpy(), unit="us", utc=True)
    return held["current_a"].cast(pl.Float64).to_numpy(), times, held["latitude_deg"].is_not_null().to_numpy()


@pytest.mark.parametrize("reader", ["pandas", "duckdb", "polars"])
def test_a_series_is_read_without_ridelog(tmp_path, reader):
    ride = made_ride(1)
    ridelog.open_store(tmp_path, create=True).write(ride)
    (path,) = (tmp_path / "series").iterdir()
    current_a, time, known = read_by(reader, path)
    was = ride.answer.series
    assert np.allclose(current_a, was["current_a"], rtol=1e-15, atol=0)
    assert (pd.DatetimeIndex(time) == was.index).all()
    assert (np.asarray(known, dtype=bool) == was["latitude_deg"].notna()).all()


@pytest.mark.parametrize("reader", ["pandas", "duckdb", "polars"])
def test_the_way_of_a_hill_is_read_without_ridelog(tmp_path, reader):
    store = ridelog.open_store(tmp_path, create=True)
    store.write(made_ride(1))
    files = str(tmp_path / "hills" / "*.parquet")
    line = {
        "pandas": lambda: pd.read_parquet(tmp_path / "hills")["line_latitude_deg"][0],
        "duckdb": lambda: duckdb.sql(f"SELECT line_latitude_deg FROM '{files}'").fetchall()[0][0],
        "polars": lambda: pl.read_parquet(files)["line_latitude_deg"][0].to_numpy(),
    }[reader]()
    assert np.array_equal(line, store.hills()["line_latitude_deg"][0])
    assert len(line) > 40
