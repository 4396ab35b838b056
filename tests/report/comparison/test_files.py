"""A comparison as HTML, as a zip of every table, and its figures."""

import io
import json
import zipfile

import pandas as pd

from ridelog.report.comparison.files import comparison_document, comparison_figures
from ridelog.report.comparison.page import comparison_page
from ridelog.report.making import Making
from tests.compare.campaigns import told_comparison

TOLD = told_comparison()
FILES = {TOLD.rides[0].key: [("log.csv", "d" * 64)]}


def test_html_is_the_page():
    assert comparison_document(TOLD, Making(), FILES, ".html").decode() == comparison_page(TOLD, None, FILES)


def test_a_zip_holds_the_page_the_figures_the_tables_and_the_hashes():
    content = comparison_document(TOLD, Making(), FILES, ".zip")
    assert content == comparison_document(TOLD, Making(), FILES, ".zip")
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        manifest = json.loads(packed.read("manifest.json"))
        rides = pd.read_csv(io.BytesIO(packed.read("tables/rides.csv")))
        differences = pd.read_parquet(io.BytesIO(packed.read("tables/differences.parquet")))
    first = TOLD.rides[0]
    assert manifest["inputs"] == [{"name": "log.csv", "role": f"{first.group}: {first.name}", "sha256": "d" * 64}]
    assert rides["recovered_pct"].iloc[0] == first.recovered_pct.value
    assert differences["difference"].iloc[0] == TOLD.differences[0].difference.value
    assert manifest["units"]["rides"]["net_wh_per_km"] == "Wh/km"


def test_figures_are_those_of_the_page():
    assert {"differences.svg", "differences.png"} <= set(comparison_figures(TOLD, Making()))
