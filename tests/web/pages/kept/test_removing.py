"""Kept rides removed and put back by the page's own forms, and by nobody else's."""

import re

import pytest

from ridelog.web.app import create_app
from ridelog.web.kept.sources import sample_rides, store_rides
from tests.fleet.store.kept import key_of, made_ride

BASE = "http://127.0.0.1"
HERE = {"Origin": BASE}


@pytest.fixture
def client(tmp_path, monkeypatch):
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", 60.0)
    kept = store_rides(str(tmp_path / "store"))
    for number in range(2):
        kept.store().write(made_ride(number))
    return create_app(kept=kept).server.test_client()


def pressed(client, page, verb, key, **more):
    """The form of a ride, sent as a browser does."""
    action, token = re.search(rf'action="(/rides/{verb}/{key})">.*?name="token" value="([^"]+)"', page).groups()
    data = {"token": more.get("token", token)}
    return client.post(action, data=data, headers=more.get("headers", HERE), base_url=BASE)


def test_a_ride_is_removed_after_a_word_on_what_that_means_and_put_back(client):
    page = client.get("/rides", base_url=BASE).text
    assert "It is put aside, not deleted, and can be put back." in page
    assert "Removed rides" not in page
    reply = pressed(client, page, "remove", key_of(1))
    assert (reply.status_code, reply.location) == (303, f"/rides?removed={key_of(1)}")
    page = client.get(reply.location, base_url=BASE).text
    assert re.search(r'role="status"><p>“[^”]+” was removed', page)
    assert f'<a href="/ride/{key_of(1)}">' not in page
    assert "Removed rides (1)" in page
    assert client.get(f"/ride/{key_of(1)}/answer.json", base_url=BASE).status_code == 404
    assert pressed(client, client.get("/rides", base_url=BASE).text, "restore", key_of(1)).status_code == 303
    page = client.get(reply.location, base_url=BASE).text
    assert "Removed rides" not in page
    assert "was removed" not in page
    assert f'<a href="/ride/{key_of(1)}">' in page
    assert client.get(f"/ride/{key_of(1)}/answer.json", base_url=BASE).json == made_ride(1).answer.to_dict()


@pytest.mark.parametrize(
    ("more", "status"),
    [({"token": ""}, 400), ({"token": "x"}, 400), ({"headers": {"Origin": "https://bikes.example"}}, 403)],
)
def test_a_form_from_elsewhere_removes_nothing(client, more, status):
    page = client.get("/rides", base_url=BASE).text
    assert pressed(client, page, "remove", key_of(1), **more).status_code == status
    assert client.get(f"/rides/remove/{key_of(1)}", base_url=BASE).status_code != 303
    other = client.application.test_client()  # a form is for whoever got it
    assert pressed(other, page, "remove", key_of(1)).status_code == 400
    assert f'<a href="/ride/{key_of(1)}">' in client.get("/rides", base_url=BASE).text


def test_a_ride_that_is_gone_is_said_and_samples_cannot_be_removed(client):
    page = client.get("/rides", base_url=BASE).text
    assert pressed(client, page, "remove", key_of(1)).status_code == 303
    twice = pressed(client, page, "remove", key_of(1))
    assert twice.status_code == 409
    assert key_of(1) in twice.text
    rules = {rule.endpoint for rule in create_app(kept=sample_rides(list)).server.url_map.iter_rules()}
    assert not rules & {"remove", "restore"}
