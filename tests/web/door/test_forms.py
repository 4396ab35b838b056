"""The pages at the door are complete in themselves and hold no foreign markup."""

import re

import pytest

from ridelog.web.door.forms import go_on_page, log_in_page, log_out_page

EVIL = '"><script>alert(1)</script>'
PAGES = {
    "in": log_in_page("next=%2F", "t"),
    "wrong": log_in_page(EVIL, EVIL, EVIL, is_open=True),
    "out": log_out_page(EVIL, EVIL),
    "on": go_on_page(EVIL),
}


@pytest.mark.parametrize("name", PAGES)
def test_nothing_is_loaded_and_nothing_runs(name):
    page = PAGES[name]
    assert "<script" not in page
    assert not re.search(r"\son\w+=", page)
    for address in re.findall(r'(?:src|href|action)="([^"]*)"', page):
        assert address.startswith(("data:image/svg+xml;base64,", "/", "&quot;"))
    assert page.count("<h1>") == 1


def test_each_field_has_its_label_and_its_complaint():
    page = PAGES["wrong"]
    assert '<label for="password">' in page
    assert 'aria-describedby="said"' in page
    assert 'role="alert" id="said"' in page
    assert "Nothing is encrypted" in page
    assert "Nothing is encrypted" not in PAGES["in"]


def test_who_comes_by_a_link_goes_on_at_once():
    assert '<meta http-equiv="refresh" content="0">' in PAGES["on"]
