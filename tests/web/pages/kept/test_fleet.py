"""The fleet on the page: each number is that of `audit --json`, bikes in order, and three files."""

import io
import re

import pandas as pd

from ridelog.fleet.together import audit_of_store
from ridelog.tell.kinds import CONSUMPTION, PERCENTAGE
from ridelog.tell.numbers import PAGE, cell
from tests.web.pages.reading import tables


def test_every_number_is_the_audits(look, store):
    told = audit_of_store(store.store()).to_dict()
    read = tables(look("/fleet").text)
    assert [row[:2] for row in read["Bikes"]] == [[bike["bike"], str(bike["rides"])] for bike in told["bikes"]]
    audit = audit_of_store(store.store())
    for row, bike in zip(read["Bikes"], audit.bikes, strict=True):
        for quantity, kind in ((bike.recovered_pct, PERCENTAGE), (bike.net_wh_per_km, CONSUMPTION)):
            assert quantity is None or cell(quantity, kind, PAGE) in row
        rides = read[f"The {bike.rides} rides of {bike.bike}"]
        assert [row[0] for row in rides] == [point.name for point in bike.history]
        assert [row[2] for row in rides] == [cell(point.recovered_pct, PERCENTAGE, PAGE) for point in bike.history]
    assert {row[0] for row in read["Hills"]} == {hill["name"] for hill in told["hills"]}
    assert look("/fleet.json").json == told


def test_each_bike_has_its_trend(look):
    page = look("/fleet").text
    assert len(re.findall(r'<section class="history"', page)) == 2
    assert page.count('class="dot"') == 7
    assert page.count('class="whisker"') == 7
    assert "Ruff &lt;i&gt;" in page
    assert "<i>" not in page
    assert len(re.findall('href="/hill/[0-9a-f]{8}-down"', page)) >= 1
    assert len(set(re.findall('href="/ride/([0-9a-f]{64})"', page))) == 7


def test_the_bikes_can_be_taken_away(look):
    csv = pd.read_csv(io.StringIO(look("/fleet.csv").text))
    parquet = pd.read_parquet(io.BytesIO(look("/fleet.parquet").data))
    assert list(csv["bike"]) == list(parquet["bike"])
    assert csv["recovered_pct"].round(9).equals(parquet["recovered_pct"].astype(float).round(9))
