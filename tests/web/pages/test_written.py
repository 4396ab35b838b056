"""Numbers and times on the server's pages: as the address says, else as the browser keeps it."""

import re

import pytest
from flask import Flask

from ridelog.web.pages.frame import framed
from ridelog.web.pages.written import add_written, choices_here, written
from ridelog.web.parts.choices import COOKIE, Written


@pytest.fixture
def client():
    server = Flask("t")
    server.add_url_rule("/x", "x", lambda: written().cookie(), methods=["GET", "POST"])
    server.add_url_rule("/form", "form", lambda: framed("X", [choices_here()], "/x"), methods=["GET", "POST"])
    server.add_url_rule("/<path:any>", "any", lambda any: any)  # noqa: A006  (as the page of rides has it)
    add_written(server)
    return server.test_client()


def test_the_address_goes_before_what_is_kept_and_nonsense_is_passed_over(client):
    assert client.get("/x").text == Written().cookie()
    client.set_cookie(COOKIE, "imperial.comma.utc")
    assert client.get("/x").text == "imperial.comma.utc"
    assert client.get("/x?units=metric&clock=log").text == "metric.comma.log"
    assert client.get("/x?units=%3Cb%3E&numbers=").text == "metric.point.utc"


def test_a_choice_is_kept_where_the_pages_own_form_says_so_and_nowhere_else(client):
    asked = "/x?bike=a%26b&units=imperial&numbers=comma&clock=utc"
    reply = client.get(f"{asked}&keep=yes")
    assert (reply.status_code, reply.location) == (303, "?bike=a%26b&units=imperial&numbers=comma&clock=utc")
    assert reply.headers["Set-Cookie"].startswith(f"{COOKIE}=imperial.comma.utc;")
    for path, headers in (
        (asked, {}),  # a shared address shows it and changes nothing
        (f"{asked}&keep=yes", {"Sec-Fetch-Site": "cross-site"}),
        ("/x?keep=yes", {}),
    ):
        reply = client.get(path, headers=headers)
        assert reply.status_code == 200
        assert "Set-Cookie" not in reply.headers
    away = client.get("//evil.example/x?units=imperial&keep=yes")
    assert not (away.location or "?").startswith(("//", "http"))


def test_a_page_that_answers_a_form_offers_no_choice_that_would_lose_its_fields(client):
    assert "<form" in client.get("/form").text
    assert "<form" not in client.post("/form").text


def test_every_list_follows_the_choice(look, store):
    """A mile is 1.609344 km (NIST SP 811, appendix B.8)."""
    hill = store.audit().hills[0].id
    metric = {path: look(path).text for path in ("/rides", f"/hill/{hill}", "/fleet")}
    for path, page in metric.items():
        asked = look(f"{path}?units=imperial&numbers=comma&clock=utc").text
        main = re.search(r"<main.*</main>", asked, re.DOTALL)[0]
        assert not re.search(r"\d\.\d", re.sub(r"<svg.*?</svg>|<[^>]*>", " ", main, flags=re.DOTALL)), path
        assert re.search(r"\d[\u00a0 ](mi|ft)\b", main), path
        assert re.search(r"\d[\u00a0 ](km|m)\b", page), path
    assert "Wh/mi" in look("/fleet?units=imperial").text
    (km,) = {float(each) for each in re.findall(r"· ([\d.]+)\u00a0km", metric["/rides"])}
    (miles,) = {float(each) for each in re.findall(r"· ([\d.]+)\u00a0mi", look("/rides?units=imperial").text)}
    assert miles == pytest.approx(km / 1.609344, rel=0.005)
