"""An audit as a page, as CSV and as Parquet: the same numbers in each."""

import io

import pandas as pd
import pytest

from ridelog.report.audits import audit_csv, audit_frame, audit_page, audit_parquet
from ridelog.tell.numbers import IMPERIAL
from tests.fleet.audits import made_up


def test_the_page_says_what_stands_out_since_when_and_what_failed():
    page = audit_page(made_up())
    assert "<h1>62 rides of 3 bikes: 1 bike stands out; 1 ride or file could not be measured.</h1>" in page
    assert '<li class="danger"><b class="danger">Dunlin &lt;b&gt;, since 14 March 2026</b>: ' in page
    assert "holds no point" in page
    assert "<script" not in page
    assert ">6.7 ±0.7<" in page
    assert page == audit_page(made_up())


def test_the_page_is_imperial_where_that_is_asked():
    assert "156 mi" in audit_page(made_up(), IMPERIAL).replace("\N{NO-BREAK SPACE}", " ")  # 251.3 km


def test_csv_and_parquet_hold_a_row_a_bike_with_bounds_beside_values():
    frame = audit_frame(made_up())
    read = pd.read_csv(io.StringIO(audit_csv(made_up())))
    kept = pd.read_parquet(io.BytesIO(audit_parquet(made_up())))
    for table in (frame, read, kept):
        assert list(table["bike"]) == ["Avocet", "Dunlin <b>", "Ruff"]
        assert table["recovered_pct"][0] == pytest.approx(6.71)
        assert table["recovered_pct_low95"][0] == pytest.approx(6.02)
        assert table["recovered_pct"].isna().tolist() == [False, False, True]
        assert table["stands_out"][1] == "regen-lost"
    assert list(frame.columns) == list(read.columns) == list(kept.columns)
