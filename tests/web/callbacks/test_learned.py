"""A store is asked what the rides of a bike teach, and what it says becomes the bike file of a ride."""

import pytest

from ridelog.fleet import learning
from ridelog.fleet.learning import Teaching
from ridelog.settings.bike_form import entered, remarks
from ridelog.web import create_app
from ridelog.web.calls import ROUTE
from ridelog.web.kept.sources import store_rides
from tests.web.callbacks.pressing import pressed

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
