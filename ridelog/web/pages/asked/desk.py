"""What pages with forms have in common: where rides and orders are, whose form it is, and the pages of an order."""

from collections.abc import Callable, Sequence
from pathlib import Path

from flask import Flask, Response, make_response, redirect, request, send_file

from ridelog.lazy import dataclass
from ridelog.report.sheet import text
from ridelog.tell.pages import orders as words
from ridelog.tell.refusals.page import door
from ridelog.tell.refusals.page import orders as refusals
from ridelog.web.callbacks.ride import Rides
from ridelog.web.kept.kept import Kept
from ridelog.web.orders.choosing import Campaign
from ridelog.web.orders.order import Order, Wanted
from ridelog.web.orders.orders import Orders
from ridelog.web.pages.frame import framed
from ridelog.web.pages.tokens import Tokens
from ridelog.web.parts.forms import button, form, said
from ridelog.web.tray.visitor import turn, visitor

AGAIN_S = 2  # between two looks of a browser that waits
READ_ONLY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'"  # for a document
KINDS = {".html": "text/html", ".pdf": "application/pdf", ".zip": "application/zip", ".json": "application/json"}

Reply = Response | str | tuple[str, int]
Show = Callable[[Order], Sequence[str]]


@dataclass(frozen=True)
class Desk:
    """Where rides are found and orders taken, and what knows the forms of this page again."""

    rides: Rides
    orders: Orders
    forms: Tokens
    campaign: Campaign | None = None
    kept: Kept | None = None

    def place(self, wanted: Wanted, folder: Path) -> Response:
        """Take an order in, and lead to its page."""
        order = self.orders.place(visitor(), turn(), wanted, folder)
        return _to(order.path)


def _to(path: str) -> Response:
    """To another page, which is then looked at."""
    reply = make_response(redirect(path, 303))
    reply.headers["Cache-Control"] = "no-store"
    return reply


def add_order_pages(server: Flask, desk: Desk, kind: str, here: str, show: Show) -> None:
    """Add the pages of orders of one kind, and the addresses of what they made.

    Parameters
    ----------
    server : of the page
    desk : where they are found
    kind : first part of their address
    here : page that they belong to
    show : what one made, as HTML
    """

    def page(token: str) -> Reply:
        order = desk.orders.get(kind, token)
        if order is None:
            return _gone(here)
        if request.method == "POST":
            return _act(desk, order, here)
        parts = show(order) if order.state == "done" else _standing(desk, order)
        title = str(order.told.get("title", order.wanted.title))
        reply = make_response(framed(title, parts, here, again_s=AGAIN_S if order.state == "waiting" else None))
        reply.headers["Cache-Control"] = "no-store"
        return reply

    def made(token: str, name: str) -> Reply:
        order = desk.orders.get(kind, token)
        path = None if order is None else order.made(name)
        if path is None or not path.is_file():
            return refusals.NO_SUCH_FILE, 404
        is_page = path.suffix == ".html" and "save" not in request.args
        reply = send_file(path, KINDS.get(path.suffix, "text/csv"), as_attachment=not is_page, download_name=name)
        reply.headers["Cache-Control"] = "no-store"
        reply.headers["Content-Security-Policy"] = READ_ONLY
        return reply

    server.add_url_rule(f"/{kind}/<token>", f"{kind}_order", page, methods=["GET", "POST"])
    server.add_url_rule(f"/{kind}/<token>/<name>", f"{kind}_made", made)


def refused(title: str, line: str, here: str, status: int) -> tuple[str, int]:
    """A page that says why there is nothing else.

    Parameters
    ----------
    title : of the page
    line : a sentence
    here : page that it belongs to
    status : of the reply

    Returns
    -------
    Page and status.
    """
    return framed(title, [f"<h1>{text(title)}</h1>", said([line])], here), status


def _gone(here: str) -> tuple[str, int]:
    return refused(words.NOTHING_HERE, refusals.NOT_KEPT, here, 404)


def _act(desk: Desk, order: Order, here: str) -> Reply:
    """Cancel an order, or make it once more, at the wish of whoever gave it."""
    fields = desk.forms.fields()
    if fields is None or order.visitor != visitor():
        return refused(order.wanted.title, door.NOT_OURS, here, 400)
    if fields.get("do") == "cancel":
        desk.orders.stop(order)
    elif fields.get("do") == "again":
        if not desk.orders.takes(order.visitor):
            return refused(order.wanted.title, refusals.TOO_MANY, here, 503)
        desk.orders.again(order)
    return _to(order.path)


def _standing(desk: Desk, order: Order) -> list[str]:
    """How an order stands that is not done."""
    mine = order.visitor == visitor()
    head = f"<h1>{text(order.wanted.title)}</h1>"
    back = f'<p><a href="{text(order.wanted.back)}">{text(words.BACK)}</a></p>' if mine else ""
    if order.state == "waiting":
        cancel = (
            form(order.path, desk.forms.token(), [button(words.CANCEL, "do", "cancel", plain=True)]) if mine else ""
        )
        return [head, _far(desk, order), f'<p class="soft">{text(words.KEEP_OPEN)}</p>', cancel]
    lines = [words.CANCELLED] if order.state == "stopped" else list(order.lines)
    again = form(order.path, desk.forms.token(), [button(words.AGAIN, "do", "again")]) if mine else ""
    return [head, said(lines), again, back]


def _far(desk: Desk, order: Order) -> str:
    far, standing = order.far, desk.orders.progress(order)
    if far is None:
        ahead = standing.ahead if standing is not None and standing.state == "waiting" else None
        line = words.far("", 0, 0) if ahead is None else words.waiting(ahead)
        bar = ""
    else:
        line = words.far(far.stage, far.done, far.of)
        bar = f'<progress max="{far.of}" value="{far.done}" aria-hidden="true"></progress>' if far.of else ""
    return f'<div id="far" role="status"><p class="far">{text(line)}</p>{bar}</div>'


def takeaway(order: Order, names: Sequence[str]) -> str:
    """Links to what an order made.

    Parameters
    ----------
    order : that is done
    names : of its files, in the order in which they are offered

    Returns
    -------
    HTML.
    """
    items = []
    for name in names:
        path = order.made(name)
        if path is not None and path.is_file():
            save = "?save" if name.endswith(".html") else ""
            about = f"{words.form(name)} ({words.size(path.stat().st_size)})"
            items.append(f'<li><a href="{text(f"{order.path}/{name}{save}")}" download>{text(about)}</a></li>')
    missing = [line for lines in order.told.get("missing", {}).values() for line in lines]
    why = "".join(f"<p>{text(line)}</p>" for line in (words.MADE_OTHERWISE, *missing)) if missing else ""
    return (
        f'<section class="takeaway screen" aria-labelledby="take-h"><h2 id="take-h">{text(words.TAKE)}</h2>\n'
        f"<ul>{''.join(items)}</ul>{why}</section>"
    )
