"""One answer in three forms, and its figures."""

import io
import json
import zipfile

import pandas as pd
import pytest

from ridelog.report.making import Making
from ridelog.report.ride.files import ride_document, ride_figures
from ridelog.report.ride.page import ride_page
from tests.scenarios import sample_answer

FIGURES = ["ledger.png", "ledger.svg", "map.png", "map.svg", "power.png", "power.svg", "profile.png", "profile.svg"]


def test_html_is_the_page():
    assert ride_document(sample_answer("errand"), Making(), ".html").decode() == ride_page(sample_answer("errand"))


@pytest.mark.parametrize("with_places", [True, False])
def test_figures_are_svg_and_png_and_hold_no_map_unasked(with_places):
    figures = ride_figures(sample_answer("commute"), Making(with_places=with_places))
    assert sorted(figures) == [name for name in FIGURES if with_places or not name.startswith("map")]
    assert all(content.startswith(b"\x89PNG") for name, content in figures.items() if name.endswith("png"))
    assert all(content.startswith(b"<svg ") for name, content in figures.items() if name.endswith("svg"))


def test_a_zip_holds_the_page_the_figures_every_table_and_the_hashes():
    answer = sample_answer("commute")
    content = ride_document(answer, Making(with_places=False), ".zip")
    assert content == ride_document(answer, Making(with_places=False), ".zip")
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        names = packed.namelist()
        manifest = json.loads(packed.read("manifest.json"))
        samples = pd.read_parquet(io.BytesIO(packed.read("tables/samples.parquet")))
        hills = pd.read_csv(io.BytesIO(packed.read("tables/hills.csv")))
    assert "report.html" in names
    assert "figures/map.svg" not in names
    assert [each["sha256"] for each in manifest["inputs"]] == [source.sha256 for source in answer.sources]
    assert set(manifest["members"]) == set(names) - {"manifest.json"}
    assert len(samples) == len(answer.series)
    assert not {"latitude_deg", "east_m"} & set(samples.columns)
    assert hills["start_latitude_deg"].isna().all()
