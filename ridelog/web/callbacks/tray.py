"""The visitor's rides: drawn anew whenever something came of them, and changed by buttons and lists."""

from typing import Any

from dash import Dash, Input, Output, State, no_update

from ridelog.tell.pages.changes import AS_UNDERSTOOD
from ridelog.web import ids
from ridelog.web.callbacks.pressed import pressed
from ridelog.web.callbacks.ride import Rides
from ridelog.web.clean import cleaned
from ridelog.web.parts.choices import Written
from ridelog.web.parts.tray import ALONE, Seen, tray_list
from ridelog.web.tray.visitor import visitor
from ridelog.web.views.sealed import sealed


def add_tray(app: Dash, rides: Rides) -> None:
    """Register the list of the visitor's rides.

    Parameters
    ----------
    app : the page
    rides : where they are found
    """

    def draw(written: Any, _tray: Any, path: str | None) -> Any:
        chosen = Written.of(written or {})
        with rides.trays.tray(visitor()) as tray:
            far = {ride.token: rides.trays.progress(ride) for ride in tray.rides}
            keeps = rides.kept is not None and rides.kept.keeps
            return sealed(cleaned(tray_list(tray, Seen(rides.store.get, far, path, chosen.clock, keeps), chosen.style)))

    app.callback(
        Output(ids.TRAY_LIST, "children"), Input(ids.WRITTEN, "data"), Input(ids.TRAY, "data"),
        Input(ids.ADDRESS, "pathname"), prevent_initial_call=True,
    )(draw)  # fmt: skip
    _add_acts(app, rides)


def _add_acts(app: Dash, rides: Rides) -> None:
    def act(said: Any, tray: Any) -> Any:
        if (press := pressed(said)) is None:
            return no_update
        if press.kind == ids.PUT:
            rides.trays.put_with(visitor(), press.to, None if press.value == ALONE else press.value)
        else:
            verb, _, of = press.to.partition(":")
            _do(rides, verb, of)
        return {"asked": ((tray or {}).get("asked") or 0) + 1}

    app.callback(
        Output(ids.TRAY, "data", allow_duplicate=True), Input(ids.PRESSED[ids.ACT], "data"), State(ids.TRAY, "data"),
        prevent_initial_call=True,
    )(act)  # fmt: skip


def _do(rides: Rides, verb: str, of: str) -> None:
    if verb == "remove":
        rides.trays.remove(visitor(), of)
    elif verb == "remove-ride":
        rides.trays.remove_ride(visitor(), of)
    elif verb == "stop":
        rides.trays.stop(visitor(), of)
    elif verb == "join":
        key, _, token = of.partition(":")
        rides.trays.put_with(visitor(), key, token)
    elif verb == "undo":
        rides.trays.undo(visitor())
    elif verb == "again":
        rides.trays.again(visitor(), of)
    elif verb == "plain":
        rides.trays.correct(visitor(), of, None, AS_UNDERSTOOD)
    elif verb == "rule":
        rides.trays.by_itself_again(visitor(), of)
