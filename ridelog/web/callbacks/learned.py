"""What the rides of a bike in the store teach of it: asked for, and taken over into the form."""

from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, html, no_update

from ridelog.errors import BikeFileError, RidelogError
from ridelog.settings.bike_form import entered, with_entries
from ridelog.tell.pages import learned as words
from ridelog.tell.refusals.commands import not_your_ride
from ridelog.web import ids
from ridelog.web.callbacks.bike import saved
from ridelog.web.callbacks.look import screen_look
from ridelog.web.callbacks.pressed import pressed, presses_of
from ridelog.web.callbacks.ride import Rides
from ridelog.web.clean import cleaned
from ridelog.web.kept.kept import UnderwayError
from ridelog.web.parts.bike.learned import entries_of, learned_offer
from ridelog.web.tray.visitor import visitor


def add_learned(app: Dash, rides: Rides) -> None:
    """Register what asks a store.

    Parameters
    ----------
    app : the page
    rides : where they are found
    """

    def draw(ride: Any, _tray: Any, view: Any) -> Any:
        token = (ride or {}).get("token", "")
        return [cleaned(_offer(rides, token, view)) for _ in ctx.outputs_list]

    app.callback(
        Output({"type": ids.LEARNED, "to": ALL}, "children"), Input(ids.RIDE, "data"), Input(ids.TRAY, "data"),
        State(ids.VIEW, "data"),
    )(draw)  # fmt: skip

    def act(said: Any, of: Any, ride: Any, path: str | None, tray: Any) -> tuple[Any, Any, Any]:
        if (press := pressed(said)) is None:
            return (no_update,) * 3
        token, bike = (ride or {}).get("token", ""), (of or [None])[0]
        asked = {"asked": ((tray or {}).get("asked") or 0) + 1}
        if press.to == "take":
            address = _taken(rides, token, path)
            if address is None:
                return no_update, no_update, not_your_ride()
            return address if address != path else no_update, asked, ""
        cause = words.CHOOSE if bike is None else _learned(rides, token, bike)
        return no_update, no_update if cause else asked, cause

    app.callback(
        Output(ids.ADDRESS, "pathname", allow_duplicate=True), Output(ids.TRAY, "data", allow_duplicate=True),
        Output(ids.BIKE_SAID, "children", allow_duplicate=True),
        presses_of(app, ids.LEARN), State({"type": ids.LEARN_FROM, "to": ALL}, "value"),
        State(ids.RIDE, "data"), State(ids.ADDRESS, "pathname"), State(ids.TRAY, "data"), prevent_initial_call=True,
    )(act)  # fmt: skip


def _offer(rides: Rides, token: str, view: Any) -> list[Any]:
    """What the store offers for the bike of a ride; nothing while its rides are not there."""
    if rides.kept is None or rides.store.get(token) is None:
        return []
    try:
        own = entered(rides.owned(token).bike or "").get("bike.name")
    except BikeFileError:
        own = None
    kept, name = rides.kept, None if own is None else str(own)
    bikes = kept.bikes()  # which may take a moment, in which nobody else is kept waiting
    expected = not bikes and kept.is_listing()
    bikes = bikes if expected else kept.bikes()
    with rides.trays.tray(visitor()) as tray:
        if expected:
            tray.expects = kept.is_listing
            return [html.P(words.LISTING, className="aside expected")]
        return learned_offer(bikes, name, tray.learned.get(token), screen_look(view).style)


def _learned(rides: Rides, token: str, bike: str) -> str:
    """Ask the store; returns what keeps it from answering, empty where nothing does."""
    if rides.kept is None or rides.store.get(token) is None:
        return not_your_ride()
    try:
        from ridelog.fleet.learning import teaching_of  # loads what measures rides

        teaching = teaching_of(rides.kept.store(), bike, with_gain=False)
    except UnderwayError:
        return words.NOT_READY
    except RidelogError as error:
        return error.message
    with rides.trays.tray(visitor()) as tray:
        tray.is_used = True
        tray.learned[token] = teaching
    return ""


def _taken(rides: Rides, token: str, path: str | None) -> str | None:
    """Have the ride measured with what was learned; returns its address, ``None`` where that cannot be."""
    with rides.trays.tray(visitor()) as tray:
        teaching = tray.learned.get(token)
    if teaching is None or not teaching.values:
        return None
    entries = entries_of(teaching)
    note = words.learned(teaching.bike, teaching.rides)
    because = f"{words.take(entries).removeprefix('Take over: ')}, {note}"
    try:
        return saved(rides, path, lambda text: with_entries(text, dict(entries), remark=note), because)
    except BikeFileError:
        return None
