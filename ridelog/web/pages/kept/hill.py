"""One hill over time: each ride on it with its interval, bike by bike, and the same numbers in tables."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from flask import Flask, Response, redirect

from ridelog.fleet.record import HillAudit
from ridelog.lazy import dataclass
from ridelog.report.histories import Point, Told, history_of
from ridelog.report.sheet import folded_table_of, table_of, text
from ridelog.tell.numbers import Style
from ridelog.tell.pages import kept as words
from ridelog.tell.pages.clocks import begin_by, dials_by
from ridelog.tell.refusals.page.door import NOT_OURS
from ridelog.tell.table import Cell
from ridelog.tell.times import calendar_by
from ridelog.uncertain.quantity import Quantity
from ridelog.web import ids
from ridelog.web.kept import rows
from ridelog.web.kept.kept import Kept
from ridelog.web.pages.files import ANY_KIND, downloads, file_of
from ridelog.web.pages.frame import framed
from ridelog.web.pages.shelves import asked_of
from ridelog.web.pages.tokens import Tokens
from ridelog.web.pages.written import written
from ridelog.web.parts.choices import Written
from ridelog.web.parts.forms import hidden

if TYPE_CHECKING:
    import pandas as pd

LONGEST_NAME = 80
_QUANTITIES = ("captured_pct", "returned_wh", "available_wh", "drawn_wh")


@dataclass(frozen=True)
class HillPage:
    """A hill: what an audit says of it, and each time that it was ridden, by the start of the ride."""

    told: HillAudit
    passes: pd.DataFrame
    n_both: int  # passes the other way


def add_hills(server: Flask, kept: Kept, forms: Tokens) -> None:
    """Answer to the path of each hill, and to those of its files.

    Parameters
    ----------
    server : of the page
    kept : the rides of a store
    forms : of the page
    """

    def show(place: str) -> Response | str | tuple[str, int]:
        hill, said, again_s = asked_of(kept, lambda held: hill_of(held, place))
        if hill is None:
            gone = said or [f"<p>{words.HILL_GONE}</p>"]
            page = framed(words.FLEET, [f"<h1>{words.FLEET}</h1>", *gone], ids.HILL_PATH, again_s=again_s)
            return page if again_s else (page, 404)
        signed = forms.token() if kept.store().local else None
        return framed(hill.told.name, hill_parts(hill, signed, written()), ids.HILL_PATH, choices=True)

    def files(place: str, kind: str) -> Response | tuple[str, int]:
        hill, _, _ = asked_of(kept, lambda held: hill_of(held, place))
        if hill is None:
            return words.HILL_GONE, 404
        return file_of(_frame(hill), kind, f"hill-{hill.told.id}")

    def name(place: str) -> Response | tuple[str, int]:
        if (fields := forms.fields()) is None:
            return NOT_OURS, 400
        hill, _, _ = asked_of(kept, lambda held: hill_of(held, place))
        given = " ".join(fields.get("name", "").split())
        if hill is None or not kept.store().local or len(given) > LONGEST_NAME or not given.isprintable():
            return words.HILL_GONE, 404
        _, said, _ = asked_of(kept, lambda held: held.name_hill(place.rpartition("-")[0], given))
        if said:  # the store takes nothing, as where its disk is full
            return framed(words.FLEET, [f"<h1>{text(hill.told.name)}</h1>", *said], ids.HILL_PATH), 409
        return redirect(f"{ids.HILL_PATH}{place}", 303)  # type: ignore[return-value]

    server.add_url_rule(f"{ids.HILL_PATH}<place>", "hill", show)
    server.add_url_rule(f"{ids.HILL_PATH}<place>.<{ANY_KIND}:kind>", "hill_file", files)
    server.add_url_rule(f"{ids.HILL_PATH}<place>", "name_hill", name, methods=["POST"])


def hill_of(kept: Kept, place: str) -> HillPage | None:
    """A hill by its identifier; ``None`` where no ride passed one of that name."""
    told = next((hill for hill in kept.audit().hills if hill.id == place), None)
    if told is None:
        return None
    passes = kept.listed().passes
    rides = kept.listed().rides.set_index("key")
    found = kept.store().findings(columns=["key", "code"])
    untold = set(found.loc[found["code"] == "time-zone-unknown", "key"])
    own = passes[passes["place"] == place].sort_values(["ride_start", "key", "start_s"], kind="stable")
    other = f"{place.rpartition('-')[0]}-{'up' if told.direction == 'down' else 'down'}"
    own = own.assign(
        ride=own["key"].map(rides["name"]), zone=own["key"].map(rides["ride_time_zone"]), told=~own["key"].isin(untold)
    )
    return HillPage(told, own.reset_index(drop=True), int((passes["place"] == other).sum()))


def hill_parts(hill: HillPage, signed: str | None, how: Written) -> Iterator[str]:
    """The page of a hill, from top to bottom.

    Parameters
    ----------
    hill : what is known of it
    signed : token of the form that names it; ``None`` where it cannot be given a name
    how : numbers and times are written

    Returns
    -------
    HTML.
    """
    told, passes, style = hill.told, hill.passes, how.style
    yield f"<h1>{text(told.name)}</h1>"
    size = (float(np.nanmedian(passes["length_m"])), float(np.nanmedian(passes["height_m"])))
    yield f"<p>{text(words.hill_lead(*size, (told.passes, told.bikes), style))}{_other_way(hill)}</p>"
    if told.direction == "down":
        yield table_of(words.by_bike([(one.bike, one.passes, one.captured_pct) for one in told.by_bike]), style)
    yield f"<h2>{words.OVER_TIME}</h2>"
    drawn = [each for bike in told.by_bike if (each := _history(hill, bike.bike, bike.captured_pct, style))]
    if drawn:
        yield f'<p class="soft">{text(words.hill_note(told.direction))}</p>'
    yield from drawn
    yield folded_table_of(
        words.passes(list(_rows(hill, how)), told.direction), style, [f"{ids.RIDE_PATH}{key}" for key in passes["key"]]
    )
    if signed is not None:
        yield _name_form(told, signed)
    yield downloads(f"{ids.HILL_PATH}{told.id}")


def _other_way(hill: HillPage) -> str:
    if not hill.n_both:
        return ""
    road, _, direction = hill.told.id.rpartition("-")
    path = f"{ids.HILL_PATH}{road}-{'up' if direction == 'down' else 'down'}"
    return f' <a href="{text(path)}">{text(words.other_way(direction))}</a>'


def _history(hill: HillPage, bike: str, mean: Quantity | None, style: Style) -> str:
    """One bike's rides on the hill as a drawing."""
    title, of, kind = words.hill_of(bike, hill.told.direction)
    column = "captured_pct" if hill.told.direction == "down" else "drawn_wh"
    points = [
        Point(str(row["ride"]), start, value)
        for row in hill.passes[hill.passes["bike"] == bike].to_dict("records")
        if (value := rows.quantity(row, column)) is not None and (start := rows.moment(row)) is not None
    ]
    return history_of(Told(title, of, kind, mean if column == "captured_pct" else None), points, [], style)


def _rows(hill: HillPage, how: Written) -> Iterator[tuple[Cell, ...]]:
    columns = ("captured_pct", "returned_wh", "available_wh") if hill.told.direction == "down" else ("drawn_wh",)
    for row in hill.passes.to_dict("records"):
        start = rows.moment(row)
        known = {} if start is None else dials_by(start, rows.words(row, "zone"), told=bool(row["told"]))
        clock = begin_by(known, how.clock)
        when = words.NO_TIME if clock is None else calendar_by(clock)
        yield (str(row["ride"]), when, str(row["bike"]), *(rows.quantity(row, column) for column in columns))


def _frame(hill: HillPage) -> pd.DataFrame:
    ends = ("", "_low95", "_high95")
    columns = [f"{name}{end}" for name in _QUANTITIES for end in ends]
    return hill.passes[["key", "ride", "bike", "ride_start", "start_s", "end_s", *columns]]


def _name_form(told: HillAudit, signed: str) -> str:
    own = told.name.removesuffix(f", {told.direction}")
    return (
        f'<form class="filters" method="post" action="{ids.HILL_PATH}{text(told.id)}">\n{hidden(signed)}\n'
        f'<p><label for="name">{words.NAME_IT}</label><input id="name" name="name" maxlength="{LONGEST_NAME}" '
        f'value="{text(own)}"></p>\n<p><button>{words.SAVE}</button></p>\n</form>'
    )
