"""The page in a real browser: the program as users start it, and a page that tells what went wrong in it."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest

from tests.places import ROOT

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page, Request

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


@dataclass
class Visit:
    """A browser's page and everything that should not have happened on it."""

    page: "Page"
    console: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """The address of the program, started with the sample rides."""
    with subprocess.Popen(
        [sys.executable, ROOT / "app.py", "--port", "0"], stdout=subprocess.PIPE, text=True, cwd=ROOT
    ) as program:
        try:
            assert program.stdout is not None
            line = program.stdout.readline()
            assert line.startswith("ridelog: http://127.0.0.1:"), line
            yield line.removeprefix("ridelog: ").strip()
        finally:
            program.terminate()


@pytest.fixture(scope="session")
def browser() -> Iterator["Browser"]:
    """The distribution's Chromium; without it the tests are skipped, and fail where everything must be there."""
    found = shutil.which("chromium") or (str(CHROMIUM) if CHROMIUM.exists() else None)
    if found is None:
        assert os.environ.get("CI") != "true", "no Chromium: install the package chromium"
        pytest.skip("no Chromium here: install the package chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=found, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session", params=[1280, 390], ids=["wide", "narrow"])
def context(browser: "Browser", request: pytest.FixtureRequest) -> Iterator["BrowserContext"]:
    """A browser profile of one screen width; its cache spares each test the loading of the page's scripts."""
    context = browser.new_context(viewport={"width": request.param, "height": 900})
    yield context
    context.close()


@pytest.fixture
def visit(context: "BrowserContext", address: str) -> Iterator[Visit]:
    """A fresh page showing the first sample ride; afterwards an empty console and no request elsewhere are asserted."""
    page = context.new_page()
    visit = Visit(page)

    def watch(request: "Request") -> None:
        if urlsplit(request.url).hostname not in ("127.0.0.1", None):  # None: data and blob addresses
            visit.left.append(request.url)

    page.on("request", watch)
    page.on("console", lambda message: visit.console.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: visit.console.append(f"uncaught: {error}"))
    page.goto(address)
    page.wait_for_selector("#power-chart .nsewdrag")
    yield visit
    page.close()
    assert visit.console == []
    assert visit.left == []
