"""Kept rides taken off the list, each after a word on what that means, and put back."""

from collections.abc import Callable, Iterator

from flask import Flask, Response, redirect, request

from ridelog.fleet.store.store import Store
from ridelog.report.sheet import text
from ridelog.tell.pages import kept as words
from ridelog.tell.refusals.page.door import NOT_OURS
from ridelog.web import ids
from ridelog.web.kept import removing
from ridelog.web.kept.kept import Kept
from ridelog.web.pages.frame import framed
from ridelog.web.pages.shelves import asked_of
from ridelog.web.pages.tokens import Tokens
from ridelog.web.parts.forms import hidden

REMOVED = "removed"  # of an address: the ride that was just removed
Reply = Response | tuple[str, int]


def add_removing(server: Flask, kept: Kept, forms: Tokens, moved_on: Callable[[], None]) -> None:
    """Answer to the forms that remove a ride and put it back.

    Parameters
    ----------
    server : of the page
    kept : the rides of a store
    forms : of the page
    moved_on : called once the store holds other rides than before
    """

    def moved(how: Callable[[Store, str], None], key: str, there: str) -> Reply:
        if forms.fields() is None:
            return NOT_OURS, 400
        if not kept.store().local:
            return words.NOT_REMOVED, 404
        _, said, _ = asked_of(kept, lambda held: how(held.store(), key))
        if said:
            return framed(words.RIDES, [f"<h1>{words.RIDES}</h1>", *said], ids.RIDES_PATH), 409
        moved_on()
        return redirect(there, 303)  # type: ignore[return-value]

    def remove(key: str) -> Reply:
        return moved(removing.remove, key, f"{ids.RIDES_PATH}?{REMOVED}={key}")

    def put_back(key: str) -> Reply:
        return moved(removing.put_back, key, ids.RIDES_PATH)

    for name, answer in (("remove", remove), ("restore", put_back)):
        server.add_url_rule(f"{ids.RIDES_PATH}/{name}/<key>", name, answer, methods=["POST"])


def remove_form(key: str, name: str, signed: str) -> str:
    """What removing a ride means, and the button that does it.

    Parameters
    ----------
    key : of the ride
    name : of the ride
    signed : token of the form

    Returns
    -------
    HTML.
    """
    label = text(f"{words.REMOVE_IT}: {name}")
    return (
        f'<details class="keep"><summary>{words.REMOVE}</summary><p>{text(words.remove_line(name))}</p>'
        f'<form class="filters" method="post" action="{ids.RIDES_PATH}/remove/{text(key)}">{hidden(signed)}'
        f'<p><button aria-label="{label}">{words.REMOVE_IT}</button></p></form></details>'
    )


def just_removed(store: Store, signed: str) -> str:
    """What was just removed, with the way back; empty where nothing was."""
    key = request.args.get(REMOVED, "")
    found = next((each for each in removing.removed_from(store) if each.key == key), None) if key else None
    if found is None:
        return ""
    return f'<div role="status"><p>{text(words.was_removed(found.name))}</p>{_back(found, signed)}</div>'


def removed_list(store: Store, signed: str) -> Iterator[str]:
    """The rides that were removed, folded, each with the way back; nothing where there is none."""
    found = removing.removed_from(store)
    if not found:
        return
    items = "".join(
        f'<li>{text(each.name)} <span class="soft">{text(each.bike)}</span>{_back(each, signed)}</li>' for each in found
    )
    note = f'<p class="soft">{text(words.removed_note(removing.folder_of(store)))}</p>'
    yield f'<details class="screen"><summary>{words.removed_title(len(found))}</summary>{note}'
    yield f"<ul>{items}</ul></details>"


def _back(ride: removing.Removed, signed: str) -> str:
    label = text(f"{words.PUT_BACK}: {ride.name}")
    return (
        f'<form class="filters" method="post" action="{ids.RIDES_PATH}/restore/{text(ride.key)}">{hidden(signed)}'
        f'<p><button aria-label="{label}">{words.PUT_BACK}</button></p></form>'
    )
