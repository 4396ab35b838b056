"""Forms are taken from whoever got them, orders cancelled by whoever gave them, and many at once are refused."""

import re

import pytest

from ridelog.web.orders.orders import OrderBounds, Orders
from tests.web.visits import Form, Guest

ASKED = {"ride-campaign.weak.1": "A", "ride-campaign.strong.1": "B"}


@pytest.mark.parametrize("path", ["/compare", "/plan"])
def test_a_form_without_its_token_or_of_somebody_else_begins_nothing(guests, path):
    guest, other = guests(), guests()
    form, theirs = guest.form(path), other.form(path)
    for token in ("", "x", theirs.token, form.token[:-1]):
        reply = guest.send(Form(path, token, ""), ASKED)
        assert reply.status_code == 400
        assert "not of this page" in reply.text
    assert guest.client.post(path, data={"token": form.token, **ASKED}).status_code == 403  # no origin at all
    elsewhere = guest.send(form, ASKED, Origin="http://evil.example")
    assert elsewhere.status_code == 403


def test_a_page_with_a_form_gives_the_visitor_a_key_and_lets_the_browser_say_where_the_form_was(guest):
    reply = guest.see("/compare")
    assert "HttpOnly" in reply.headers["Set-Cookie"]
    assert reply.headers["Referrer-Policy"] == "same-origin"
    assert "Set-Cookie" not in guest.see("/help").headers


def test_work_is_cancelled_and_taken_up_again_by_its_owner_alone(guests, monkeypatch):
    guest, other = guests(), guests()
    monkeypatch.setattr(Orders, "_begin", lambda _self, _order: None)  # nothing is done, so it waits
    path = guest.send(guest.form("/plan"), {**ASKED, "difference": "1"}).headers["Location"]
    page = guest.see(path).text
    assert 'data-again="2"' in page
    assert '<noscript><meta http-equiv="refresh"' in page
    assert "Cancel" in page
    assert "Cancel" not in other.see(path).text
    stranger = Form(path, other.form("/plan").token, "")
    assert other.send(stranger, {"do": "cancel"}).status_code == 400
    assert guest.send(Form(path, "x", ""), {"do": "cancel"}).status_code == 400
    assert guest.send(guest.form(path), {"do": "cancel"}).status_code == 303
    page = guest.see(path).text
    assert "You cancelled this" in page
    assert "data-again" not in page
    back = re.findall(r'href="(/plan\?[^"]*)"', page)[0].replace("&amp;", "&")
    assert 'value="A" checked' in guest.see(back).text  # what was chosen is there again
    guest.send(guest.form(path), {"do": "again"})
    assert "data-again" in guest.see(path).text


def test_many_at_once_are_refused_in_a_sentence_and_the_form_keeps_what_was_chosen(guests, monkeypatch):
    guest: Guest = guests()
    monkeypatch.setattr(Orders, "_begin", lambda _self, _order: None)
    form = guest.form("/plan")
    for _ in range(OrderBounds().most_waiting_each):
        assert guest.send(form, {**ASKED, "difference": "1"}).status_code == 303
    reply = guest.send(form, {**ASKED, "difference": "2.5"})
    assert reply.status_code == 503
    assert "still being made" in reply.text
    assert 'value="2.5"' in reply.text
    other = guests()
    assert other.send(other.form("/plan"), {**ASKED, "difference": "1"}).status_code == 303  # nobody waits for others'
