"""STORE.md and the documentation say what a store holds, and their queries run."""

import contextlib
import io
import re

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
