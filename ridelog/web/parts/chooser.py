"""A table of rides, each to be put into one of some groups by native buttons: no script is needed."""

from collections.abc import Mapping, Sequence

from ridelog.report.sheet import scrolled, text
from ridelog.tell.kinds import PERCENTAGE
from ridelog.tell.numbers import UNKNOWN, measured
from ridelog.tell.pages import asking as words
from ridelog.tell.pages.clocks import begin_by
from ridelog.tell.times import calendar_by
from ridelog.web.orders.choosing import Chosen, Offer, StoreOffer
from ridelog.web.parts.choices import Written
from ridelog.web.parts.forms import options_of


def names_of_groups(chosen: Chosen) -> str:
    """The fields in which groups are named."""
    fields = "".join(_name(letter, chosen.names.get(letter, "")) for letter in words.LETTERS)
    lead = f'<p class="soft">{text(words.GROUP_LEAD)}</p>'
    return f'<fieldset class="names"><legend>{text(words.GROUPS)}</legend>{lead}{fields}</fieldset>'


def _name(letter: str, name: str) -> str:
    return (
        f'<label class="field"><span>{text(letter)}</span><input name="name-{letter}" value="{text(name)}" '
        f'maxlength="40" autocomplete="off" aria-label="{text(words.GROUP_NAME.format(letter=letter))}"></label>'
    )


def store_fields(store: StoreOffer, fields: Mapping[str, str]) -> str:
    """For each group, which rides of a store are in it.

    Parameters
    ----------
    store : what can be chosen
    fields : what was chosen before

    Returns
    -------
    HTML.
    """
    heads = "".join(f'<th scope="col">{text(each)}</th>' for each in words.STORE_HEADS)
    rows = "\n".join(_store_row(store, letter, fields) for letter in words.LETTERS)
    return (
        f'<fieldset><legend>{text(words.STORE_TITLE)}</legend><p class="soft">{text(words.STORE_LEAD)}</p>\n'
        f'{scrolled(words.STORE_TITLE)}<table class="field">\n'
        f"<thead><tr>{heads}</tr></thead>\n"
        f"<tbody>\n{rows}\n</tbody></table></div></fieldset>"
    )


def _store_row(store: StoreOffer, letter: str, fields: Mapping[str, str]) -> str:
    bikes = [("", words.NO_STORE_RIDES), (words.ANY, words.ANY_SAID), *((each, each) for each in store.bikes)]
    groups = [("", words.ANY_SAID), *((each, each) for each in store.groups)]
    _, *heads = words.STORE_HEADS
    bike, group, since, until = heads
    cells = [
        _list(f"bike-{letter}", bike, letter, bikes, fields),
        _list(f"group-{letter}", group, letter, groups, fields),
        _date(f"from-{letter}", since, letter, fields),
        _date(f"to-{letter}", until, letter, fields),
    ]
    told = "".join(f'<td data-head="{text(head)}">{cell}</td>' for head, cell in zip(heads, cells, strict=True))
    return f'<tr><th scope="row">{letter}</th>{told}</tr>'


def _list(key: str, what: str, letter: str, options: Sequence[tuple[str, str]], fields: Mapping[str, str]) -> str:
    label = text(words.STORE_LABEL.format(what=what, letter=letter))
    return f'<select name="{key}" aria-label="{label}">{options_of(options, fields.get(key, ""))}</select>'


def _date(key: str, what: str, letter: str, fields: Mapping[str, str]) -> str:
    label = text(words.STORE_LABEL.format(what=what, letter=letter))
    return f'<input type="date" name="{key}" value="{text(fields.get(key, ""))}" aria-label="{label}">'


def table_of_rides(offered: Sequence[Offer], chosen: Chosen, how: Written) -> str:
    """The rides, each with the groups that it can be in.

    Parameters
    ----------
    offered : rides in their order
    chosen : what was chosen before
    how : numbers and times are written

    Returns
    -------
    HTML.
    """
    name, *others = words.HEADS
    facts = "".join(f'<th scope="col" class="fact">{text(head)}</th>' for head in others)
    letters = "".join(f'<th scope="col" class="in">{text(each)}</th>' for each in (words.NONE, *words.LETTERS))
    heads = f'<th scope="col">{text(name)}</th>{letters}{facts}'
    rows = "\n".join(_row(offer, chosen.of_ride, how) for offer in offered)
    return (
        f'<p class="soft">{text(words.UNDER_EQUAL)}</p>\n{scrolled(words.RIDES)}<table class="choose">\n'
        f"<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody></table></div>"
    )


def _row(offer: Offer, of_ride: Mapping[str, str], how: Written) -> str:
    share = measured(offer.recovered_pct, PERCENTAGE, how.style) if offer.recovered_pct is not None else UNKNOWN
    clock = begin_by(offer.clocks, how.clock)
    begins = UNKNOWN if clock is None else calendar_by(clock)
    facts = (begins, share, offer.bike or UNKNOWN, offer.source)
    told = "".join(f'<td class="fact">{text(each)}</td>' for each in facts)
    beside = " · ".join(each for each in facts if each != UNKNOWN)  # in place of those columns on a narrow screen
    name = f'{text(offer.name)}<span class="beside">{text(beside)}</span>'
    return f'<tr><th scope="row">{name}</th>{_buttons(offer, of_ride.get(offer.key, ""))}{told}</tr>'


def _buttons(offer: Offer, now: str) -> str:
    return "".join(
        f'<td class="in"><input type="radio" name="ride-{text(offer.key)}" value="{letter}"'
        f'{" checked" if letter == now else ""} aria-label="{text(f"{offer.name}: {letter or words.NONE}")}"></td>'
        for letter in ("", *words.LETTERS)
    )
