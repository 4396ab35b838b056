"""No foreign hosts, no foreign code."""

import pytest

from ridelog.web import create_app
from ridelog.web.door.access import Access
from ridelog.web.hosts import LOCAL_NAMES, Names


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


def test_a_page_that_is_open_to_others_still_answers_to_its_own_names_only(make_answer):
    """By the name that it was given and by numbers, which point nowhere else; not by another name."""
    names = Names(LOCAL_NAMES | {"bikeshed.example"}, any_number=True)
    app = create_app(None, access=Access(names), measure=lambda _given: (make_answer(n=50), ()))
    with app.server.test_client() as client:
        for host, status in (("bikeshed.example:8050", 200), ("192.0.2.7:8050", 200), ("evil.example:8050", 403)):
            assert client.get("/", headers={"Host": host}).status_code == status


@pytest.mark.parametrize("path", ["dash/no-such.js", "no-such-package/x.js", "dash/../../x.js"])
def test_a_script_that_is_not_there_is_not_found(client, path):
    """The library raises an error of its own, which was a fault of the server to whoever asked."""
    assert client.get(f"/_dash-component-suites/{path}").status_code == 404
