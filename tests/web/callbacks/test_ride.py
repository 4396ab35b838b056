"""From an address to its ride: samples by their names, visitors' rides by tokens."""

from functools import partial

import pytest
from dash import dcc, html

from ridelog.errors import InputError
from ridelog.web.callbacks.ride import Rides, measure_sample, with_typed
from ridelog.web.jobs.apart import looked_here, measured_here
from ridelog.web.jobs.measuring import Given
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore, ShownRide
from ridelog.web.samples import list_samples
from ridelog.web.tray.trays import Hands, Trays


@pytest.fixture
def rides(samples):
    trays = Trays(RideStore(), Workshop(), Hands(lambda task, _: ShownRide("x", files=task.names), looked_here))
    yield Rides(trays.store, list_samples(samples), lambda task: ShownRide("x", files=task.names), trays)
    trays.close()


def test_a_sample_is_measured_with_its_bike(samples):
    """It is handed over as a visitor's files are, and keeps its own title."""
    seen = []

    def measured(task):
        seen.append([(name, path.read_text()) for name, path in task.files])
        return ShownRide("Your files", files=("log.csv",))

    shown = measure_sample(list_samples(samples)[0], measured)
    assert (shown.title, shown.sample) == ("Ride beta", "beta")
    assert seen == [[("log.csv", "x"), ("bike.toml", "[bike]\n")]]


def test_a_sample_that_cannot_be_read_says_so_like_a_visitors_file(samples):
    def measure(_given: Given):
        raise InputError("log.csv", "holds no samples", hint="log for longer")

    measured = partial(measured_here, _stopped=lambda: False, measure=measure)
    shown = measure_sample(list_samples(samples)[0], measured)
    assert shown.answer is None
    assert shown.error_lines == ("log.csv: holds no samples", "hint: log for longer")


@pytest.mark.parametrize(("path", "slug"), [("/", "beta"), ("", "beta"), (None, "beta"), ("/sample/alpha", "alpha")])
def test_the_front_shows_the_first_sample_and_each_sample_has_its_address(rides, path, slug):
    assert rides.store.get(rides.at(path)["token"]).sample == slug


@pytest.mark.parametrize("path", ["/sample/", "/sample/../alpha", "/sample/none", "/elsewhere", "/ride"])
def test_an_address_that_names_nothing_leads_nowhere(rides, path):
    assert rides.at(path) is None


def test_a_visitors_ride_is_at_its_token_and_says_how_often_it_was_measured(rides):
    token = rides.store.put(ShownRide("mine"))
    assert rides.at(f"/ride/{token}") == {"token": token, "version": 1}
    rides.store.put(ShownRide("mine"), token)
    assert rides.at(f"/ride/{token}")["version"] == 2


def test_what_was_typed_stands_in_a_page_that_is_drawn_anew():
    names = [{"type": kind, "to": to} for kind, to in (("field", "a"), ("cell", "b"), ("x", "a"))]
    fields = [dcc.Input(id=name, value="old") for name in names]
    with_typed([html.Div([html.P("text"), *fields])], {"a": "12,", "b": None})
    assert [each.value for each in fields] == ["12,", None, "old"]
