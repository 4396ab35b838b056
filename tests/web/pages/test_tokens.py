"""A form is taken from the visitor who got it, on this page, once it is signed; everything else is no form of ours."""

import pytest
from flask import Flask

from ridelog.web.pages.tokens import Tokens
from ridelog.web.tray.visitor import add_visitors

HERE = {"Origin": "http://localhost"}


@pytest.fixture
def page():
    server, forms = Flask(__name__), Tokens()
    add_visitors(server)
    server.add_url_rule("/form", "form", forms.token)
    server.add_url_rule("/sent", "sent", lambda: {"fields": forms.fields(1000)}, methods=["POST"])
    return server


def test_fields_come_without_the_token_from_whoever_got_it_alone(page):
    mine, other = page.test_client(), page.test_client()
    token, others = mine.get("/form").text, other.get("/form").text
    sent = {"name": "x", "name2": "y", "token": token}
    assert mine.post("/sent", data=sent, headers=HERE).json == {"fields": {"name": "x", "name2": "y"}}
    for client, given, headers in (
        (other, token, HERE), (mine, others, HERE), (mine, token[:-1], HERE), (mine, "", HERE),
        (mine, token, {"Origin": "http://evil.example"}),
    ):  # fmt: skip
        assert client.post("/sent", data={**sent, "token": given}, headers=headers).json == {"fields": None}
    assert mine.post("/sent", data={**sent, "name": "x" * 2000}, headers=HERE).status_code == 413


def test_the_browser_says_on_which_page_a_form_was(page):
    assert page.test_client().get("/form").headers["Referrer-Policy"] == "same-origin"
