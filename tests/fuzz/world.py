"""A running page with a store, a visitor's ride and what was made of them, to which `pages.py` is sent."""

import contextlib
import re
import tempfile
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from unittest.mock import patch

from ridelog.errors import RidelogError
from ridelog.tell.refusals.page import orders as refusals

ORDERS = ("@COMPARE@", "@PLAN@", "@REPORT@")
BASE_BYTES, BYTES_PER_BYTE = 1_500_000, 30  # of a reply: a ride's samples, and what is said back of what was sent
FOREIGN = re.compile(r"Traceback \(most recent|\b[A-Za-z_.]+(?:Error|Warning|Exception): .{0,60}")  # as Python says it


class WrongReply(Exception):  # noqa: N818 - a finding of this bench, not an error of the program
    """A reply that cannot be."""


@dataclass
class World:
    """The page, its visitor, and the words that stand for what only it knows."""

    guest: Any
    rides: Any
    words: dict[str, str]
    folder: tempfile.TemporaryDirectory[str]  # gone with it
    how: list[Any]  # orders are made: one function

    def visit(self, visit: dict[str, Any]) -> None:
        """Send a request; what is raised tells what is wrong with its reply."""
        if self.rides.get(self.words["@RIDE@"]) is None:  # an earlier request took it away
            self.words["@RIDE@"] = _given(self.guest)
        for word in ORDERS:
            kept = f"/{word.strip('@').lower()}/{self.words[word]}"
            if word in visit["path"] and self.guest.see(kept).status_code == 404:  # later ones took its place
                self.words[word] = _made(self.guest, self.words, word, self.how)
        sent: dict[str, Any] = visit | {key: self._put(visit[key]) for key in ("path", "data") if key in visit}
        n_bytes = len(sent["path"]) + len(sent.get("data", b""))
        try:
            with _faults_of_threads() as faults:
                reply = self.guest.client.open(**sent)
                content = reply.get_data()
        except RidelogError as error:  # which a page would have to say
            raise WrongReply(f"{type(error).__name__} from {visit['path'][:20]}") from error
        where = f"{visit.get('method', 'GET')} {visit['path'].partition('?')[0][:40]}"
        held(reply, content, n_bytes, where)
        reply.close()
        if faults:
            raise WrongReply(f"in a thread: {faults[0]}")

    def _put(self, given: Any) -> Any:
        for word, meant in self.words.items():
            if isinstance(given, str):
                given = given.replace(word, meant)
            else:
                given = given.replace(word.encode(), meant.encode())
        return given


@contextlib.contextmanager
def _faults_of_threads() -> Iterator[list[str]]:
    """What ends a thread meanwhile, which nobody would be told of."""
    faults: list[str] = []
    before = threading.excepthook

    def hook(raised: threading.ExceptHookArgs) -> None:
        faults.append(raised.exc_type.__name__)
        before(raised)

    threading.excepthook = hook
    try:
        yield faults
    finally:
        threading.excepthook = before


def held(reply: Any, content: bytes, n_bytes: int, where: str) -> None:
    """Hold of a reply what is held of all.

    Parameters
    ----------
    reply : its status and headers
    content : its body
    n_bytes : size of the request [byte]
    where : of the request, for people

    Raises
    ------
    WrongReply : it is none that can be
    """
    text = content.decode("utf-8", "replace")
    if reply.status_code >= 500 and not (reply.status_code == 503 and refusals.TOO_MANY in text):
        raise WrongReply(f"status {reply.status_code} from {where}")
    if len(content) > BASE_BYTES + BYTES_PER_BYTE * n_bytes:
        raise WrongReply(f"too long a reply from {where}")
    there = reply.headers.get("Location", "/")
    if not there.startswith("/") or there.startswith(("//", "/\\")):
        raise WrongReply(f"led elsewhere from {where}")
    if said := FOREIGN.search(text):
        raise WrongReply(f"a foreign error said by {where}: {said[0]}")
    if reply.mimetype == "text/html" and b"fuzz" in content:
        reader = _Markup()
        reader.feed(text)
        if reader.found:
            raise WrongReply(f"markup given back by {where}: {reader.found[0]}")


class _Markup(HTMLParser):
    """Elements and attributes that only a request could have brought."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what is none of the page's own."""
        if "fuzz" in tag or any("fuzz" in name for name, _ in attrs):
            self.found.append(tag)

    def handle_data(self, data: str) -> None:
        """Note a script that says what a request said."""
        if self.cdata_elem == "script" and "fuzz" in data:
            self.found.append("script")


def _at_once(_make: Any, _given: Sequence[Any], *_how: Any) -> list[bytes]:
    """Orders are made without any work: what is made of them is tried elsewhere."""
    return [b'{"title": "<fuzz-x>", "files": []}']


@cache
def world() -> World:
    """The page, made once; a comparison, a plan and a report of it are made by the program itself."""
    from ridelog.web.app import create_app
    from ridelog.web.jobs.apart import looked_here, measured_here
    from ridelog.web.jobs.coasting import coasted_here
    from ridelog.web.jobs.measuring import measure_given
    from ridelog.web.jobs.workshop import Workshop
    from ridelog.web.kept.sources import store_rides
    from ridelog.web.rides import RideStore
    from ridelog.web.tray.trays import Hands, Trays
    from tests.fleet.store.kept import key_of, made_ride
    from tests.web.visits import Guest

    folder = tempfile.TemporaryDirectory(prefix="ridelog-fuzz-")
    kept = store_rides(str(Path(folder.name) / "store"))
    for number in range(6):
        bike, group = ("Avocet" if number < 3 else "Ruff <i>"), ("weak" if number % 2 else "strong")
        kept.store().write(replace(made_ride(number, bike=bike, returned_wh=10.0 + number), group=group))
    for asked in (kept.listed, kept.audit):
        _once_there(asked)
    how: list[Any] = [_at_once]
    hands = Hands(
        partial(measured_here, measure=measure_given), looked_here, coasted_here, made=lambda *given: how[0](*given)
    )
    trays = Trays(RideStore(), Workshop(), hands)
    app = create_app(trays=trays, kept=kept)
    app.server.config["PROPAGATE_EXCEPTIONS"] = True
    guest, other = Guest(app.server.test_client()), Guest(app.server.test_client())
    words = {"@KEY@": key_of(1), "@HILL@": kept.audit().hills[0].id, "@RIDE@": _given(guest)}
    words |= {word: _made(guest, words, word, how) for word in ORDERS}
    words["@FORM@"] = guest.form("/compare").token
    words["@OTHERS@"] = other.form("/compare").token
    for path in ("/fleet", "/fleet.parquet", "/rides", f"/ride/{words['@KEY@']}", f"/hill/{words['@HILL@']}", "/help"):
        guest.see(path)  # loads what is loaded once
    return World(guest, trays.store, words, folder, how)


def _made(guest: Any, words: dict[str, str], word: str, how: list[Any]) -> str:
    """The token of a comparison, plan or report that the program itself makes."""
    from ridelog.report.comparison import files as comparison_files
    from ridelog.report.ride import files as ride_files
    from ridelog.web.jobs.process import run_here

    fields = {"bike-A": "*", "group-A": "weak", "bike-B": "*", "group-B": "strong", "difference": "5"}
    kind = word.strip("@").lower()
    form = guest.form(f"/ride/{words['@KEY@']}/report" if kind == "report" else f"/{kind}")
    how[0] = run_here
    with patch.object(comparison_files, "pdf_of", str.encode), patch.object(ride_files, "pdf_of", str.encode):
        token = guest.send(form, fields).headers["Location"].rpartition("/")[2]
        guest.done(f"/{kind}/{token}")  # to lay a PDF out takes most of the time of a document
    how[0] = _at_once
    return str(token)


def _once_there(asked: Callable[[], Any]) -> None:
    """Wait for what a store tells."""
    from ridelog.web.kept.kept import UnderwayError

    while True:
        with contextlib.suppress(UnderwayError):
            asked()
            return


def _given(guest: Any) -> str:
    """The token of a small ride of the visitor's, given anew."""
    from tests.web.visits import log

    (token,) = guest.give(("ride.csv", log()))
    return str(token)
