"""One ride in a list: its name, which leads to it, what stands beside, its profile and its headline."""

from collections.abc import Sequence

from ridelog.answer.ride import Answer
from ridelog.report.sheet import text
from ridelog.tell.numbers import Style
from ridelog.tell.pages.clocks import dials
from ridelog.tell.ride import headline
from ridelog.web import ids
from ridelog.web.kept.cards import Card
from ridelog.web.pages.kept.spark import spark


def card_of(answer: Answer, style: Style) -> Card:
    """What a list says of a ride."""
    return Card(headline(answer, style).sentence, spark(answer), dials(answer))


def item(token: str, name: str, beside: Sequence[str], card: Card, more: str = "") -> str:
    """One ride as HTML.

    Parameters
    ----------
    token : of the ride, or its key
    name : of the ride
    beside : words beside its name
    card : its headline and profile
    more : HTML below

    Returns
    -------
    HTML.
    """
    said = " · ".join(text(each) for each in beside if each)
    return (
        f'<li><a href="{ids.RIDE_PATH}{text(token)}">{text(name)}</a> <span class="soft">{said}</span>'
        f"{card.spark}<p>{text(card.headline)}</p>{more}</li>"
    )


def listed_items(items: Sequence[str]) -> str:
    """Rides as a list."""
    shown = "\n".join(items)
    return f'<ul class="rides">\n{shown}\n</ul>'
