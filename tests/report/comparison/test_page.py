"""The document of a comparison: the numbers of the JSON, a verdict only where there is one, the same bytes again."""

import json
import re

import pytest

from ridelog.compare.record import Comparison
from ridelog.report.comparison.page import comparison_page
from ridelog.report.making import GivenFile, Making
from tests.compare.campaigns import told_comparison
from tests.report.reading import Document, numbers_in
from tests.report.ride.test_page import STYLES, assert_told, factor

TOLD = told_comparison()
FIELDS = {
    "groups": {"recovered_mean": "recovered_pct", "captured_mean": "captured_pct", "use_mean": "net_wh_per_km"},
    "rides": {"recovered_share": "recovered_pct", "captured_share": "captured_pct", "use": "net_wh_per_km"},
}


def times_of(field, unit):
    return 1.0 if unit in ("points", "%") else factor(field, unit)


@pytest.mark.parametrize("style", STYLES)
def test_every_number_of_a_table_is_that_of_the_json(style):
    data, point = TOLD.to_dict(), STYLES[style].point
    document = Document(comparison_page(TOLD, Making(style=STYLES[style])))
    n_checked = 0
    for name, fields in FIELDS.items():
        table = document.tables[f"t-{name}"]
        for key, field in fields.items():
            if key not in table.keys:
                assert all(row[field] is None for row in data[name])
                continue
            times = times_of(field, table.head(key).rpartition(", ")[2])
            for cell, row in zip(table.column(key), data[name], strict=True):
                assert_told(cell, row[field], times, point)
                n_checked += 1
    table = document.tables["t-differences"]
    ordered = sorted(data["differences"], key=lambda row: row["corrected"])
    for n, row in enumerate(ordered):
        cells = {key: table.column(key)[n] for key in table.keys}
        if row["difference"] is not None:
            unit = re.split("[\u00a0 ]", cells["change"][0])[-1]
            assert_told(cells["change"], row["difference"], times_of(row["quantity"], unit), point)
            n_checked += 1
        if row["smallest_told"] is not None:
            unit = re.split("[\u00a0 ]", cells["least"][0])[-1]
            assert_told(cells["least"], row["smallest_told"], times_of(row["quantity"], unit), point)
        if row["rides_to_settle"] is not None:
            assert cells["to_settle"][0] == str(row["rides_to_settle"])
    assert n_checked >= 10


def test_the_answer_is_the_headline_and_what_is_not_told_stands_below_it():
    document = Document(comparison_page(TOLD))
    told = next(each for each in TOLD.differences if each.verdict != "not-told")
    assert document.h1.startswith(f"{told.second.capitalize()} recovered ")
    (value, half), *_ = numbers_in(document.h1)
    assert value == pytest.approx(abs(told.difference.value), abs=1.0001 * half)
    assert "It is not clear whether" in document.text
    assert "Corrected for" in document.text
    assert any(given.get("id") == "differences-t" for _, given in document.tags)


def test_each_ride_has_its_files_and_the_command_stands_at_the_end():
    making = Making(command="ridelog report --group a=b", given=(GivenFile("bike.toml", "bike file", "e" * 64),))
    document = Document(comparison_page(TOLD, making, {TOLD.rides[0].key: [("log.csv", "d" * 64)]}))
    for words in ("d" * 64, "log.csv", "e" * 64, TOLD.rides[-1].key):
        assert words in document.text
    assert document.command == "ridelog report --group a=b"


def test_it_is_whole_and_the_same_again_whatever_its_groups_are_called():
    evil = "<script>alert(1)</script>'\"><b>&"
    data = json.loads(json.dumps(TOLD.to_dict()).replace("strong", json.dumps(evil)[1:-1]))
    page = comparison_page(Comparison.from_dict(data))
    assert page == comparison_page(Comparison.from_dict(data))
    document = Document(page)
    assert document.wrong == []
    assert "alert(1)" in document.text
    assert not any(tag == "script" for tag, _ in document.tags)
    ids = [given["id"] for _, given in document.tags if "id" in given]
    assert len(ids) == len(set(ids))
    assert len(page) < 400_000
