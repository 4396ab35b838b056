"""Coasting is looked for, fitted and taken over for rides of the visitor's own and for sample rides."""

import time

import pytest

from ridelog.answer.coastdown import CoastDown, CoastedRide, Measured
from ridelog.settings.bike_form import entered, remarks
from ridelog.web import create_app
from ridelog.web.jobs.apart import looked_here
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore, shown_ride
from ridelog.web.tray.trays import Hands, Trays
from tests.web.callbacks.pressing import pressed

FOUND = CoastDown(CoastedRide("r"), cda_m2=Measured(0.5591, 0.5, 0.62, 0.03), constant_n=Measured(9.0, 8.0, 10.0, 0.5))


@pytest.fixture
def page(samples, make_answer):
    asked = []

    def coasted(task, only, _stopped):
        asked.append((task.names, only))
        return FOUND

    def measured(task, _stopped):
        return shown_ride(make_answer(n=50), title="T", files=task.names)

    trays = Trays(RideStore(), Workshop(), Hands(measured, looked_here, coasted))
    app = create_app(samples, trays=trays)
    client = app.server.test_client()
    client.get("/_dash-layout")
    yield app, client, trays, asked
    trays.close()


def press(page, verb, token, path, chosen=()):
    app, client, _, _ = page
    state = [
        [{"id": {"to": str(n), "type": "stretch"}, "property": "checked", "value": on} for n, on in chosen],
        [{"id": {"to": "", "type": "coast-from"}, "property": "value", "value": token}],
        {"id": "ride", "property": "data", "value": {"token": token}},
        {"id": "address", "property": "pathname", "value": path},
        {"id": "tray", "property": "data", "value": {}},
    ]
    return pressed(app, client, "coast", verb, state)


def until(so):
    end = time.monotonic() + 60
    while not so():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_the_drag_of_a_sample_ride_is_fitted_to_chosen_stretches_and_makes_a_ride_of_ones_own(page, make_answer):
    _, client, trays, asked = page
    token = trays.store.sample("beta", lambda: shown_ride(make_answer(n=50), title="B", sample="beta"))
    client.get("/tray")  # which gives the visitor a key
    assert "Choose the stretches" in press(page, "fit", token, "/sample/beta", [(0, False)])["bike-said"]["children"]
    press(page, "fit", token, "/sample/beta", [(0, True), (2, True), (3, False)])
    (tray,) = trays._trays.values()
    until(lambda: tray.coasting[token].job is None)
    assert asked == [(("log.csv", "bike.toml"), (0, 2))]
    said = press(page, "take", token, "/sample/beta")
    new = said["address"]["pathname"].removeprefix("/ride/")
    bike = tray.ride(new).bike.text
    assert entered(bike) == {"road.cda_m2": 0.559, "road.cda_limit_m2": 0.052}
    assert remarks(bike)["road.cda_m2"] == "by the coasting of B"
    until(lambda: tray.ride(new).changes)
    assert "by the coasting of B" in tray.ride(new).changes[0].words


def test_nobody_has_the_coasting_of_anothers_ride_fitted(page):
    said = press(page, "find", "made-up", "/ride/made-up")
    assert "bike-said" in said
    assert said["bike-said"]["children"]
    assert "tray" not in said
