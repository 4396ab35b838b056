"""The list of rides: filters, headlines that are those of the rides, pages, files, and a visitor's own."""

import html
import io
import re
from dataclasses import replace
from datetime import timedelta

import pandas as pd
import pytest

from ridelog.fleet.store.measured import MeasuredRide
from ridelog.tell.numbers import PAGE
from ridelog.tell.ride import headline
from ridelog.web.app import create_app
from ridelog.web.kept.sources import store_rides
from ridelog.web.pages.kept import rides as module
from tests.fleet.store.kept import key_of, made_ride
from tests.report.reading import numbers_in
from tests.scenarios import SLUGS, sample_answer


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


HEADLINE = r"Of (\S+) Wh drawn, (\S+) Wh came back: (\S+) % \((\S+) to (\S+) %\)\."


@pytest.mark.parametrize(
    ("query", "unit", "unit_m", "point"),
    [("", "km", 1000.0, "."), ("?units=imperial&numbers=comma", "mi", 1609.344, ",")],
)
def test_the_numbers_of_the_list_are_those_of_the_json(tmp_path, monkeypatch, query, unit, unit_m, point):
    """Read from the page, of each sample ride, to the digits that it shows."""
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", 60.0)
    kept = store_rides(str(tmp_path / "store"))
    for number, slug in enumerate(SLUGS):
        kept.store().write(MeasuredRide(key_of(number), "Avocet", slug, None, sample_answer(slug)))
    client = create_app(kept=kept).server.test_client()
    page = client.get(f"/rides{query}", base_url="http://127.0.0.1").text.replace("\u00a0", " ")
    items = re.findall(r'<li><a href="/ride/[0-9a-f]{64}">(.*?)</a>(.*?)<details', page, re.DOTALL)
    assert {name for name, _ in items} == set(SLUGS)
    told = 0
    for name, item in items:
        answer = sample_answer(name).to_dict()
        energy = answer["energy"]
        away = re.search(rf"· ([\d.,]+) {unit}<", item)
        shown(away[1], answer["ride"]["distance_m"]["value"] / unit_m, point)
        found = re.search(HEADLINE, item)
        if found is not None:
            told += 1
            recovered = energy["recovered_pct"]
            wanted = [energy["drawn_wh"]["value"], energy["returned_wh"]["value"]]
            wanted += [recovered[key] for key in ("value", "low95", "high95")]
            for text, value in zip(found.groups(), wanted, strict=True):
                shown(text, value, point)
    assert told == len(SLUGS) - 1  # one log cannot show a return


def shown(text, value, point):
    """A number as it is shown is that of the JSON, by no more than half of its last digit."""
    (number, half), *_ = numbers_in(text, point)
    assert number == pytest.approx(value, abs=1.0001 * half)
