"""The page as people read it: dangers first, everything once, nothing that a browser cannot draw."""

import gzip
import re

from ridelog.tell.findings import sentence
from ridelog.web import create_app
from ridelog.web.callbacks.look import screen_look
from ridelog.web.jobs.apart import looked_here
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore, ShownRide
from ridelog.web.tray.trays import Hands, Trays
from ridelog.web.views.answer import answer_page
from ridelog.web.views.refusal import refusal


def _texts(component):
    """All texts of a component tree."""
    if isinstance(component, str):
        return [component]
    if isinstance(component, (list, tuple)):
        return [text for each in component for text in _texts(each)]
    return _texts(getattr(component, "children", None) or [])


def _page(answer):
    from ridelog.web.rides import shown_ride

    return " ".join(_texts(answer_page(shown_ride(answer, title="T"), screen_look(None), "token"))).replace("\xa0", " ")


def test_dangers_come_before_the_headline_and_notes_last(make_answer):
    """Grave findings are read first; notes wait at the end."""
    from ridelog.findings import Finding

    found = {s: Finding("no-voltage", s, {"file": f"{s}.csv"}) for s in ("note", "warning", "danger")}
    words = _page(make_answer(findings=tuple(found.values())))
    said = {severity: sentence(finding) for severity, finding in found.items()}
    places = [words.index(each) for each in (said["danger"], " drawn, ", said["warning"], " to look closer")]
    assert places == sorted(places)
    assert words.index(said["note"]) > words.index("Braking events")


def test_that_nobody_knows_whether_charge_may_enter_is_said_before_the_headline(make_answer):
    """A warning, but one that comes before any praise."""
    from ridelog.findings import Finding

    facts = {"charge_path": "unknown", "stated": True, "highest_charge_a": 5.8}
    finding = Finding("charge-path", "warning", facts)
    words, said = _page(make_answer(findings=(finding,))), sentence(finding).split("`")[0]  # what follows is code
    assert words.count(said) == 1
    assert words.index(said) < words.index(" drawn, ")


def test_why_there_is_no_share_is_said_once(make_answer):
    """The finding that explains the missing share stands in the headline and not again below it."""
    from ridelog.answer.ride import Charge, Energy
    from ridelog.findings import Finding
    from ridelog.uncertain.quantity import Quantity

    finding = Finding("cannot-show-return", "warning", {"file": "a.csv", "unsigned": True, "zero_pct": None})
    words = _page(
        make_answer(
            energy=Energy(Quantity(212.0), None, None, None, None),
            charge=Charge(Quantity(4.4), None, None),
            findings=(finding,),
        )
    )
    assert words.count(sentence(finding)) == 1
    assert "came back: " not in words
    assert "We cannot say how much came back" in words


def test_no_component_has_a_list_among_its_children(make_answer):
    """A list inside a list of children crashes that part of the page in the browser."""
    from ridelog.web.rides import Columns, ShownRide, shown_ride

    def check(component):
        children = getattr(component, "children", None)
        if isinstance(children, (list, tuple)):
            assert not any(isinstance(child, (list, tuple)) for child in children), component
            for child in children:
                check(child)
        elif children is not None:
            check(children)

    for answer in (make_answer(), make_answer(hills=(), findings=())):
        for part in answer_page(shown_ride(answer, title="T"), screen_look({"narrow": True}), "t"):
            check(part)
    check(refusal(ShownRide("T", error_lines=("a", "b"), columns=(Columns("c", ()),), files=("c",)), "t"))


def test_a_sample_is_measured_by_the_means_of_visitors_files(samples):
    """Where those are processes of their own, a sample leaves no memory behind and holds nothing up for good."""
    seen = []

    def measured(task, stopped):
        seen.append((list(task.names), stopped()))
        return ShownRide("Your files", error_lines=("x",))

    app = create_app(samples, trays=Trays(RideStore(), Workshop(), Hands(measured, looked_here)))
    call = {
        "output": "ride.data",
        "outputs": {"id": "ride", "property": "data"},
        "inputs": [
            {"id": "written", "property": "data", "value": {"units": "metric"}},
            {"id": "address", "property": "pathname", "value": "/sample/alpha"},
            {"id": "tray", "property": "data"},
        ],
        "state": [{"id": "ride", "property": "data"}],
        "changedPropIds": ["address.pathname"],
    }
    with app.server.test_client() as client:
        client.get("/_dash-layout")
        assert (
            client.post("/_dash-update-component", json=call, headers={"Origin": "http://localhost"}).status_code == 200
        )
    assert seen == [(["log.csv", "bike.toml"], False)]


def test_replies_are_made_small_for_a_browser_that_asks_and_for_no_other(client):
    """The scripts of the page above all: a visitor from afar waits for them."""
    (script,) = re.findall(r'src="([^"]+/react-dom@[^"]+)"', client.get("/").text)
    plain, small = client.get(script), client.get(script, headers={"Accept-Encoding": "gzip"})
    assert "Content-Encoding" not in plain.headers
    assert small.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(small.data) == plain.data
    assert len(small.data) < 0.4 * len(plain.data)
    assert "Accept-Encoding" in client.get("/").headers["Vary"]
