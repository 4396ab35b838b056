"""Programs as users start them, and visits of their pages that tell what went wrong in them."""

import os
import re
import socket
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from urllib.parse import urlsplit

from tests.places import ROOT

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page, Request

PATIENCE_MS = 240_000  # for what never comes: how soon something comes depends on the machine and is not asked here
HEIGHT = 900
SHAKEN = os.environ.get("SHAKEN")  # a seed: replies come late and in any order, to a processor four times as slow
LATE_REPLIES = """(() => {
  const fetched = window.fetch;
  let state = SEED;
  const late = (most) => new Promise((done) => {
    state = (state * 1103515245 + 12345) % 2147483648;
    setTimeout(done, most * state / 2147483648);
  });
  window.fetch = async (...request) => {
    await late(300);
    const reply = await fetched(...request);
    await late(900);
    return reply;
  };
})();"""
WIDE, NARROW = 1280, 390


@dataclass
class Visit:
    """A browser's page and everything that should not have happened on it.

    ``expected`` : pattern of what the console says of a fault that a test makes on purpose
    """

    page: "Page"
    console: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    expected: str | None = None

    def faults(self) -> list[str]:
        """What the console said that was not expected."""
        return [said for said in self.console if not (self.expected and re.search(self.expected, said))]


@contextmanager
def watched(context: "BrowserContext", width: int = WIDE) -> Iterator[Visit]:
    """A page at no address yet; afterwards an empty console and no request elsewhere are asserted."""
    page = context.new_page()
    page.set_viewport_size({"width": width, "height": HEIGHT})
    page.set_default_timeout(PATIENCE_MS)
    visit = Visit(page)

    def watch(request: "Request") -> None:
        if urlsplit(request.url).hostname not in ("127.0.0.1", None):  # None: data, blob and file addresses
            visit.left.append(request.url)

    if SHAKEN:
        page.add_init_script(LATE_REPLIES.replace("SEED", str(int(SHAKEN))))
        context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
    page.on("request", watch)
    page.on("console", lambda message: visit.console.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: visit.console.append(f"uncaught: {error}"))
    try:
        yield visit
    finally:
        page.close()
    assert not visit.faults(), visit.faults()
    assert not visit.left, visit.left


@contextmanager
def started(command: Sequence[str | Path], said_on: Literal["stdout", "stderr"] = "stdout") -> Iterator[str]:
    """The address, ending in a stroke, of a program that serves the page until it is no longer wanted."""
    streams = {said_on: subprocess.PIPE}
    with subprocess.Popen(command, text=True, cwd=ROOT, **streams) as program:  # type: ignore[call-overload]
        try:
            line = getattr(program, said_on).readline()
            assert line.startswith("ridelog: http://127.0.0.1:"), line
            yield line.removeprefix("ridelog: ").strip()
        finally:
            program.terminate()


@contextmanager
def held_port() -> Iterator[int]:
    """A port for a program that takes no 0: bound, so that no connection gets it meanwhile, but nobody listens."""
    with socket.socket() as holder:
        holder.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # Linux lets others bind it too, who set the same
        holder.bind(("127.0.0.1", 0))
        yield holder.getsockname()[1]
