"""Tables for other programs: read back by others, they hold the numbers of the JSON, with their units."""

import hashlib
import io
import json
import zipfile

import pandas as pd
import polars as pl
import pytest

from ridelog.answer import frames
from ridelog.report.exports import archive, basis_tables, comparison_tables, csv_of, manifest_of, parquet_of, tables
from ridelog.report.making import GivenFile, Making
from tests.compare.campaigns import told_comparison
from tests.compare.made_up import rides_at_hand
from tests.scenarios import sample_answer


def at(data, path):
    """What stands at a path as "braking.events[3].available_wh"."""
    for step in path.replace("[", ".").replace("]", "").split("."):
        data = data[int(step)] if step.isdigit() else data[step]
    return data


def test_the_numbers_are_every_quantity_of_the_json_by_its_path():
    answer = sample_answer("commute")
    table, data = tables(answer)["numbers"], answer.to_dict()
    assert len(table) > 500
    for row in table.itertuples():
        quantity = at(data, row.path)
        assert row.value == quantity["value"], row.path
        assert (None if pd.isna(row.low95) else row.low95) == quantity["low95"]
    units = table.set_index("path")["unit"]
    assert units["energy.net_wh_per_km"] == "Wh/km"
    assert units["pack.resistance_ohm"] == "Ω"


def test_every_table_of_an_answer_is_there_and_is_read_by_other_programs():
    held = tables(sample_answer("commute"))
    assert set(held) == {"numbers", "bike", "settings", *frames.TABLES}
    for name, table in held.items():
        csv, parquet = pl.read_csv(csv_of(table), infer_schema_length=None), pl.read_parquet(parquet_of(table))
        assert csv.columns == parquet.columns == list(table.columns), name
        assert len(csv) == len(parquet) == len(table)
    assert held["hills"].attrs["units"]["drawn_wh_low95"] == "Wh"
    kept = pd.read_parquet(io.BytesIO(parquet_of(held["hills"])))
    assert kept.attrs["units"]["drawn_wh"] == "Wh"


def test_an_archive_names_what_it_was_made_from_and_hashes_what_it_holds():
    making = Making(command="ridelog report x", given=(GivenFile("bike.toml", "bike file", "1" * 64),))
    answer = sample_answer("errand")
    packed = archive({"report.html": b"<html>"}, tables(answer), manifest_of(answer, making))
    with zipfile.ZipFile(io.BytesIO(packed)) as opened:
        manifest = json.loads(opened.read("manifest.json"))
        assert {each.date_time for each in opened.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        for name, sha256 in manifest["members"].items():
            assert hashlib.sha256(opened.read(name)).hexdigest() == sha256
    assert manifest["command"] == "ridelog report x"
    assert manifest["inputs"][-1] == {"name": "bike.toml", "role": "bike file", "sha256": "1" * 64}
    assert manifest["units"]["hills"]["height_m"] == "m"


def test_times_in_csv_are_utc():
    line = csv_of(tables(sample_answer("commute"))["samples"]).decode().splitlines()[1]
    assert line.startswith("2026-05-04T09:12:00.000000Z,")
    assert pd.Timestamp(line.split(",")[0]) == sample_answer("commute").series.index[0]


@pytest.mark.parametrize("name", ["bike", "settings"])
def test_values_and_thresholds_are_told_as_they_are_in_the_json(name):
    answer = sample_answer("commute")
    table = tables(answer)[name]
    if name == "bike":
        row = table[table["key"] == "road.cda_m2"].iloc[0]
        assert (float(row["value"]), float(row["limit"]), row["source"]) == (0.55, 0.1, "entered")
    else:
        row = table[table["threshold"] == "min_height_m"].iloc[0]
        assert (row["question"], float(row["value"])) == ("hills", 5.0)


def test_the_tables_of_a_comparison_have_bounds_beside_values():
    held = comparison_tables(told_comparison())
    assert set(held) == {"groups", "differences", "conditions", "precision", "rides", "shared", "hills", "flows"}
    wanted = [group.recovered_pct.high95 for group in told_comparison().groups]
    assert held["groups"]["recovered_pct_high95"].tolist() == wanted
    assert held["groups"].attrs["units"]["net_wh_per_km"] == "Wh/km"
    row = held["flows"].set_index(["quantity", "group"]).loc["returned_wh", "strong"]
    assert (row["about"], row["rides"], row["mean"], row["most"]) == ("ledger", 6, 5.123, 5.6)


def test_every_ride_of_a_comparison_has_its_braking_events_and_ledger_and_no_place():
    held = basis_tables(rides_at_hand(commute=sample_answer("commute"), errand=sample_answer("errand")))
    answers = {name: sample_answer(name) for name in ("commute", "errand")}
    assert len(held["events"]) == sum(len(one.braking.events) for one in answers.values())
    first = held["events"].iloc[0]
    assert first["available_wh"] == pytest.approx(answers["commute"].braking.events[0].available_wh.value)
    assert len(held["ledger"]) == sum(len(one.ledger.entries) for one in answers.values())
    assert {"group", "ride"} <= set(held["events"]) & set(held["ledger"]) & set(held["kinds"])
    assert not [name for table in held.values() for name in table if "latitude" in name or "longitude" in name]
