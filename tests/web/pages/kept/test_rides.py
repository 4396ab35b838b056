"""The list of rides: filters, headlines that are those of the rides, pages, files, and a visitor's own."""

import html
import io
import re
from dataclasses import replace
from datetime import timedelta

import pandas as pd
import pytest

from ridelog.tell.numbers import PAGE
from ridelog.tell.ride import headline
from ridelog.web.app import create_app
from ridelog.web.kept.sources import store_rides
from ridelog.web.pages.kept import rides as module
from tests.fleet.store.kept import key_of, made_ride


def listed(page):
    return re.findall(r'<li><a href="/ride/([0-9a-f]{64})">', page)


def test_each_ride_leads_to_its_address_and_says_its_headline(look):
    page = look("/rides").text
    assert listed(page) == [key_of(number) for number in range(6, -1, -1)]
    for number in range(7):
        told = headline(made_ride(number, returned_wh=10.0 + number).answer, PAGE).sentence
        assert html.escape(told) in page
    assert page.count('class="spark"') == 7
    assert "Ruff &lt;i&gt;" in page
    assert "<i>" not in page


@pytest.mark.parametrize(
    ("query", "numbers"),
    [
        ("bike=Avocet", (3, 2, 1, 0)),
        ("group=weak", (5, 3, 1)),
        ("bike=Avocet&group=weak", (3, 1)),
        (f"route={key_of(0)}", range(6, -1, -1)),
        ("since=2026-03-30&until=2026-03-31", (3, 2)),
        ("since=30.3.2026&page=x", range(6, -1, -1)),
        ("since=0001-01-01&until=9999-12-31", range(6, -1, -1)),  # beyond which there is no day
        ("since=0000-00-00&until=10000-01-01", range(6, -1, -1)),
        ("since=9999-12-31", ()),
        ("bike=Nobody", ()),
        ("bike=%3Cscript%3E", ()),
    ],
)
def test_filters_stand_in_the_address(look, query, numbers):
    page = look(f"/rides?{query}").text
    assert listed(page) == [key_of(number) for number in numbers]
    assert "<script" not in page
    if not len(numbers):
        assert "No ride matches all of these filters." in page
    else:
        rows = pd.read_csv(io.StringIO(look(f"/rides.csv?{query}").text))
        assert list(rows["key"]) == listed(page)


def test_many_rides_take_several_pages(look, monkeypatch):
    monkeypatch.setattr(module, "MOST", 3)
    assert len(listed(look("/rides?page=3&bike=").text)) == 1
    middle = look("/rides?page=2").text
    assert "/rides?page=1" in html.unescape(middle)
    assert "/rides?page=3" in html.unescape(middle)


def test_two_rides_of_one_day_and_name_are_told_apart_by_their_time(tmp_path, monkeypatch):
    """Both are called by their day; one began at 6:30, the other two hours later."""
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", 60.0)
    kept = store_rides(str(tmp_path / "store"))
    for number, hours in ((0, 0), (1, -22)):
        ride = made_ride(number)
        start = ride.answer.ride.start + timedelta(hours=hours)
        answer = replace(ride.answer, ride=replace(ride.answer.ride, start=start))
        kept.store().write(replace(ride, answer=answer, name="2026-03-28"))
    page = create_app(kept=kept).server.test_client().get("/rides", base_url="http://127.0.0.1").text
    assert re.findall(r"2026-03-28</a> <span class=\"soft\">[^<]*?(\d\d:\d\d) UTC", page) == ["08:30", "06:30"]
    assert "Rides that you keep stay in the store." in page


def test_a_ride_stays_at_its_address_over_a_restart(look, store):
    path = f"/ride/{key_of(2)}/answer.json"
    first = look(path).json
    again = create_app(kept=store).server.test_client().get(path, base_url="http://127.0.0.1").json
    assert first == again == made_ride(2, returned_wh=12.0).answer.to_dict()


def test_without_a_store_the_list_leads_to_measuring(client):
    page = client.get("/rides", base_url="http://127.0.0.1").text
    assert 'No ride yet. <a href="/">' in page
    assert client.get("/rides.csv", base_url="http://127.0.0.1").status_code == 404
    assert "/fleet" not in page
