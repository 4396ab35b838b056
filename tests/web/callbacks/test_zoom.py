"""Charts are drawn as the browser asks for them, of a ride that is there; whatever else it is asked for is refused."""

import pytest

from ridelog.figures.look import NIGHT, PAPER
from ridelog.web import create_app
from ridelog.web.callbacks.zoom import Wish, drawn, whole_of, within
from ridelog.web.jobs.apart import looked_here
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore, ShownRide, shown_ride
from ridelog.web.tray.trays import Hands, Trays
from tests.scenarios import sample_answer


@pytest.fixture
def store():
    return RideStore()


@pytest.fixture
def client(store):
    trays = Trays(store, Workshop(), Hands(lambda _task, _stopped: ShownRide("x"), looked_here))
    yield create_app(None, trays=trays).server.test_client()
    trays.close()


@pytest.mark.parametrize(
    ("ends", "shown"),
    [
        (None, (0.0, 1000.0)),
        ((400.0, 500.0), (400.0, 500.0)),
        ((-50.0, 500.0), (0.0, 500.0)),
        ((900.0, 5000.0), (900.0, 1000.0)),
        ((2000.0, 3000.0), (0.0, 1000.0)),
        ((1.0, 1.01), (0.0, 1000.0)),
    ],
)
def test_a_stretch_stays_within_the_ride_and_never_shows_nothing(ends, shown):
    """Of a ride of 1000 s, by hand."""
    assert within(ends, (0.0, 1000.0)) == shown


def test_the_chart_of_power_is_drawn_for_what_is_wanted_and_the_others_where_all_are(client, store):
    token = store.put(shown_ride(sample_answer("commute"), title="T"))
    reply = client.get(f"/ride/{token}/charts?from=100&to=200&lanes=speed.height.gone&dark=yes")
    assert list(reply.json["figures"]) == ["power-chart"]
    assert reply.headers["Cache-Control"] == "no-store"
    figure = reply.json["figures"]["power-chart"]
    assert figure["layout"]["xaxis"]["range"] == [100, 200]
    assert [trace["name"] for trace in figure["data"] if trace.get("yaxis")] == ["height", "speed"]
    assert figure["layout"]["font"] == {**figure["layout"]["font"], "color": NIGHT.soft, "size": 13}
    assert reply.json["words"].startswith("Shown: 0:01:40 to 0:03:20, ")
    assert "1:40" in reply.json["label"]
    every = client.get(f"/ride/{token}/charts?every=yes&narrow=yes&units=imperial").json["figures"]
    assert set(every) == {"power-chart", "profile-chart", "track-chart", "ledger-chart"}
    assert {figure["layout"]["font"]["size"] for figure in every.values()} == {12}
    assert {figure["layout"]["font"]["color"] for figure in every.values()} == {PAPER.soft}
    assert every["profile-chart"]["layout"]["yaxis"]["title"]["text"] == "height, ft"


@pytest.mark.parametrize(
    "fields", ["from=1", "to=1", "from=nan&to=2", "from=1&to=inf", "from=x&to=y", "from=2&to=1", "lanes=" + "x" * 501]
)
def test_what_the_page_never_asks_for_is_refused(client, store, fields):
    token = store.put(shown_ride(sample_answer("commute"), title="T"))
    assert client.get(f"/ride/{token}/charts?{fields}").status_code == 404
    assert client.get("/ride/nobody/charts").status_code == 404


def test_a_ride_without_power_has_its_other_charts_all_the_same():
    answer = sample_answer("commute")
    bare = type(answer)(**{**vars(answer), "series": answer.series.drop(columns=["power_w", "current_a"])})
    assert whole_of(bare) is None
    told = drawn(bare, Wish(None, ("speed",), {}, every=True))
    assert "words" not in told
    assert "profile-chart" in told["figures"]
    assert "power-chart" not in told["figures"]
