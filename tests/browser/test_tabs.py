"""One visitor with two tabs: what is given in one is there in the other, also where both were opened at once."""

import sys
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.acts import give, log
from tests.browser.visits import started, watched

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser

# Two who ask without a key for the page, or how their rides are, are answered when both have asked; how rides are, the
# later of them when that is allowed.
PROGRAM = """
import threading
from flask import request
from werkzeug.serving import make_server
from ridelog.web import create_app

app = create_app()
both = {path: threading.Barrier(2) for path in ("/", "/tray")}
goes_on = threading.Event()

def hold(reply):
    if request.path in both and "ridelog-visitor" not in request.headers.get("Cookie", ""):
        later = both[request.path].wait(120) == 0
        if request.path == "/tray" and later:
            goes_on.wait(120)
    return reply

def release():
    goes_on.set()
    return "so be it"

app.server.after_request(hold)
app.server.add_url_rule("/goes-on", "goes-on", release)
server = make_server("127.0.0.1", 0, app.server, threaded=True)
print(f"ridelog: http://127.0.0.1:{server.port}/", flush=True)
server.serve_forever()
"""


def test_what_is_given_in_one_of_two_tabs_that_were_opened_at_once_is_there_in_both(context):
    """Each comes without a key and gets one; the reply that brings the second key is late."""
    context.clear_cookies()
    answered: list[Page] = []
    with started([sys.executable, "-c", PROGRAM]) as address, watched(context) as first, watched(context) as second:
        tabs = first.page, second.page
        for tab in tabs:
            tab.on(
                "requestfinished",
                lambda asked: answered.append(asked.frame.page) if asked.url.endswith("/tray") else None,
            )
        asked = address, f"{address}?"  # of one address, a browser holds the second back for 20 s
        for tab, where in zip(tabs, asked, strict=True):
            tab.evaluate("address => { setTimeout(() => { location.href = address; }, 0); }", where)
        for tab, where in zip(tabs, asked, strict=True):
            tab.wait_for_url(where)
            tab.wait_for_selector("#files", state="attached")
        while not answered:
            tabs[0].wait_for_timeout(20)
        give(answered[0], ("mine.csv", log()))
        answered[0].wait_for_selector(".dateline:has-text('mine')")
        context.request.get(f"{address}goes-on")
        for tab in tabs:
            tab.reload()
            expect(tab.locator(".own-ride")).to_have_count(1)
