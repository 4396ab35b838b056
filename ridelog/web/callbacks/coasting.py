"""The drag of a bike by the coasting of a ride: looked for, fitted to the stretches chosen, and taken over."""

from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, no_update

from ridelog.answer.coastdown import CoastDown
from ridelog.errors import BikeFileError
from ridelog.settings.bike_form import with_entries
from ridelog.tell.coastdown import bike_values
from ridelog.tell.numbers import plain
from ridelog.tell.pages import coasting as words
from ridelog.tell.refusals.commands import not_your_ride
from ridelog.web import ids
from ridelog.web.callbacks.bike import bike_text, saved
from ridelog.web.callbacks.look import screen_look
from ridelog.web.callbacks.pressed import pressed, presses_of
from ridelog.web.callbacks.ride import Rides
from ridelog.web.clean import cleaned
from ridelog.web.parts.bike.coasting import coasting_offer
from ridelog.web.parts.tray import name_of
from ridelog.web.tray.bench import Given
from ridelog.web.tray.tray import Coasting, Text
from ridelog.web.tray.visitor import visitor


def add_coasting(app: Dash, rides: Rides) -> None:
    """Register what measures the drag.

    Parameters
    ----------
    app : the page
    rides : where they are found
    """

    def draw(ride: Any, _tray: Any, view: Any) -> Any:
        token = (ride or {}).get("token", "")
        drawn = cleaned(_offer(rides, token, view)) if token else []
        return [drawn if each["id"]["to"] == "coasting" else no_update for each in ctx.outputs_list]

    app.callback(
        Output({"type": ids.OFFER, "to": ALL}, "children"), Input(ids.RIDE, "data"), Input(ids.TRAY, "data"),
        State(ids.VIEW, "data"),
    )(draw)  # fmt: skip

    def act(said: Any, _checked: Any, of: Any, ride: Any, path: str | None, tray: Any) -> tuple[Any, Any, Any]:
        if (press := pressed(said)) is None:
            return (no_update,) * 3
        token = (ride or {}).get("token", "")
        asked = {"asked": ((tray or {}).get("asked") or 0) + 1}
        if press.to == "take":
            address = _taken(rides, token, path)
            return (no_update, no_update, not_your_ride()) if address is None else (_other(address, path), asked, "")
        only = None
        if press.to == "fit":
            only = tuple(int(each["id"]["to"]) for each in ctx.states_list[0] if each.get("value"))
            if not only:
                return no_update, no_update, words.NOTHING_CHOSEN
        done = _coast(rides, token, Coasting((of or [None])[0] or token, only))
        return no_update, asked if done else no_update, "" if done else not_your_ride()

    app.callback(
        Output(ids.ADDRESS, "pathname", allow_duplicate=True), Output(ids.TRAY, "data", allow_duplicate=True),
        Output(ids.BIKE_SAID, "children", allow_duplicate=True),
        presses_of(app, ids.COAST), State({"type": ids.STRETCH, "to": ALL}, "checked"),
        State({"type": ids.COAST_FROM, "to": ALL}, "value"), State(ids.RIDE, "data"), State(ids.ADDRESS, "pathname"),
        State(ids.TRAY, "data"), prevent_initial_call=True,
    )(act)  # fmt: skip


def _other(address: str, path: str | None) -> Any:
    return address if address != path else no_update


def _offer(rides: Rides, token: str, view: Any) -> list[Any]:
    """What is offered for the bike of a ride: the coasting of this ride, and of all that the visitor gave."""
    shown = rides.store.get(token)
    if shown is None or shown.answer is None:
        return []
    with rides.trays.tray(visitor()) as tray:
        names = {token: shown.title}
        for ride in tray.rides:
            if ride.state == "done":
                names[ride.token] = name_of(ride, rides.store.get(ride.token), tray)
        return coasting_offer(token, names, tray.coasting.get(token), screen_look(view).style)


def _coast(rides: Rides, token: str, coasting: Coasting) -> bool:
    """Whether the coasting of a ride is being fitted."""
    return rides.trays.coast(visitor(), token, coasting, _given_of_sample(rides, coasting.of))


def _given_of_sample(rides: Rides, token: str) -> Given | None:
    """The files of a sample ride; ``None`` where it is none."""
    shown = rides.store.get(token)
    if shown is None or shown.sample is None:
        return None
    sample = next(each for each in rides.samples if each.slug == shown.sample)
    files = tuple((path.name, path) for path in sample.files)
    return Given(files, (Text("bike.toml", bike_text(sample)),))


def _taken(rides: Rides, token: str, path: str | None) -> str | None:
    """Have the ride measured with the drag that was found; returns its address, ``None`` where that cannot be."""
    with rides.trays.tray(visitor()) as tray:
        coasting = tray.coasting.get(token)
        told = None if coasting is None else coasting.told
        shown = None if coasting is None else rides.store.get(coasting.of)
        if not isinstance(told, CoastDown) or shown is None or not (values := bike_values(told)):
            return None
        name = shown.title
    entries = {f"road.{key}": float(plain(value, 3)) for key, value in values.items()}
    try:
        return saved(
            rides, path, lambda text: with_entries(text, entries, remark=words.taken(name)), words.chosen(values, name)
        )
    except BikeFileError:
        return None
