"""The page as a server: an empty skeleton for everyone, no foreign hosts, no foreign code."""

import json
import signal
import socket
import subprocess
import sys
import urllib.request

import pytest

from ridelog.errors import InputError, UsageError
from ridelog.web import create_app
from ridelog.web.callbacks import asked_for, look_of, measure_sample, next_window
from ridelog.web.parts.braking import ORDERS, ordered
from ridelog.web.samples import list_samples
from ridelog.web.upload import Given
from ridelog.web.views.answer import answer_page
from ridelog.web.views.refusal import refusal
from tests.places import ROOT


@pytest.fixture
def samples(tmp_path):
    """Two sample rides, of which the second in the alphabet comes first in order."""
    for slug, order in (("alpha", 2), ("beta", 1)):
        folder = tmp_path / slug
        folder.mkdir()
        (folder / "log.csv").write_text("x")
        (folder / "bike.toml").write_text("[bike]\n")
        (folder / "about.toml").write_text(
            f'title = "Ride {slug}"\nsentence = "S"\nfiles = ["log.csv"]\nbike = "bike.toml"\norder = {order}\n'
        )
    return tmp_path


@pytest.fixture
def client(samples, make_answer):
    app = create_app(samples, measure=lambda _given: (make_answer(n=50), ()))
    with app.server.test_client() as client:
        yield client


def test_the_samples_come_in_their_order(samples):
    """The ride with the lowest order is the first."""
    assert [sample.slug for sample in list_samples(samples)] == ["beta", "alpha"]
    assert list_samples(None) == ()
    assert list_samples(samples / "not there") == ()


@pytest.mark.parametrize(
    ("about", "words"),
    [
        ("title = 1", "'files'"),
        ("title =", "is not TOML"),
        ('title = "T"\nfiles = ["gone.csv"]', r"not there: gone\.csv"),
        ('title = "T"\nfiles = []\norder = "first"', "does not describe"),
    ],
)
def test_a_sample_that_is_not_whole_is_named(samples, about, words):
    """A broken description is an error that names the file and the cause."""
    (samples / "alpha" / "about.toml").write_text(about)
    with pytest.raises(InputError, match=words):
        list_samples(samples)


def test_a_sample_is_measured_with_its_bike_and_its_files_are_closed(samples, make_answer):
    """The measuring function is given log and bike file, open; afterwards they are closed."""
    seen = []

    def measure(given: Given):
        seen.append(given)
        assert given.logs[0][1].read() == b"x"
        return make_answer(n=50), ()

    held = measure_sample(list_samples(samples)[0], measure)
    assert held.title == "Ride beta"
    assert seen[0].bike[0] == "bike.toml"
    assert seen[0].logs[0][1].closed
    assert seen[0].bike[1].closed


def test_the_layout_that_everyone_gets_holds_no_ride(client):
    """No title, number or file of any ride is in the page before a callback fills it."""
    layout = client.get("/_dash-layout").data.decode()
    index = client.get("/").data.decode()
    for text in (layout, index):
        assert "Ride beta" not in text
        assert "log.csv" not in text


def test_every_reply_carries_its_guards(client):
    """Scripts only from here and by their hash, no framing, no referrer, no sniffing."""
    for path in ("/", "/_dash-layout", "/nothing-here"):
        headers = client.get(path).headers
        policy = dict(part.split(" ", 1) for part in headers["Content-Security-Policy"].split("; "))
        assert policy["default-src"] == "'self'"
        assert policy["script-src"].startswith("'self' 'sha256-")
        assert "unsafe" not in policy["script-src"]
        assert policy["frame-ancestors"] == "'none'"
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "no-referrer"


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("127.0.0.1:8050", 200),
        ("localhost", 200),
        ("LOCALHOST:8050", 200),
        ("[::1]:8050", 200),
        ("evil.example", 403),
        ("127.0.0.1.evil.example:8050", 403),
        ("evil.example:127.0.0.1", 403),
    ],
)
def test_a_name_that_was_made_to_point_here_is_refused(client, host, status):
    """Only this computer's own names are answered to."""
    assert client.get("/", headers={"Host": host}).status_code == status


def test_a_host_of_the_users_choice_lifts_the_check(make_answer):
    """Who listens on another address means to be reached by other names."""
    app = create_app(None, hosts=None, measure=lambda _given: (make_answer(n=50), ()))
    with app.server.test_client() as client:
        assert client.get("/", headers={"Host": "bikeshed.example"}).status_code == 200


def test_the_index_page_names_no_other_site(client):
    """Every script and style is served from here."""
    text = client.get("/").data.decode()
    assert "//cdn" not in text
    assert "https://" not in text


def _texts(component):
    """All texts of a component tree."""
    if isinstance(component, str):
        return [component]
    if isinstance(component, (list, tuple)):
        return [text for each in component for text in _texts(each)]
    return _texts(getattr(component, "children", None) or [])


def _page(answer):
    from ridelog.web.rides import hold

    return " ".join(_texts(answer_page(hold(answer, title="T"), look_of(None), "token"))).replace("\xa0", " ")


def test_dangers_come_before_the_headline_and_notes_last(make_answer):
    """Grave findings are read first; notes wait at the end."""
    from ridelog.findings import Finding

    found = tuple(Finding("gaps", s, f"This is the {s}.") for s in ("note", "warning", "danger"))
    words = _page(make_answer(findings=found))
    places = [
        words.index(each)
        for each in ("This is the danger.", " drawn, ", "This is the warning.", "every sample of a stretch")
    ]
    assert places == sorted(places)
    assert words.index("This is the note.") > words.index("Braking events")


def test_that_nobody_knows_whether_charge_may_enter_is_said_before_the_headline(make_answer):
    """A warning, but one that comes before any praise."""
    from ridelog.findings import Finding

    words = _page(make_answer(findings=(Finding("charge-path", "warning", "Nobody knows."),)))
    assert words.count("Nobody knows.") == 1
    assert words.index("Nobody knows.") < words.index(" drawn, ")


def test_why_there_is_no_share_is_said_once(make_answer):
    """The finding that explains the missing share stands in the headline and not again below it."""
    from ridelog.answer.ride import Charge, Energy
    from ridelog.findings import Finding
    from ridelog.uncertain.quantity import Quantity

    words = _page(
        make_answer(
            energy=Energy(Quantity(212.0), None, None, None, None),
            charge=Charge(Quantity(4.4), None, None),
            findings=(Finding("cannot-show-return", "warning", "The log has no sign."),),
        )
    )
    assert words.count("The log has no sign.") == 1
    assert "came back: " not in words
    assert "We cannot say what came back." in words


def test_no_component_has_a_list_among_its_children(make_answer):
    """A list inside a list of children crashes that part of the page in the browser."""
    from ridelog.web.rides import Columns, Held, hold

    def check(component):
        children = getattr(component, "children", None)
        if isinstance(children, (list, tuple)):
            assert not any(isinstance(child, (list, tuple)) for child in children), component
            for child in children:
                check(child)
        elif children is not None:
            check(children)

    for answer in (make_answer(), make_answer(hills=(), findings=())):
        for part in answer_page(hold(answer, title="T"), look_of({"narrow": True}), "t"):
            check(part)
    check(refusal(Held("T", error_lines=("a", "b"), columns=(Columns("c", ()),), files=("c",)), "t"))


@pytest.mark.parametrize(
    ("move", "relayout", "window"),
    [
        ("in", None, (150.0, 250.0)),
        ("out", None, (0.0, 400.0)),
        ("left", None, (0.0, 200.0)),
        ("right", None, (200.0, 400.0)),
        ("all", None, (0.0, 1000.0)),
        ("400.0:600.0", None, (370.0, 630.0)),
        (None, {"xaxis.range[0]": 500.5, "xaxis.range[1]": 400.5}, (400.5, 500.5)),
        (None, {"xaxis.range[0]": -50, "xaxis.range[1]": 5000}, (0.0, 1000.0)),
        (None, {"xaxis.autorange": True}, (0.0, 1000.0)),
        (None, {"xaxis.range[0]": 2000, "xaxis.range[1]": 3000}, (0.0, 1000.0)),
    ],
)
def test_the_window_follows_buttons_and_drags_and_stays_inside(move, relayout, window):
    """From 100..300 s of a ride of 1000 s (by hand): halves, doubles, shifts by half, and never leaves the ride."""
    assert next_window((100.0, 300.0), (0.0, 1000.0), move, relayout) == pytest.approx(window)


@pytest.mark.parametrize(
    ("fired", "place", "wanted"),
    [
        (["drag"], "1:2", None),
        (["drag", {"type": "move", "to": "in"}], None, "in"),
        (["place"], "1:2", "1:2"),
        (["drag", "place"], "1:2", "1:2"),
        ([], "1:2", None),
    ],
)
def test_a_click_counts_even_where_a_drag_ends_at_the_same_time(fired, place, wanted):
    """A button or place is acted on when it fired, whatever else fired with it; a place chosen before is not."""
    assert asked_for(fired, place) == wanted


def test_zooming_in_ends_before_nothing_is_left():
    """However often one zooms in, a fifth of a second stays."""
    window = (0.0, 1000.0)
    for _ in range(60):
        window = next_window(window, (0.0, 1000.0), "in", None)
    assert window[1] - window[0] == pytest.approx(0.2)


def test_events_are_ordered_with_the_unknown_last(make_answer):
    """By what was missed (offered less returned, by hand 1.9, 1.7, 1.5 …); the event without an offer is last."""
    events = make_answer().braking.events
    missed = ordered(events, "missed")
    assert [event.start_s for event in missed[:2]] == [310.0, 365.0]
    assert missed[-1].available_wh is None
    assert ordered(events, "returned")[0].returned_wh.value == pytest.approx(1.2)
    for value, _ in ORDERS:
        assert len(ordered(events, value)) == len(events)


def test_a_port_that_is_taken_is_told_in_words():
    """Another program on the port: an error with a way out."""
    from ridelog.web.serve import serve

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(UsageError, match=r"cannot listen on 127\.0\.0\.1, port \d+: address already in use"):
            serve(port=taken.getsockname()[1])


@pytest.mark.parametrize(
    ("host", "port"), [("not a host", 0), ("203.0.113.7", 0), ("127.0.0.1", 70000), ("127.0.0.1", -1), ("", 0)]
)
def test_an_address_that_cannot_be_had_is_told_in_words(host, port):
    """Names that are none, another computer's address (203.0.113.0/24 is for examples) and impossible ports."""
    from ridelog.web.serve import serve

    with pytest.raises(UsageError, match="cannot listen on"):
        serve(host=host, port=port)


def test_app_py_prints_its_address_answers_there_and_ends_when_interrupted(tmp_path):
    """The program prints an address that answers; Ctrl-C ends it with status 130 and no traceback."""
    script = ROOT / "app.py"
    with subprocess.Popen(
        [sys.executable, script, "--port", "0"], cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as program:
        try:
            address = program.stdout.readline().removeprefix("ridelog: ").strip()
            assert address.startswith("http://127.0.0.1:")
            with urllib.request.urlopen(f"{address}_dash-layout", timeout=20) as reply:
                assert json.load(reply)["type"] == "MantineProvider"
            program.send_signal(signal.SIGINT)
            _, complaints = program.communicate(timeout=20)
        finally:
            program.kill()
    assert program.returncode == 130
    assert "Traceback" not in complaints


def test_a_name_that_is_no_host_is_not_blamed_on_another_program():
    """A name that does not resolve: no error number of the system, and a hint at the address."""
    from ridelog.web.serve import serve

    with pytest.raises(UsageError) as caught:
        serve("not a host", 0)
    assert "[Errno" not in caught.value.message
    assert caught.value.hint == "is --host an address of this computer? 127.0.0.1 is this computer alone"
