"""Another site in the same browser gets nothing done here; browsers' own headers tell it from this page."""

import pytest
from flask import Flask, request

from ridelog.web.door.attempts import THIS_COMPUTER
from ridelog.web.door.origin import add_origin_guard, is_encrypted, sender

HERE = "http://localhost"


@pytest.fixture
def client():
    server = Flask("test")
    add_origin_guard(server)
    server.add_url_rule("/x", view_func=lambda: "done", methods=["GET", "POST", "DELETE", "PUT", "PATCH"])
    return server.test_client()


@pytest.mark.parametrize("method", ["POST", "DELETE", "PUT", "PATCH", "OPTIONS"])
@pytest.mark.parametrize(
    ("headers", "taken"),
    [
        ({"Origin": HERE}, True),
        ({"Origin": HERE, "Sec-Fetch-Site": "same-origin"}, True),
        ({"Sec-Fetch-Site": "same-origin"}, True),
        ({"Origin": "https://bikes.example", "X-Forwarded-Host": "bikes.example"}, True),
        ({"Origin": "HTTP://LOCALHOST"}, True),
        ({}, False),
        ({"Origin": "null"}, False),
        ({"Origin": ""}, False),
        ({"Origin": "http://evil.example"}, False),
        ({"Origin": "http://localhost:81"}, False),
        ({"Origin": "http://localhost.evil.example"}, False),
        ({"Origin": "http://evil.example@localhost"}, False),
        ({"Origin": "http://localhost@evil.example"}, False),
        ({"Origin": "file://localhost"}, False),
        ({"Origin": "http://[::1"}, False),
        ({"Origin": HERE, "Sec-Fetch-Site": "cross-site"}, False),
        ({"Origin": HERE, "Sec-Fetch-Site": "same-site"}, False),
        ({"Sec-Fetch-Site": "none"}, False),
        ({"Referer": f"{HERE}/"}, False),
        ({"Origin": "http://evil.example", "X-Forwarded-Host": ""}, False),
    ],
)
def test_a_change_is_taken_from_this_page_alone(client, method, headers, taken):
    reply = client.open("/x", method=method, headers=headers)
    assert reply.status_code == (200 if taken else 403)
    if not taken:
        assert reply.text == "Requests are taken from this page only, not from another site.\n"


@pytest.mark.parametrize(
    ("site", "mode", "dest", "taken"),
    [
        (None, None, None, True),
        ("none", "navigate", "document", True),
        ("same-origin", "cors", "empty", True),
        ("cross-site", "navigate", "document", True),  # a link in a mail, or on a site
        ("cross-site", "navigate", "iframe", False),
        ("cross-site", "navigate", "object", False),
        ("cross-site", "no-cors", "image", False),
        ("cross-site", "no-cors", "script", False),
        ("cross-site", "cors", "empty", False),
        ("same-site", "no-cors", "image", False),
    ],
)
def test_another_site_cannot_even_make_the_page_look(client, site, mode, dest, taken):
    """A picture on another site whose address begins an audit, say; a link that somebody follows is another matter."""
    given = {"Sec-Fetch-Site": site, "Sec-Fetch-Mode": mode, "Sec-Fetch-Dest": dest}
    reply = client.get("/x", headers={name: value for name, value in given.items() if value})
    assert reply.status_code == (200 if taken else 403)


@pytest.mark.parametrize(
    ("peer", "forwarded", "address"),
    [
        ("192.0.2.7", None, "192.0.2.7"),
        ("192.0.2.7", "127.0.0.1", "192.0.2.7"),  # only a program on this computer is believed
        ("192.0.2.7", "198.51.100.1", "192.0.2.7"),
        ("127.0.0.1", None, THIS_COMPUTER),
        ("::1", None, THIS_COMPUTER),
        ("::ffff:127.0.0.1", None, THIS_COMPUTER),
        ("127.0.0.1", "198.51.100.1", "198.51.100.1"),
        ("127.0.0.1", "127.0.0.1, 198.51.100.1", "198.51.100.1"),  # the first was said by the caller
        ("127.0.0.1", "198.51.100.1, 127.0.0.1", THIS_COMPUTER),
        ("127.0.0.1", "unknown", "unknown"),
        ("", None, ""),
    ],
)
def test_the_address_is_the_callers_and_not_what_the_caller_says(peer, forwarded, address):
    headers = {} if forwarded is None else {"X-Forwarded-For": forwarded}
    with Flask("test").test_request_context("/", headers=headers, environ_base={"REMOTE_ADDR": peer}):
        assert sender(request) == address


@pytest.mark.parametrize(
    ("headers", "encrypted"),
    [
        ({}, False),
        ({"Origin": "http://localhost"}, False),
        ({"Origin": "https://bikes.example"}, True),
        ({"X-Forwarded-Proto": "https"}, True),
        ({"X-Forwarded-Proto": "http"}, False),
    ],
)
def test_a_line_is_encrypted_where_the_browser_or_who_stands_in_front_says_so(headers, encrypted):
    with Flask("test").test_request_context("/", headers=headers):
        assert is_encrypted(request) is encrypted
