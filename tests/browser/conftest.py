"""The page in a real browser: the program as users start it, and a page that tells what went wrong in it."""

import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.acts import chart_stands
from tests.browser.visits import PATIENCE_MS, WIDE, Visit, started, watched
from tests.places import ROOT

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox",  # the tests may run as root
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",  # what would leave fails, besides being counted
]


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """The address of the program, started with the sample rides."""
    with started([sys.executable, ROOT / "app.py", "--port", "0"]) as address:
        yield address


@pytest.fixture(scope="session")
def browser() -> Iterator["Browser"]:
    """The distribution's Chromium; without it the tests are skipped, and fail where everything must be there."""
    found = shutil.which("chromium") or (str(CHROMIUM) if CHROMIUM.exists() else None)
    if found is None:
        assert os.environ.get("CI") != "true", "no Chromium: install the package chromium"
        pytest.skip("no Chromium here: install the package chromium")
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=found, args=FLAGS, timeout=PATIENCE_MS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def context(browser: "Browser") -> Iterator["BrowserContext"]:
    """A browser's profile; its cache spares each test the loading of the page's scripts."""
    context = browser.new_context()
    yield context
    context.close()


@pytest.fixture
def width(request: pytest.FixtureRequest) -> int:
    """Of the screen; a wide one unless a test asks for another."""
    return int(getattr(request, "param", WIDE))


@pytest.fixture
def blank(context: "BrowserContext", address: str, width: int) -> Iterator[Visit]:
    """A visitor of one's own, who has no rides and chose nothing yet, at no address."""
    context.clear_cookies()
    with watched(context, width) as visit:
        session = context.new_cdp_session(visit.page)
        session.send("Storage.clearDataForOrigin", {"origin": address.rstrip("/"), "storageTypes": "local_storage"})
        session.detach()
        yield visit


@pytest.fixture
def visit(blank: Visit, address: str) -> Visit:
    """A fresh page showing the first sample ride."""
    blank.page.goto(address)
    chart_stands(blank.page)
    blank.page.wait_for_selector(".samples .sample-card[aria-current=page]")
    return blank
