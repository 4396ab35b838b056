"""Who a visitor is: a key in a cookie, of the port that it was given at."""

import pytest
from flask import Flask

from ridelog.web.tray.visitor import add_visitors, turn, visitor


@pytest.fixture
def client():
    server = Flask("test")
    add_visitors(server)
    server.add_url_rule("/tray", "who", lambda: f"{visitor()} {turn()}")
    server.add_url_rule("/other", "other", lambda: visitor())
    server.add_url_rule("/<path:path>", "/<path:path>", lambda path: f"{path} {visitor()}")
    return server.test_client()


def test_a_visitor_keeps_the_key_and_a_wrong_one_is_replaced(client):
    first = client.get("/tray").text.split()[0]
    assert client.get("/tray").text.split()[0] == first
    client.set_cookie("ridelog-visitor-80", "../../etc/passwd")
    assert client.get("/tray").text.split()[0] not in (first, "../../etc/passwd")


@pytest.mark.parametrize(
    ("host", "name"),
    [("127.0.0.1:8050", "ridelog-visitor-8050"), ("[::1]", "ridelog-visitor-80"), ("[::1]:9", "ridelog-visitor-9")],
)
def test_two_programs_on_one_computer_do_not_take_each_others_keys(client, host, name):
    assert client.get("/tray", headers={"Host": host}).headers["Set-Cookie"].startswith(f"{name}=")


def test_turns_go_by_visitor_on_this_computer_and_by_address_elsewhere(client):
    own, away = (
        client.get("/tray").text.split()[1],
        client.get("/tray", environ_base={"REMOTE_ADDR": "192.0.2.7"}).text.split()[1],
    )
    assert own == client.get("/tray").text.split()[0]
    assert away == "192.0.2.7"


VISIT = {"Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}


def test_the_page_brings_the_key_that_it_is_asked_with_from_then_on(client):
    """What a page only loads, such as a picture of that name, brings none."""
    picture = {"Sec-Fetch-Mode": "no-cors", "Sec-Fetch-Dest": "image"}
    assert "Set-Cookie" not in client.get("/ride/x", headers=picture).headers
    key = client.get("/ride/x", headers=VISIT).text.split()[1]
    assert client.get("/tray").text.split()[0] == key
    assert "Set-Cookie" not in client.get("/ride/x", headers=VISIT).headers


def test_a_key_is_given_with_what_is_told_of_the_visitors_files_alone(client):
    assert "Set-Cookie" not in client.get("/other").headers
    first = client.get("/tray").text.split()[0]
    assert client.get("/other").text == first
