"""What is taken away from a ride is what the command line writes, and nobody gets what is not there."""

import csv
import io
import json

import pandas as pd
import pytest

from ridelog.answer.ride import Answer
from ridelog.web import create_app
from ridelog.web.downloads import TABLES
from ridelog.web.jobs.apart import looked_here
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import Columns, RideStore, ShownRide, shown_ride
from ridelog.web.tray.trays import Hands, Trays
from tests.scenarios import sample_answer


@pytest.fixture
def store():
    return RideStore()


@pytest.fixture
def client(store):
    trays = Trays(store, Workshop(), Hands(lambda _task, _stopped: ShownRide("x"), looked_here))
    yield create_app(None, trays=trays).server.test_client()
    trays.close()


def test_the_answer_as_json_is_the_answer(client, store):
    answer = sample_answer("commute")
    token = store.put(shown_ride(answer, title='To "work"/home'))
    reply = client.get(f"/ride/{token}/answer.json")
    assert Answer.from_dict(json.loads(reply.text)).to_dict() == answer.to_dict()
    assert "attachment; filename=To--work--home.json" in reply.headers["Content-Disposition"]


def test_each_table_comes_as_csv_and_as_parquet_with_the_numbers_of_the_answer(client, store):
    answer = sample_answer("commute")
    token = store.put(shown_ride(answer, title="x"))
    for name in TABLES:
        rows = list(csv.DictReader(io.StringIO(client.get(f"/ride/{token}/{name}.csv").text)))
        assert rows, name
        if name == "hills":
            assert [float(row["drawn_wh"]) for row in rows] == [hill.drawn_wh.value for hill in answer.hills]
        held = pd.read_parquet(io.BytesIO(client.get(f"/ride/{token}/{name}.parquet").data))
        assert list(held.columns) == list(rows[0])
        assert len(held) == len(rows)
        number = next(each for each in held if each.endswith(("_wh", "_w")))
        given = [float(row[number] or "nan") for row in rows]
        assert held[number].astype(float).to_numpy() == pytest.approx(given, rel=1e-9, nan_ok=True)
    assert client.get(f"/ride/{token}/secrets.csv").status_code == 404
    assert client.get(f"/ride/{token}/secrets.parquet").status_code == 404


def test_a_column_map_comes_as_a_file(client, store):
    token = store.put(ShownRide("x", columns=(Columns("a/c.csv", (), (), "[log]\n"),)))
    reply = client.get(f"/ride/{token}/columns/0.toml")
    assert reply.text == "[log]\n"
    assert "filename=c-columns.toml" in reply.headers["Content-Disposition"]
    assert client.get(f"/ride/{token}/columns/1.toml").status_code == 404


@pytest.mark.parametrize("path", ["answer.json", "hills.csv", "bike.toml", "columns/0.toml"])
def test_of_a_ride_that_is_not_held_there_is_nothing(client, path):
    assert client.get(f"/ride/guess/{path}").status_code == 404
