"""The list of rides: a visitor's own and those that are kept, each with its headline and its profile."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from flask import Flask, Response, request

from ridelog.lazy import dataclass
from ridelog.report.sheet import text
from ridelog.tell.kinds import DISTANCE
from ridelog.tell.numbers import Style, amount
from ridelog.tell.pages import kept as words
from ridelog.tell.pages.clocks import begin_by
from ridelog.tell.times import calendar_by, time_by
from ridelog.web import ids
from ridelog.web.kept import rows
from ridelog.web.kept.cards import Card, Cards
from ridelog.web.kept.keeping import Keeping
from ridelog.web.kept.kept import Kept
from ridelog.web.kept.listed import Listed
from ridelog.web.orders.choosing import day_of
from ridelog.web.pages.files import ANY_KIND, downloads, file_of
from ridelog.web.pages.frame import framed
from ridelog.web.pages.kept.items import card_of, item, listed_items
from ridelog.web.pages.kept.own import Own, add_keeping, own_rides
from ridelog.web.pages.kept.removing import add_removing, just_removed, remove_form, removed_list
from ridelog.web.pages.shelves import LOOK_AGAIN_S, asked_of
from ridelog.web.pages.tokens import Tokens
from ridelog.web.pages.written import written
from ridelog.web.parts.choices import Written
from ridelog.web.parts.forms import options_of
from ridelog.web.tray.trays import Trays

if TYPE_CHECKING:
    import pandas as pd

MOST = 16  # rides of a page
SHOWN_COLUMNS = ("key", "bike", "name", "group", "ride_start", "ride_duration_s", "ride_distance_m",
    "energy_drawn_wh", "energy_returned_wh", "energy_recovered_pct", "energy_recovered_pct_low95",
    "energy_recovered_pct_high95", "braking_captured_pct", "braking_captured_pct_low95",
    "braking_captured_pct_high95", "route")  # fmt: skip


@dataclass(frozen=True)
class Wanted:
    """Which rides are asked for; ``since`` and ``until`` are days, of which the latter is one of them."""

    bike: str = ""
    route: str = ""
    group: str = ""
    since: str = ""
    until: str = ""

    @classmethod
    def of(cls, given: Mapping[str, str]) -> Wanted:
        """What an address asks for."""
        told = {name: given.get(name, "") for name in ("bike", "route", "group", "since", "until")}
        return cls(**told)

    def query(self, **more: object) -> str:
        """As it stands in an address."""
        return urlencode({name: value for name, value in (vars(self) | more).items() if value})

    def among(self, rides: pd.DataFrame) -> pd.DataFrame:
        """The rides that are meant."""
        for column, value in (("bike", self.bike), ("route", self.route), ("group", self.group)):
            if value:
                rides = rides[rides[column] == value]
        since, until = day_of(self.since), day_of(self.until, later=1)
        if since is not None:
            rides = rides[rides["ride_start"] >= since]
        return rides if until is None else rides[rides["ride_start"] < until]


def add_rides(server: Flask, trays: Trays, kept: Kept | None, forms: Tokens) -> None:
    """Answer to the path of the list, and of its files.

    Parameters
    ----------
    server : of the page
    trays : of visitors
    kept : the rides of a store, where there is one
    forms : of the page
    """
    cards = Cards()
    own_ones = Own(trays, cards, Keeping(trays), kept, forms)

    def show() -> str:
        listed, said, again_s = asked_of(kept, Kept.listed)
        own, going = own_rides(own_ones)
        parts = [f"<h1>{words.RIDES}</h1>", *own, *said]
        signed = forms.token() if kept is not None and kept.keeps and kept.store().local else None
        if listed is not None and kept is not None:
            shown = _kept(kept, listed, cards, signed, titled=bool(own))
            if signed is None:
                parts += shown
            else:
                parts += [just_removed(kept.store(), signed), *shown, *removed_list(kept.store(), signed)]
        elif not own and not said:
            parts.append(f'<p>{words.NO_RIDE} <a href="{ids.HOME_PATH}">{words.MEASURE_ONE}</a></p>')
        again_s = LOOK_AGAIN_S if going else again_s
        return framed(words.RIDES, parts, ids.RIDES_PATH, again_s=again_s, choices=True)

    def files(kind: str) -> Response | tuple[str, int]:
        listed, _, _ = asked_of(kept, Kept.listed)
        if listed is None:
            return words.NO_RIDE, 404
        return file_of(Wanted.of(request.args).among(listed.rides)[list(SHOWN_COLUMNS)], kind, "rides")

    if own_ones.keeps:
        add_keeping(server, own_ones)
    if kept is not None and kept.keeps:
        add_removing(server, kept, forms, own_ones.keeping.forget)
    server.add_url_rule(ids.RIDES_PATH, "rides", show)
    server.add_url_rule(f"{ids.RIDES_PATH}.<{ANY_KIND}:kind>", "rides_file", files)


def _kept(kept: Kept, listed: Listed, cards: Cards, signed: str | None, *, titled: bool) -> Iterator[str]:
    """The rides of the store that are asked for, the newest first; with ``signed`` each can be removed."""
    wanted, how = Wanted.of(request.args), written()
    found = wanted.among(listed.rides)
    if titled:
        yield f"<h2>{words.KEPT_RIDES}</h2>"
    if listed.rides.empty:
        yield f"<p>{words.NO_RIDE}</p>"
        return
    yield _form(wanted, listed, how.style)
    yield f'<p class="soft">{text(words.how_many(len(found), len(listed.rides), how.style))}</p>'
    if not len(found):
        yield f"<p>{words.NONE_FITS}</p>"
        return
    page = _number(request.args.get("page", ""), 1 + (len(found) - 1) // MOST)
    shown = found[(page - 1) * MOST : page * MOST].to_dict("records")
    yield listed_items([_kept_item(kept, row, cards, how, signed) for row in shown])
    yield _pages(wanted, page, len(found))
    yield downloads(ids.RIDES_PATH, wanted.query())


def _kept_item(kept: Kept, row: rows.Row, cards: Cards, how: Written, signed: str | None) -> str:
    key, name = str(row["key"]), str(row["name"])
    card = cards.get(f"{key} {row['ridelog']} {how.units} {how.numbers}", lambda: _card_of(kept, key, how.style))
    far = rows.number(row, "ride_distance_m")
    distance = "" if far is None else amount(far, DISTANCE, how.style)
    clock = begin_by(card.clocks, how.clock)
    dated = clock is not None and name.startswith(clock.started.date().isoformat())
    when = words.NO_TIME if clock is None else time_by(clock) if dated else calendar_by(clock)
    beside = [str(row["bike"]), when, distance, rows.words(row, "group")]
    more = "" if signed is None else remove_form(key, name, signed)
    return item(key, name, [each for each in beside if each], card, more)


def _card_of(kept: Kept, key: str, style: Style) -> Card:
    shown = kept.shown(key)
    return Card("", "") if shown is None or shown.answer is None else card_of(shown.answer, style)


def _form(wanted: Wanted, listed: Listed, style: Style) -> str:
    """The filters, which stand in the address."""
    rides = listed.rides
    fields = [
        _choice("bike", words.BIKE, {each: each for each in sorted(rides["bike"].unique())}, wanted.bike),
        _choice("route", words.ROUTE, routes_of(listed, style), wanted.route),
        _choice("group", words.GROUP, {each: each for each in sorted(rides["group"].dropna().unique())}, wanted.group),
        _date("since", words.FROM, wanted.since),
        _date("until", words.UNTIL, wanted.until),
    ]
    every = f' <a href="{ids.RIDES_PATH}">{words.SHOW_ALL}</a>' if wanted != Wanted() else ""
    shown = "\n".join(each for each in fields if each)
    send = f"<p><button>{words.SHOW}</button>{every}</p>"
    return f'<form class="filters" action="{ids.RIDES_PATH}">\n{shown}\n{send}\n</form>'


def routes_of(listed: Listed, style: Style) -> dict[str, str]:
    """Roads that several rides took, by the key of the first of them, the most ridden first."""
    taken = listed.rides["route"].value_counts()
    firsts = {row["key"]: row for row in listed.rides.to_dict("records") if row["key"] == row["route"]}
    told = {}
    for key, n in taken[taken > 1].items():
        row = firsts[key]
        size = (rows.number(row, "ride_distance_m"), rows.number(row, "ride_ascent_m"))
        told[str(key)] = words.route(f"{row['bike']} {row['name']}", size, int(n), style)
    return told


def _choice(name: str, label: str, choices: Mapping[str, str], chosen: str) -> str:
    """A list to choose from; none where there is nothing to choose."""
    if len(choices) < 2 and not chosen:
        return ""
    options = options_of([("", words.ALL), *choices.items()], chosen)
    return f'<p><label for="{name}">{label}</label><select id="{name}" name="{name}">{options}</select></p>'


def _date(name: str, label: str, chosen: str) -> str:
    field = f'<input type="date" id="{name}" name="{name}" value="{text(chosen)}">'
    return f'<p><label for="{name}">{label}</label>{field}</p>'


def _pages(wanted: Wanted, page: int, n: int) -> str:
    links = [
        f'<a href="{ids.RIDES_PATH}?{text(wanted.query(page=other))}">{said}</a>'
        for other, said in ((page - 1, words.NEWER), (page + 1, words.OLDER))
        if 1 <= other <= 1 + (n - 1) // MOST
    ]
    return f'<p class="screen">{" · ".join(links)}</p>' if links else ""


def _number(given: str, most: int) -> int:
    return min(max(int(given), 1), most) if given.isdecimal() and len(given) < 6 else 1
