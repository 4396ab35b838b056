"""A visitor's own rides: in nobody else's list, and kept in the store where the visitor says so."""

import html
import re
import time
from datetime import UTC, datetime
from io import BytesIO

import pytest

from ridelog.web.app import create_app
from ridelog.web.kept.sources import store_rides
from tests.fleet.recordings import write_log

BASE = "http://127.0.0.1"
HERE = {"Origin": BASE}
LONG_S = 60.0


@pytest.fixture
def kept(tmp_path, monkeypatch):
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", LONG_S)
    return store_rides(str(tmp_path / "store"))


def seen(client, what):
    """The list, once it says something."""
    for _ in range(600):
        if what in (page := client.get("/rides", base_url=BASE).text):
            return page
        time.sleep(0.05)
    raise AssertionError(page)


def visitor_with_a_ride(app, folder):
    client = app.server.test_client()
    content = write_log(folder / "log.csv").read_bytes()
    client.post("/upload", data={"files": (BytesIO(content), "log.csv")}, headers=HERE, base_url=BASE)
    return client


def test_a_ride_is_kept_where_its_visitor_says_so_and_seen_by_others_from_then_on(kept, tmp_path):
    app = create_app(kept=kept)
    mine, other = visitor_with_a_ride(app, tmp_path), app.server.test_client()
    page = seen(mine, "Your own rides")
    assert "No ride yet." in page
    assert 'name="since"' not in page
    assert html.escape(kept.store().address) in page
    assert "everybody who can open this page sees them" in page
    assert "Your own rides" not in other.get("/rides", base_url=BASE).text
    path = re.search(r'action="(/rides/keep/[^"]+)"', page)[1]
    token = re.search(r'name="token" value="([^"]+)"', page)[1]
    names = {"bike": "Heron <i>", "name": " to  work ", "token": token}
    for client, data, headers, status in (
        (other, names, HERE, 400),  # a form is for whoever got it
        (mine, {**names, "token": ""}, HERE, 400),
        (mine, names, {"Origin": "https://bikes.example"}, 403),
        (mine, {**names, "bike": ""}, HERE, 404),
        (mine, {**names, "name": "x" * 81}, HERE, 404),
    ):
        assert client.post(path, data=data, headers=headers, base_url=BASE).status_code == status
    assert kept.store().keys() == {}
    assert mine.post(path, data=names, headers=HERE, base_url=BASE).location == "/rides"
    seen(mine, "It is kept.")
    page = other.get("/rides", base_url=BASE).text
    assert "Heron &lt;i&gt;" in page
    assert "to work</a>" in page
    (key,) = kept.store().keys()
    assert other.get(f"/ride/{key}/answer.json", base_url=BASE).json["energy"]["drawn_wh"] is not None


def test_all_rides_of_bikes_that_have_a_name_are_kept_by_one_press_in_their_groups(kept, tmp_path):
    """One bike is called as its folder is; the ride that is of none is not kept."""
    client = create_app(kept=kept).server.test_client()
    listed = b'[[ride]]\nfiles = ["log.csv"]\nname = "to work"\ngroup = "weak"\n'
    start = {name: datetime(2026, 5, day, 8, tzinfo=UTC) for day, name in enumerate(("a", "b", "c"), 1)}
    logs = {name: write_log(tmp_path / f"{name}.csv", start=when).read_bytes() for name, when in start.items()}
    files = [
        ("all/heron/bike.toml", b"[bike]\ntotal_mass_kg = 90\n"), ("all/heron/log.csv", logs["a"]),
        ("all/heron/rides.toml", listed), ("all/dunlin/log.csv", logs["b"]),
        ("all/dunlin/mine.toml", b'[bike]\nname = "Dunlin"\n'), ("loose.csv", logs["c"]),
    ]  # fmt: skip
    data = {"files": [(BytesIO(content), name) for name, content in files]}
    client.post("/upload", data=data, headers=HERE, base_url=BASE)
    page = seen(client, "Keep all 2 rides of Dunlin, heron")
    token = re.search(r'name="token" value="([^"]+)"', page)[1]
    assert client.post("/rides/keep", data={}, headers=HERE, base_url=BASE).status_code == 400
    assert client.post("/rides/keep", data={"token": token}, headers=HERE, base_url=BASE).location == "/rides"
    for _ in range(600):
        if client.get("/rides", base_url=BASE).text.count("It is kept.") == 2:
            break
        time.sleep(0.05)
    rides = client.get("/rides.json", base_url=BASE).json
    told = sorted((ride["bike"], ride["name"], ride["group"]) for ride in (rides if isinstance(rides, list) else []))
    assert told == [("Dunlin", "log", None), ("heron", "to work", "weak")]


def test_where_no_store_keeps_rides_none_is_offered(tmp_path):
    app = create_app()
    page = seen(visitor_with_a_ride(app, tmp_path), "Your own rides")
    assert 'method="post"' not in page
    assert "rides_keep" not in {rule.endpoint for rule in app.server.url_map.iter_rules()}
