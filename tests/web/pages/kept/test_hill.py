"""One hill over time: every ride with its interval, the same numbers in tables and files, and a name of its own."""

import io
import re

import pandas as pd
import pytest

from ridelog.errors import RidelogError
from ridelog.fleet.together import audit_of_store
from ridelog.tell.kinds import ENERGY, PERCENTAGE
from ridelog.tell.numbers import PAGE, cell
from ridelog.web.kept.rows import quantity
from tests.web.pages.reading import tables

HERE = {"Origin": "http://127.0.0.1"}


def named(look, hill, name, *, path=None, headers=HERE, token=None):
    """The form that names a hill, sent as a browser does."""
    given = re.search(r'name="token" value="([^"]+)"', look(f"/hill/{hill.id}").text)[1]
    data = {"name": name, "token": given if token is None else token}
    return look(f"/hill/{path or hill.id}", method="POST", data=data, headers=headers)


@pytest.fixture
def hill(store):
    """The one that all rides went down."""
    return audit_of_store(store.store()).hills[0]


def test_each_ride_and_each_bike_stand_there_with_their_numbers(look, hill, store):
    page = look(f"/hill/{hill.id}").text
    read = tables(page)
    rows = store.listed().passes.to_dict("records")
    each_ride = read["Each of the 7 times that it was ridden"]
    assert len(each_ride) == hill.passes == len(rows) == 7
    for shown, row in zip(each_ride, rows, strict=True):
        assert shown[3:] == [
            cell(quantity(row, name), kind, PAGE)
            for name, kind in (("captured_pct", PERCENTAGE), ("returned_wh", ENERGY), ("available_wh", ENERGY))
        ]
    assert [row[1] for row in each_ride] == [
        f"{row['ride_start'].day} {row['ride_start']:%B %Y, %H:%M} UTC" for row in rows
    ]
    assert [row[:2] for row in read["Each bike"]] == [[one.bike, str(one.passes)] for one in hill.by_bike]
    assert [row[2] for row in read["Each bike"]] == [cell(one.captured_pct, PERCENTAGE, PAGE) for one in hill.by_bike]
    assert len(re.findall(r'<section class="history"', page)) == 2  # four rides of one bike, three of the other
    assert page.count('class="dot"') == 7


def test_its_rides_can_be_taken_away(look, hill):
    csv = pd.read_csv(io.StringIO(look(f"/hill/{hill.id}.csv").text))
    assert len(csv) == hill.passes
    assert list(csv.columns[:3]) == ["key", "ride", "bike"]
    assert len(look(f"/hill/{hill.id}.json").json) == hill.passes


def test_it_is_called_as_somebody_says_and_what_they_say_stays_text(look, hill):
    reply = named(look, hill, "  Mill <b>Lane ")
    assert (reply.status_code, reply.location) == (303, f"/hill/{hill.id}")
    page = look(f"/hill/{hill.id}").text
    assert f"<h1>Mill &lt;b&gt;Lane, {hill.direction}</h1>" in page
    assert "Mill &lt;b&gt;Lane" in look("/fleet").text
    named(look, hill, "")
    assert f"<h1>{hill.name}</h1>" in look(f"/hill/{hill.id}").text


def test_a_name_is_there_at_once_though_what_all_rides_tell_takes_long(look, hill, monkeypatch):
    look("/fleet")
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", 0.0)
    named(look, hill, "Kirk Brae")
    assert f"<h1>Kirk Brae, {hill.direction}</h1>" in look(f"/hill/{hill.id}").text
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", 60.0)
    named(look, hill, "")


@pytest.mark.parametrize(
    ("name", "more", "status"),
    [
        ("x" * 81, {}, 404),
        ("a\x1bb", {}, 404),
        ("x", {"path": "0000-down"}, 404),
        ("x", {"token": ""}, 400),
        ("x", {"token": "x"}, 400),
        ("x", {"headers": {"Origin": "https://bikes.example"}}, 403),
        ("x", {"headers": {}}, 403),
    ],
)
def test_a_name_that_is_none_or_from_elsewhere_is_not_taken(look, hill, name, more, status):
    assert named(look, hill, name, **more).status_code == status
    assert f"<h1>{hill.name}</h1>" in look(f"/hill/{hill.id}").text


def test_a_store_that_takes_no_name_says_why(look, hill, monkeypatch):
    def full(*_given):
        raise RidelogError("cannot write <hills.toml>: no space left on the disk")

    monkeypatch.setattr("ridelog.settings.hill_names.write_hill_name", full)
    reply = named(look, hill, "Mill Lane")
    assert reply.status_code == 409
    assert "cannot write &lt;hills.toml&gt;: no space left on the disk" in reply.text


def test_another_address_is_no_hill(look):
    for path in ("/hill/x", "/hill/00000000-up", "/hill/x.csv"):
        assert look(path).status_code == 404
