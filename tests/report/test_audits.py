"""An audit as a page, as CSV and as Parquet: the same numbers in each."""

import io
from dataclasses import replace
from datetime import UTC, datetime

import pandas as pd
import pytest

from ridelog.fleet.history.one_way import OneWay
from ridelog.fleet.record import RidePoint
from ridelog.report.audits import audit_csv, audit_frame, audit_page, audit_parquet
from ridelog.tell.numbers import IMPERIAL
from ridelog.uncertain.quantity import Quantity
from tests.fleet.audits import made_up


def test_the_page_says_what_stands_out_since_when_and_what_failed():
    page = audit_page(made_up())
    assert "<h1>62 rides of 3 bikes: 1 bike stands out; 1 ride or file could not be measured.</h1>" in page
    assert '<li class="danger"><b class="danger">Dunlin &lt;b&gt;: regen lost since 14 March 2026.</b> ' in page
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


def test_the_page_has_each_bike_by_month_and_by_direction():
    ways = (
        OneWay(
            1, "there", "to work", datetime(2026, 1, 2, 7, tzinfo=UTC), 9, 22.0, 74.0, Quantity(21.0, 16.5, 25.3), None
        ),
        OneWay(1, "back", "home", None, 8, None, 22.0, Quantity(3.2, 0.4, 6.2), None),
    )
    audit = made_up()
    points = tuple(
        RidePoint(str(at), "n", datetime(2026, 1, at, tzinfo=UTC), Quantity(5.0, 4.0, 6.0), None) for at in (1, 2, 3)
    )
    bike = replace(
        audit.bikes[0], history=points, by_air_c={"..0": Quantity(4.0, 3.0, 5.0), "0..10": None}, by_direction=ways
    )
    page = audit_page(replace(audit, bikes=(bike,))).replace("\N{NO-BREAK SPACE}", " ")
    assert page.count("<details>") == 1
    for head in ("January 2026", "air below 0 °C", "road 1 there, up 22 m, down 74 m, 9 rides"):
        assert head in page
    assert "road 1 back, down 22 m, 8 rides: as home<" in page
    assert "air of 0 °C to 10 °C" not in page  # it has no figure
    assert "Parts of which fewer than three rides know it are left out." in page
