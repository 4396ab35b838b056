"""The form in which rides are chosen, without any and with some."""

import io
import json
import re
from datetime import UTC, datetime

import pytest

from ridelog.cli import main
from ridelog.web import create_app
from ridelog.web.kept.kept import Kept
from ridelog.web.orders.choosing import StoreOffer
from ridelog.web.parts.choices import COOKIE
from tests.report.reading import Document
from tests.web.visits import Guest, log


@pytest.mark.parametrize("path", ["/compare", "/plan", "/compare?sample"])
def test_without_any_ride_the_way_to_give_some_is_shown(path):
    page = Guest(create_app().server.test_client()).see(path).text
    assert "no ride to choose yet" in page
    assert '<a href="/">Give the files' in page
    assert "<form" not in page


def test_only_ones_own_rides_are_offered(guests):
    mine, other = guests(), guests()
    (token,) = mine.give(("own.csv", log(20)))
    mine.give(("broken.csv", b"a,b\n1,2\n"))
    page = mine.see("/compare").text
    assert f'name="ride-{token}"' in page
    assert "1 ride of yours cannot be chosen" in page
    assert token not in other.see("/compare").text
    reply = other.send(other.form("/compare"), {f"ride-{token}": "A", "ride-campaign.weak.1": "B"})
    assert reply.status_code == 200
    assert "fewer than two groups" in reply.text


@pytest.fixture
def keeper(store):
    """Somebody who looks at the page of a store."""
    store.listed()  # once it is there, the form does not have to wait for it
    return Guest(create_app(kept=store).server.test_client())


def test_rides_of_a_store_are_chosen_by_bike_group_and_day_and_compared_as_the_command_line_does(keeper, store):
    asked = {"name-A": "one", "name-B": "other", "bike-A": "*", "group-A": "weak", "bike-B": "*", "group-B": "strong"}
    form = keeper.form("/compare")
    assert "Ruff &lt;i&gt;" in form.page
    path = keeper.send(form, asked).headers["Location"]
    page = keeper.done(path)
    address, out = store.store().address, io.StringIO()
    groups = [f"--group={name}={address}?group={group}" for name, group in (("one", "weak"), ("other", "strong"))]
    main(["compare", *groups, "--json"], out, io.StringIO())
    assert json.loads(keeper.see(f"{path}/comparison.json").text) == json.loads(out.getvalue())
    assert "--group &#x27;one=store?group=weak&#x27;" in page  # and nothing of where the store lies
    assert address not in page


def test_what_is_asked_of_a_store_is_what_it_has(store):
    offer = StoreOffer.of(store)
    assert offer.bikes == ("Avocet", "Ruff <i>")
    assert offer.query("A", {}) is None
    assert offer.query("A", {"bike-A": "../x"}) is None
    query = offer.query("A", {"bike-A": "Avocet", "group-A": "x", "from-A": "2026-03-01", "to-A": "2026-03-31"})
    assert (query.bikes, query.groups) == (("Avocet",), ())
    assert (query.since, query.until) == (datetime(2026, 3, 1, tzinfo=UTC), datetime(2026, 4, 1, tzinfo=UTC))
    assert offer.query("A", {"bike-A": "*", "from-A": "9999-99-99", "to-A": "9999-12-31"}).until is None


def test_a_store_that_would_be_measured_first_is_not_begun_by_a_form():
    begun = []
    kept = Kept(lambda _told: begun.append(1))
    assert StoreOffer.of(kept) is None
    assert "Rides of the store" not in Guest(create_app(kept=kept).server.test_client()).see("/compare").text
    assert begun == []


def test_the_report_of_a_kept_ride_is_made_of_what_the_store_holds(keeper, store, monkeypatch):
    monkeypatch.setattr("ridelog.report.ride.files.pdf_of", lambda html: html.encode())
    key = str(store.listed().rides["key"].iloc[0])
    path = keeper.send(keeper.form(f"/ride/{key}/report"), {}).headers["Location"]
    assert "report.pdf" in keeper.done(path)
    document = Document(keeper.see(f"{path}/report.html").text)
    assert document.h1
    assert document.command == ""  # its files may be elsewhere by now


def test_a_form_begins_with_what_was_chosen_about_numbers_and_what_it_says_itself_goes_before(guest):
    guest.client.set_cookie(COOKIE, "imperial.comma.utc")
    form = guest.see("/compare?sample").text.partition('<form class="asked"')[2]
    assert re.findall(r'value="(\w+)" selected', form) == ["imperial", "comma"]
    form = guest.see("/compare?sample&numbers=point").text.partition('<form class="asked"')[2]
    assert re.findall(r'value="(\w+)" selected', form) == ["imperial", "point"]
