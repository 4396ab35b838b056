"""A store is asked what the rides of a bike teach, and what it says becomes the bike file of a ride."""

import json
import re
import threading
import time

import pytest

from ridelog.fleet import learning
from ridelog.fleet.learning import Teaching
from ridelog.fleet.store.store import open_store
from ridelog.settings.bike_form import entered, remarks
from ridelog.web import create_app
from ridelog.web.calls import ROUTE
from ridelog.web.jobs.process import run_here
from ridelog.web.kept.sources import store_rides
from tests.fleet.store.kept import made_ride
from tests.web.callbacks.pressing import ORIGIN, pressed
from tests.web.visits import Guest, log

TAUGHT = Teaching("Gannet", 12, (), {"road": {"cda_m2": 0.61234, "cda_limit_m2": 0.05}}, (), None)


@pytest.fixture
def page(samples, make_answer, tmp_path):
    kept = store_rides(str(tmp_path / "store"))
    app = create_app(samples, measure=lambda _given: (make_answer(n=50), ()), kept=kept)
    client = app.server.test_client()
    client.get("/_dash-layout")
    client.get("/tray")  # which gives the visitor a key
    yield app, client
    kept.close()


def press(page, verb, token, bike=None):
    state = [
        [{"id": {"to": "", "type": "learn-from"}, "property": "value", "value": bike}],
        {"id": "ride", "property": "data", "value": {"token": token}},
        {"id": "address", "property": "pathname", "value": "/sample/beta"},
        {"id": "tray", "property": "data", "value": {}},
    ]
    return pressed(*page, "learn", verb, state)


@pytest.fixture
def token(page):
    """Of a sample ride that was looked at."""
    _, client = page
    call = {
        "output": "ride.data", "outputs": {"id": "ride", "property": "data"},
        "inputs": [{"id": "written", "property": "data", "value": {"units": "metric"}},
                   {"id": "address", "property": "pathname", "value": "/sample/beta"},
                   {"id": "tray", "property": "data", "value": {}}],
        "state": [{"id": "ride", "property": "data", "value": None}], "changedPropIds": ["written.data"],
    }  # fmt: skip
    return client.post(ROUTE, json=call, headers={"Origin": "http://localhost"}).json["response"]["ride"]["data"][
        "token"
    ]


def offered(client, token):
    """The bikes of which the page asks at the ride."""
    call = {
        "output": '{"to":["ALL"],"type":"learned"}.children',
        "outputs": [{"id": {"to": "form", "type": "learned"}, "property": "children"}],
        "inputs": [{"id": "ride", "property": "data", "value": {"token": token}},
                   {"id": "tray", "property": "data", "value": {}}],
        "state": [{"id": "view", "property": "data", "value": {"narrow": False}}], "changedPropIds": ["ride.data"],
    }  # fmt: skip
    reply = client.post(ROUTE, json=call, headers=ORIGIN)
    assert reply.status_code == 200, reply.text
    return re.findall(r'"data": \["(\w+)"', json.dumps(reply.json))


def test_what_a_store_teaches_is_offered_once_its_rides_are_listed(make_answer, tmp_path, monkeypatch):
    """The ride stands before they are: the page asks on until they are, and draws the offer then."""
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", 0.01)
    goes_on = threading.Event()

    def held(*given):
        assert goes_on.wait(60)
        return run_here(*given)

    open_store(tmp_path / "store", create=True).write(made_ride(0))
    kept = store_rides(str(tmp_path / "store"), held)
    client = create_app(measure=lambda _given: (make_answer(n=50), ()), kept=kept).server.test_client()
    client.get("/_dash-layout")
    (token,) = Guest(client).give(("1.csv", log(1)))
    assert offered(client, token) == []
    before = client.get("/tray").json
    assert before["pending"]
    goes_on.set()
    while (now := client.get("/tray").json)["pending"]:
        time.sleep(0.02)
    assert now["revision"] > before["revision"]
    assert offered(client, token) == ["Gannet"]
    kept.close()


def test_a_bike_has_to_be_chosen_and_to_be_in_the_store(page, token):
    assert press(page, "find", token)["bike-said"]["children"] == "Choose the bike whose rides are asked."
    assert "Gannet" in press(page, "find", token, "Gannet")["bike-said"]["children"]


def test_what_was_learned_becomes_the_bike_file_with_its_origin(page, token, monkeypatch):
    monkeypatch.setattr(learning, "teaching_of", lambda _store, _bike, **_given: TAUGHT)
    assert press(page, "find", token, "Gannet")["tray"]["data"] == {"asked": 1}
    said = press(page, "take", token)
    assert said["address"]["pathname"].startswith("/ride/")
    text = page[1].get(f"{said['address']['pathname']}/bike.toml").text
    assert entered(text) == {"road.cda_m2": 0.6123, "road.cda_limit_m2": 0.05}
    assert remarks(text)["road.cda_m2"] == "learned from 12 rides of Gannet"
