"""The form in which rides are put into groups, for a comparison or a plan: GET proposes, POST begins the work."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from urllib.parse import urlencode

from flask import Flask, request

from ridelog.errors import RidelogError, UsageError
from ridelog.lazy import dataclass
from ridelog.report.sheet import text
from ridelog.tell.pages import asking as words
from ridelog.tell.refusals.page import door
from ridelog.tell.refusals.page import orders as refusals
from ridelog.tell.table import capital
from ridelog.web.ids import HOME_PATH
from ridelog.web.orders.choosing import Chosen, Offer, StoreOffer, groups_of, offers
from ridelog.web.orders.groups import ChosenGroup
from ridelog.web.orders.order import Wanted
from ridelog.web.pages.asked.desk import Desk, Reply
from ridelog.web.pages.asked.report import look_fields
from ridelog.web.pages.frame import framed
from ridelog.web.pages.written import written
from ridelog.web.parts.chooser import names_of_groups, store_fields, table_of_rides
from ridelog.web.parts.forms import button, form, said
from ridelog.web.tray.visitor import visitor

SAMPLE_KEY = "sample"  # of an address that proposes the sample campaign


@dataclass(frozen=True)
class There:
    """What can be chosen: rides, how many of the visitor's cannot be, and what of a store."""

    offered: Sequence[Offer]
    left_out: int
    store: StoreOffer | None


Fields = Mapping[str, str]
Want = Callable[[Sequence[ChosenGroup], Fields, str], Wanted]


@dataclass(frozen=True)
class Ask:
    """One form.

    Attributes
    ----------
    here : its address
    title, lead, send : above it, below that, and on its button
    fewest : groups that it takes
    fields : HTML of what it asks for besides, by what was said before
    want : from groups, fields, and the address of the form with all that was chosen, to what is made
    looks : keys of the lists by which it is said how the document is to look
    """

    here: str
    title: str
    lead: str
    send: str
    fewest: int
    fields: Callable[[Fields], str]
    want: Want
    looks: tuple[str, ...]


def add_ask(server: Flask, desk: Desk, ask: Ask) -> None:
    """Add the form to the server.

    Parameters
    ----------
    server : of the page
    desk : where rides and orders are
    ask : the form
    """

    def page() -> Reply:
        there = There(*offers(desk.rides, desk.campaign), StoreOffer.of(desk.kept))
        if request.method != "POST":
            return _form(desk, ask, there, request.args.to_dict())
        fields = desk.forms.fields()
        if fields is None:
            return _form(desk, ask, there, {}, [door.NOT_OURS]), 400
        if not desk.orders.takes(visitor()):
            return _form(desk, ask, there, fields, [refusals.TOO_MANY]), 503
        try:
            return desk.place(*_wanted(desk, ask, fields, Chosen.read(fields, there.offered, there.store)))
        except RidelogError as error:
            lines = [f"{capital(each)}." for each in (error.message, error.hint) if each]
            return _form(desk, ask, there, fields, lines)  # no fault of a browser, whose console would tell of one

    server.add_url_rule(ask.here, f"ask_{ask.here.strip('/')}", page, methods=["GET", "POST"])


def _wanted(desk: Desk, ask: Ask, fields: Fields, chosen: Chosen) -> tuple[Wanted, Path]:
    """What is to be made of what was chosen, and the folder of its files."""
    if not chosen.used():
        raise refusals.no_ride_chosen() if ask.fewest == 1 else refusals.too_few_groups()
    if len(chosen.used()) < ask.fewest:
        raise refusals.too_few_groups()
    chosen.named()  # refused before anything is linked
    back = f"{ask.here}?{urlencode({key: value for key, value in fields.items() if value})}"
    folder = desk.orders.new_folder()
    try:
        return ask.want(groups_of(chosen, desk.rides, desk.campaign, folder / "given"), fields, back), folder
    except UsageError:
        desk.orders.drop_folder(folder)
        raise


def _form(desk: Desk, ask: Ask, there: There, fields: Fields, why: Sequence[str] = ()) -> str:
    how = written()
    fields = {**vars(how), **fields}
    chosen = Chosen.read(fields, there.offered, there.store)
    if SAMPLE_KEY in fields and desk.campaign is not None:
        chosen = Chosen.of_campaign(desk.campaign)
    head = [f"<h1>{text(ask.title)}</h1>", f'<p class="lead">{text(ask.lead)}</p>', said(why)]
    if not there.offered and there.store is None:
        link = f'<a href="{HOME_PATH}">{text(words.GIVE_FILES)}</a>'
        return framed(ask.title, [*head, f"<p>{text(words.NO_RIDES)} {link}</p>"], ask.here)
    sample = f'<p><a href="{ask.here}?{SAMPLE_KEY}">{text(words.SAMPLE)}</a></p>' if desk.campaign is not None else ""
    parts = [
        names_of_groups(chosen),
        table_of_rides(there.offered, chosen, how) if there.offered else "",
        f'<p class="soft">{text(words.left_out(there.left_out))}</p>' if there.left_out else "",
        store_fields(there.store, fields) if there.store is not None else "",
        ask.fields(fields),
        look_fields(fields, *ask.looks),
        button(ask.send),
    ]
    asked = form(ask.here, desk.forms.token(), parts, label=ask.title)
    return framed(ask.title, [*head, sample, asked], ask.here, choices=True)
