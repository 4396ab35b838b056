"""The report of a ride: a form for how it is to look, and the page of what was made."""

from collections.abc import Mapping
from typing import cast

from flask import Flask, request

from ridelog.errors import RidelogError
from ridelog.report.making import Paper
from ridelog.report.sheet import text
from ridelog.tell.pages import asking, orders
from ridelog.tell.refusals.page import door
from ridelog.tell.refusals.page import orders as refusals
from ridelog.web.ids import HOME_PATH, RIDE_PATH, SAMPLE_PATH
from ridelog.web.jobs.measuring import Task
from ridelog.web.orders.choosing import task_of
from ridelog.web.orders.order import Order, Wanted
from ridelog.web.orders.reports import DOCUMENT, DocumentLook, kept_report_made, report_made
from ridelog.web.pages.asked.desk import Desk, Reply, add_order_pages, refused, takeaway
from ridelog.web.pages.frame import framed
from ridelog.web.pages.written import written
from ridelog.web.parts.forms import button, choice, form, said
from ridelog.web.tray.visitor import visitor

KIND = "report"


def add_reports(server: Flask, desk: Desk) -> None:
    """Add the form below each ride, and the pages of reports.

    Parameters
    ----------
    server : of the page
    desk : where rides and orders are
    """

    def ask(token: str) -> Reply:
        shown = desk.rides.store.get(token)
        if not _may(desk, token):
            return refused(asking.REPORT_TITLE, refusals.NOT_YOURS, HOME_PATH, 404)
        if shown is None or shown.answer is None:
            return refused(asking.REPORT_TITLE, refusals.NO_ANSWER, HOME_PATH, 404)
        fields = desk.forms.fields() if request.method == "POST" else {}
        if request.method == "POST" and fields is not None:
            if desk.orders.takes(visitor()):
                return _placed(desk, token, document_look(fields))
            return _form(desk, token, shown.title, fields, refusals.TOO_MANY), 503
        if fields is None:
            return _form(desk, token, shown.title, {}, door.NOT_OURS), 400
        return _form(desk, token, shown.title, fields)

    server.add_url_rule(f"{RIDE_PATH}<token>/report", "ask_report", ask, methods=["GET", "POST"])
    add_order_pages(server, desk, KIND, HOME_PATH, _shown)


def document_look(fields: Mapping[str, str]) -> DocumentLook:
    """How a document is to look, by the fields of a form; anything that is none of the choices is the first of them."""
    said_of = {
        key: fields[key] if fields.get(key) in dict(options) else options[0][0]
        for key, options in asking.CHOICES.items()
    }
    paper = cast("Paper", said_of["paper"])
    return DocumentLook(said_of["units"], said_of["numbers"], paper, with_places=said_of["places"] == "yes")


def look_fields(fields: Mapping[str, str], *keys: str) -> str:
    """The lists of a form by which it is said how a document is to look.

    Parameters
    ----------
    fields : what was chosen before
    keys : of the lists

    Returns
    -------
    HTML.
    """
    labels = {
        "units": asking.UNITS, "numbers": asking.NUMBERS, "paper": asking.PAPER, "places": asking.PLACES,
    }  # fmt: skip
    lists = "".join(choice(key, labels[key], asking.CHOICES[key], fields.get(key, "")) for key in keys)
    return f'<fieldset class="look"><legend>{text(asking.LOOK)}</legend>{lists}</fieldset>'


def _may(desk: Desk, token: str) -> bool:
    """Whether whoever asks gave the ride, or it is one that everybody has."""
    owned = desk.rides.owned(token)
    return owned.mine or owned.free or _is_kept(desk, token)


def _is_kept(desk: Desk, token: str) -> bool:
    """Whether it is a ride of the store, which everybody sees."""
    return desk.kept is not None and desk.kept.is_there and desk.kept.shown(token) is not None


def _placed(desk: Desk, token: str, look: DocumentLook) -> Reply:
    folder = desk.orders.new_folder()
    shown = desk.rides.store.get(token)
    title = "" if shown is None else shown.title
    sample = None if shown is None else next((s for s in desk.rides.samples if s.slug == shown.sample), None)
    back = f"{RIDE_PATH}{token}/report"
    called = f"{asking.REPORT_TITLE}: {title}"
    try:
        if desk.kept is not None and _is_kept(desk, token):
            given = (desk.kept.store().address, token, look)
            return desk.place(Wanted(KIND, called, kept_report_made, given, back=back), folder)
        if sample is not None:
            paths = (*sample.files, *([sample.bike] if sample.bike else []))
            task = Task(tuple((path.name, path) for path in paths))
        else:
            task, _ = task_of(token, desk.rides, folder / "given")
    except RidelogError as error:
        desk.orders.drop_folder(folder)
        return refused(asking.REPORT_TITLE, error.message, HOME_PATH, 404)
    return desk.place(Wanted(KIND, called, report_made, (task, look), back=back), folder)


def _form(desk: Desk, token: str, title: str, fields: Mapping[str, str], why: str = "") -> str:
    lists = look_fields({**vars(written()), **fields}, "paper", "units", "numbers", "places")
    action = f"{RIDE_PATH}{token}/report"
    shown = desk.rides.store.get(token)
    ride = f"{SAMPLE_PATH}{shown.sample}" if shown is not None and shown.sample else f"{RIDE_PATH}{token}"
    parts = [
        f'<p class="dateline"><a href="{text(ride)}">{text(title)}</a></p><h1>{text(asking.REPORT_TITLE)}</h1>',
        f'<p class="lead">{text(asking.REPORT_LEAD)}</p>',
        said([why] if why else []),
        form(action, desk.forms.token(), [lists, button(asking.MAKE_REPORT)]),
    ]
    return framed(f"{asking.REPORT_TITLE}: {title}", parts, HOME_PATH)


def _shown(order: Order) -> list[str]:
    title = str(order.told.get("title", order.wanted.title))
    page = f"{DOCUMENT}.html"
    see = f'<p><a href="{text(f"{order.path}/{page}")}">{text(orders.SEE)}</a></p>' if order.made(page) else ""
    back = f'<p class="screen"><a href="{text(order.wanted.back)}">{text(orders.BACK)}</a></p>'
    return [f"<h1>{text(title)}</h1>", see, takeaway(order, [f"{DOCUMENT}{form}" for form in ORDERED]), back]


ORDERED = (".pdf", ".html", ".zip")  # as they are offered
