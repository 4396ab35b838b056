"""A visitor's own rides in the list, and the forms that keep them in a store."""

from collections.abc import Iterator, Sequence
from functools import partial

from flask import Flask, Response, redirect

from ridelog.answer.ride import Answer
from ridelog.lazy import dataclass
from ridelog.report.sheet import text
from ridelog.tell.kinds import DISTANCE
from ridelog.tell.numbers import amount
from ridelog.tell.pages import kept as words
from ridelog.tell.pages.clocks import begin_by
from ridelog.tell.refusals.page.door import NOT_OURS
from ridelog.tell.times import calendar_by
from ridelog.web import ids
from ridelog.web.jobs.keeping import Place
from ridelog.web.kept.cards import Card, Cards
from ridelog.web.kept.keeping import Fate, Keeping
from ridelog.web.kept.kept import Kept
from ridelog.web.pages.kept.items import card_of, item, listed_items
from ridelog.web.pages.shelves import asked_of
from ridelog.web.pages.tokens import Tokens
from ridelog.web.pages.written import written
from ridelog.web.parts.choices import Written
from ridelog.web.parts.forms import button, hidden
from ridelog.web.parts.forms import form as form_of
from ridelog.web.tray.trays import Trays
from ridelog.web.tray.visitor import visitor

LONGEST_NAME = 80


@dataclass(frozen=True)
class Own:
    """A visitor's rides: where they are, what was made of them, and where they can be kept."""

    trays: Trays
    cards: Cards
    keeping: Keeping
    kept: Kept | None
    forms: Tokens

    @property
    def keeps(self) -> bool:
        """Whether rides can be kept."""
        return self.kept is not None and self.kept.keeps


def add_keeping(server: Flask, own: Own) -> None:
    """Answer to the form that keeps a ride.

    Parameters
    ----------
    server : of the page
    own : the rides of visitors
    """

    def keep(token: str) -> Response | tuple[str, int]:
        if (fields := own.forms.fields()) is None:
            return NOT_OURS, 400
        store, said, _ = asked_of(own.kept if own.keeps else None, Kept.store)
        bike, name = (" ".join(fields.get(field, "").split()) for field in ("bike", "name"))
        fit = all(0 < len(each) <= LONGEST_NAME and each.isprintable() for each in (bike, name))
        if store is None or not fit or not own.keeping.keep(visitor(), token, Place(store, bike, name)):
            return "".join(said) or words.NOT_KEPT, 404
        return redirect(ids.RIDES_PATH, 303)  # type: ignore[return-value]

    def keep_all() -> Response | tuple[str, int]:
        if own.forms.fields() is None:
            return NOT_OURS, 400
        store, said, _ = asked_of(own.kept if own.keeps else None, Kept.store)
        if store is None:
            return "".join(said) or words.NOT_KEPT, 404
        for ride in _named(_rides_of(own)):
            own.keeping.keep(visitor(), ride.token, Place(store, ride.bike, ride.title[:LONGEST_NAME], ride.group))
        return redirect(ids.RIDES_PATH, 303)  # type: ignore[return-value]

    server.add_url_rule(f"{ids.RIDES_PATH}/keep", "keep_all", keep_all, methods=["POST"])
    server.add_url_rule(f"{ids.RIDES_PATH}/keep/<token>", "keep", keep, methods=["POST"])


@dataclass(frozen=True)
class OwnRide:
    """A measured ride of a visitor: where it is, what it and its bike and group are called, and whether it is kept."""

    token: str
    version: int
    title: str
    answer: Answer
    bike: str
    group: str | None
    fate: Fate | None


def _rides_of(own: Own) -> list[OwnRide]:
    """The measured rides of the visitor who asks; a bike without a name is called as its folder is."""
    who, store = visitor(), own.trays.store
    with own.trays.tray(who) as tray:
        rides = [(ride.token, tray.home_of(ride) or "", tray.entry_of(ride)) for ride in tray.rides]
    found = []
    for token, home, entry in rides:
        shown = store.get(token)
        if shown is not None and shown.answer is not None:
            bike, fate = shown.answer.bike.name or home, own.keeping.fate(who, token)
            group = None if entry is None else entry.group
            found.append(OwnRide(token, store.version(token), shown.title, shown.answer, bike, group, fate))
    return found


def _named(rides: Sequence[OwnRide]) -> list[OwnRide]:
    """Those that can be kept as they are called, and are neither kept nor on their way."""
    return [
        ride
        for ride in rides
        if 0 < len(ride.bike) <= LONGEST_NAME
        and ride.bike.isprintable()
        and ride.title.isprintable()
        and (ride.fate is None or ride.fate.state == "refused")
    ]


def own_rides(own: Own) -> tuple[list[str], bool]:
    """The rides of the visitor who asks: HTML, and whether one of them is on its way into the store."""
    rides, how = _rides_of(own), written()
    if not rides:
        return [], False
    items = []
    for ride in rides:
        key = f"{ride.token} {ride.version} {how.units} {how.numbers}"
        card = own.cards.get(key, partial(card_of, ride.answer, how.style))
        form = "".join(_form(ride, own.forms.token())) if own.keeps else ""
        items.append(item(ride.token, ride.title, _beside(ride, card, how), card, form))
    address = own.kept.store().address if own.kept is not None and own.keeps else None
    line = [] if address is None else [f'<p class="soft">{text(words.keep_line(address))}</p>']
    if own.keeps and len(named := _named(rides)) > 1:
        line.append(form_of(f"{ids.RIDES_PATH}/keep", own.forms.token(), [button(_all_of(named))]))
    going = any(ride.fate is not None and ride.fate.state == "under way" for ride in rides)
    return [f"<h2>{words.YOURS}</h2>", *line, listed_items(items)], going


def _all_of(rides: Sequence[OwnRide]) -> str:
    return words.keep_all(len(rides), sorted({ride.bike for ride in rides}))


def _beside(ride: OwnRide, card: Card, how: Written) -> list[str]:
    distance, clock = ride.answer.ride.distance_m, begin_by(card.clocks, how.clock)
    when = words.NO_TIME if clock is None else calendar_by(clock)
    return [
        *([ride.bike] if ride.bike else []),
        when,
        *([] if distance is None else [amount(distance.value, DISTANCE, how.style)]),
    ]


def _form(ride: OwnRide, signed: str) -> Iterator[str]:
    """What became of a ride, or the form that keeps it."""
    token, fate = ride.token, ride.fate
    if fate is not None and fate.state == "under way":
        yield f'<p role="status">{words.BEING_KEPT}</p>'
        return
    if fate is not None and fate.state == "kept":
        yield f"<p>{words.IS_KEPT}</p>"
        return
    if fate is not None:
        yield from (f'<p class="soft">{text(line)}</p>' for line in fate.lines)
    fields = (("bike", words.BIKE, ride.bike), ("name", words.RIDE, ride.title))
    yield f'<details class="keep"><summary>{words.KEEP}</summary><form class="filters" method="post" '
    yield f'action="{ids.RIDES_PATH}/keep/{text(token)}">{hidden(signed)}'
    for name, label, value in fields:
        place = f"{name}-{text(token)}"
        yield (
            f'<p><label for="{place}">{label}</label><input id="{place}" name="{name}" required '
            f'maxlength="{LONGEST_NAME}" value="{text(value[:LONGEST_NAME])}"></p>'
        )
    yield f"<p><button>{words.KEEP}</button></p></form></details>"
