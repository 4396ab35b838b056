"""A comparison as HTML, as a zip of every table, and its figures."""

import io
import json
import zipfile
from dataclasses import replace

import numpy as np
import pandas as pd

from ridelog.compare.groups import Way
from ridelog.report.comparison.files import comparison_document, comparison_figures
from ridelog.report.comparison.page import comparison_page
from ridelog.report.making import Making
from tests.compare.campaigns import told_comparison
from tests.compare.made_up import rides_at_hand
from tests.scenarios import sample_answer

TOLD = told_comparison()
RIDES = rides_at_hand(commute=sample_answer("commute"), winter=sample_answer("winter"))


def test_html_is_the_page():
    assert comparison_document(TOLD, Making(), RIDES, ".html").decode() == comparison_page(TOLD, None, RIDES)


def test_a_zip_holds_the_page_the_figures_the_tables_and_the_hashes():
    content = comparison_document(TOLD, Making(), RIDES, ".zip")
    assert content == comparison_document(TOLD, Making(), RIDES, ".zip")
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        manifest = json.loads(packed.read("manifest.json"))
        rides = pd.read_csv(io.BytesIO(packed.read("tables/rides.csv")))
        differences = pd.read_parquet(io.BytesIO(packed.read("tables/differences.parquet")))
        bike = pd.read_csv(io.BytesIO(packed.read("tables/bike.csv")))
        sources = pd.read_csv(io.BytesIO(packed.read("tables/sources.csv")))
    first, source = TOLD.rides[0], RIDES[0].answer.sources[0]
    name = source.path.rpartition("/")[2]
    assert manifest["inputs"][0] == {"name": name, "role": "off: commute", "sha256": source.sha256}
    assert {"name": "bike.toml", "role": "on: winter", "sha256": "b" * 64} in manifest["inputs"]
    assert sources["path"].iloc[0] == name
    assert set(bike["ride"]) == {"commute", "winter"}
    assert rides["recovered_pct"].iloc[0] == first.recovered_pct.value
    assert differences["difference"].iloc[0] == TOLD.differences[0].difference.value
    assert manifest["units"]["rides"]["net_wh_per_km"] == "Wh/km"


def test_figures_are_those_of_the_page():
    assert {"differences.svg", "differences.png"} <= set(comparison_figures(TOLD, Making()))


def test_a_map_is_there_where_positions_may_be_shown_and_nowhere_else():
    rides = [replace(ride, way=Way(np.array([45.0, 45.01]), np.array([7.0, 7.0]))) for ride in RIDES]
    for with_places in (True, False):
        making = Making(with_places=with_places)
        assert ('id="ways"' in comparison_document(TOLD, making, rides, ".html").decode()) is with_places
        assert ("map.svg" in comparison_figures(TOLD, making, rides)) is with_places
