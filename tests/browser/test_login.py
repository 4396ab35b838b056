"""The login in a real browser: a form that sends its origin, a cookie that comes back, nothing after the logout."""

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from ridelog.web.door.password import hashed
from tests.browser.looks import assert_good_in
from tests.browser.visits import Visit, started, watched
from tests.places import ROOT

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

SECRET = "four cold apples march"
pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def guarded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the program, started with a password."""
    path = tmp_path_factory.mktemp("door") / "page.password"
    path.touch(mode=0o600)
    path.write_text(hashed(SECRET)._hash)
    with started([sys.executable, ROOT / "app.py", "--port", "0", "--password-file", path]) as address:
        yield address


@pytest.fixture
def visit(context: "BrowserContext") -> Iterator[Visit]:
    """Somebody who has not logged in."""
    context.clear_cookies()
    with watched(context) as visit:
        yield visit


def log_in(page: "Page", address: str) -> None:
    page.goto(address)
    page.fill("#password", SECRET)
    page.keyboard.press("Enter")
    page.wait_for_selector("footer a[href='/logout']")


def test_in_by_the_keyboard_and_out_again(visit: Visit, guarded: str) -> None:
    """Each page of the door on wide and narrow screens, by day and by night."""
    page, field = visit.page, visit.page.locator("#password")
    page.goto(f"{guarded}?a=1")
    assert page.url == f"{guarded}login?next=%2F%3Fa%3D1"
    assert_good_in(page)
    assert visit.console == []
    expect(field).to_be_focused()
    page.keyboard.type("wrong")
    page.keyboard.press("Enter")
    expect(page.locator("[role=alert]")).to_have_text("That is not the password.")
    assert_good_in(page)
    visit.expected = "status of 403"
    assert visit.faults() == []
    visit.console.clear()
    visit.expected = None
    expect(field).to_be_focused()
    page.keyboard.type(SECRET)
    page.keyboard.press("Enter")
    page.wait_for_selector("footer a[href='/logout']")
    assert page.url == f"{guarded}?a=1"
    page.click("footer a[href='/logout']")
    page.wait_for_url("**/logout")
    assert_good_in(page)
    page.click("button")
    field.wait_for()
    page.goto(guarded)
    assert "login" in page.url


def test_a_login_that_is_over_leads_to_the_form(visit: Visit, guarded: str, context: "BrowserContext") -> None:
    """Instead of a page on which nothing happens any more."""
    page = visit.page
    log_in(page, guarded)
    visit.expected = "."  # what the page was still asking for is refused
    # an evaluation that still runs when the page goes elsewhere would fail, and it goes with its next question
    page.evaluate("addEventListener('keydown', () => fetch('/_dash-layout'))")
    context.clear_cookies()
    page.keyboard.press("x")
    page.wait_for_selector("#password")
    assert "login" in page.url


def test_another_site_is_kept_out_by_a_real_browser(visit: Visit, guarded: str) -> None:
    """A page of another origin in the same browser: its form and its script are refused, with the cookie at hand."""
    page, statuses = visit.page, []
    log_in(page, guarded)
    visit.expected = "status of 403|loopback|net::ERR_FAILED"
    page.goto("data:text/html,<title>elsewhere</title>")
    page.on("response", lambda reply: statuses.append((reply.request.method, reply.status)))
    page.evaluate(f"fetch('{guarded}upload', {{method: 'POST', mode: 'no-cors', body: 'x'}}).catch(() => 0)")
    page.set_content(f"<form method=post action='{guarded}logout'><button>x</button></form>")
    page.click("button")
    page.wait_for_url(f"{guarded}logout")  # what is said there stands, and keeps no other page from being opened
    posted = {status for method, status in statuses if method == "POST"}
    assert posted == {403}  # the form; a new browser keeps the script from this computer by itself
    page.goto(f"{guarded}_dash-layout")
    assert "Log out" in page.inner_text("body")
