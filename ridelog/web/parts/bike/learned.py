"""What the rides of a bike in the store teach of it, and values to take over."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import dash_mantine_components as dmc
from dash import html

from ridelog.tell.fleet import learning as told
from ridelog.tell.numbers import Style, plain
from ridelog.tell.pages import learned as words
from ridelog.web import ids
from ridelog.web.parts.table import component

if TYPE_CHECKING:
    from ridelog.fleet.learning import Teaching


def learned_offer(bikes: Sequence[str], own: str | None, teaching: "Teaching | None", style: Style) -> list[Any]:
    """The offer to learn from a store.

    Parameters
    ----------
    bikes : names of those whose rides the store holds; nothing is offered without any
    own : what the bike file calls the bike
    teaching : what was asked for
    style : how numbers are written

    Returns
    -------
    Components.
    """
    if not bikes:
        return []
    chosen = teaching.bike if teaching is not None else own
    choice = dmc.Select(
        id={"type": ids.LEARN_FROM, "to": ""}, label=words.FROM, data=list(bikes), size="sm", searchable=len(bikes) > 8,
        value=chosen if chosen in bikes else None,
        persistence=True, persistence_type="memory",  # what is chosen stays as the offer is drawn anew
    )  # fmt: skip
    return [
        html.H3(words.TITLE),
        html.P(words.LEAD, className="aside"),
        html.Div([choice, _button("find", words.FIND)], className="fields"),
        *([] if teaching is None else _taught(teaching, style)),
    ]


def _taught(teaching: "Teaching", style: Style) -> list[Any]:
    if not teaching.learned and not teaching.values:
        return [html.P(told.NOTHING, role="status")]
    tables = [component(table, style) for table in (told.values(teaching), told.drag(teaching))]
    return [
        html.P(told.headline(teaching), className="lead", role="status"),
        *(table for table in tables if table is not None),
        _button("take", words.take(entries_of(teaching)))
        if teaching.values
        else html.P(words.NOTHING_TO_ENTER, className="aside"),
    ]


def entries_of(teaching: "Teaching") -> list[tuple[str, float]]:
    """What was learned as a bike file has it, by section and key."""
    return [
        (f"{section}.{key}", float(plain(value, 4)))
        for section, own in teaching.values.items()
        for key, value in own.items()
    ]


def _button(to: str, label: str) -> Any:
    return dmc.Button(label, id={"type": ids.LEARN, "to": to}, variant="default", size="sm")
