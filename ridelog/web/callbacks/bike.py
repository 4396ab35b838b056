"""The form of the bike file: each value is checked as it is written, then the ride is measured with all of them."""

from collections.abc import Callable
from typing import Any

from dash import ALL, MATCH, ClientsideFunction, Dash, Input, Output, State, ctx, no_update

from ridelog.errors import BikeFileError
from ridelog.settings.bike_form import BIKE_KEYS, Entry, complaint, entered, value_of, with_entries
from ridelog.tell.pages import bike as words
from ridelog.tell.pages import changes
from ridelog.tell.pages.tray import with_other_bike
from ridelog.tell.refusals.commands import not_your_ride
from ridelog.web import ids
from ridelog.web.callbacks.look import screen_look
from ridelog.web.callbacks.ride import Rides
from ridelog.web.samples import Sample
from ridelog.web.tray.changes import figures_of
from ridelog.web.tray.sharper import WEIGHED_LIMIT_KG
from ridelog.web.tray.tray import Text
from ridelog.web.tray.visitor import visitor


def checked(place: str, written: str | None) -> str | None:
    """What the bike file says against a value that somebody wrote; ``None`` where it takes it."""
    key = BIKE_KEYS[place]
    return complaint(key, value_of(key, written or ""))


def text_with(text: str, fields: dict[str, str | None]) -> str:
    """The text of a bike file with what the fields say; what stands there already stays as it is written.

    Raises
    ------
    BikeFileError : it cannot be written so
    """
    said = entered(text)
    wanted: dict[str, Entry | None] = {
        place: value_of(BIKE_KEYS[place], value or "") for place, value in fields.items()
    }
    changed = {place: value for place, value in wanted.items() if value != said.get(place)}
    return with_entries(text, changed) if changed else text


def in_words(before: str, after: str) -> str:
    """What was changed in the text of a bike file."""
    old, new = entered(before), entered(after)
    changed = [place for place in {**old, **new} if old.get(place) != new.get(place)]
    return changes.values([words.value_in_words(place, new.get(place)) for place in changed])


def add_bike(app: Dash, rides: Rides) -> None:
    """Register what the form does.

    Parameters
    ----------
    app : the page
    rides : where they are found
    """

    app.callback(
        Output({"type": ids.FIELD, "to": MATCH}, "error"), Input({"type": ids.FIELD, "to": MATCH}, "value"),
        prevent_initial_call=True,
    )(lambda written: checked(ctx.outputs_list["id"]["to"], written) or False)  # fmt: skip

    def save(clicks: Any, _values: Any, path: str | None, tray: Any) -> tuple[Any, Any, Any]:
        if not clicks:
            return (no_update,) * 3
        fields = {each["id"]["to"]: each.get("value") for each in ctx.states_list[0]}
        wrong = [place for place, value in fields.items() if checked(place, value)]
        if wrong:
            return no_update, no_update, words.wrong(len(wrong))
        try:
            address = saved(rides, path, lambda text: text_with(text, fields))
        except BikeFileError as error:
            return no_update, no_update, " ".join(error.lines())
        if address is None:
            return no_update, no_update, not_your_ride()
        return address if address != path else no_update, {"asked": ((tray or {}).get("asked") or 0) + 1}, ""

    app.callback(
        Output(ids.ADDRESS, "pathname"), Output(ids.TRAY, "data"), Output(ids.BIKE_SAID, "children"),
        Input(ids.BIKE_SAVE, "n_clicks"), State({"type": ids.FIELD, "to": ALL}, "value"),
        State(ids.ADDRESS, "pathname"), State(ids.TRAY, "data"),
        prevent_initial_call=True,
    )(save)  # fmt: skip
    app.clientside_callback(
        ClientsideFunction("ridelog", "watch"), Output(ids.WATCHED, "data"), Input(ids.TRAY, "data")
    )
    _add_sharper(app, rides)


def saved(rides: Rides, path: str | None, changed: Callable[[str], str], because: str | None = None) -> str | None:
    """Have the ride of an address measured with another bike file.

    Parameters
    ----------
    rides : where they are found
    path : of the address
    changed : from the text of its bike file to the new one
    because : what was changed, in words; the values themselves where ``None``

    Returns
    -------
    address : where the ride will be; ``None`` where it is not the visitor's

    Raises
    ------
    BikeFileError : it cannot be written so
    """
    sample = rides.sample_at(path)
    if sample is not None:
        bike = Text("bike.toml", changed(bike_text(sample)))
        shown = rides.store.get(rides.store.sample_token(sample.slug))
        told = because or in_words(bike_text(sample), bike.text)
        figures = figures_of(None if shown is None else shown.answer)
        token = rides.trays.take_sample(visitor(), with_other_bike(sample.title), sample.files, bike, (told, figures))
        return f"{ids.RIDE_PATH}{token}"
    token = str(path).removeprefix(ids.RIDE_PATH)
    with rides.trays.tray(visitor()) as tray:
        ride = tray.ride(token)
        if ride is None:
            return None
        before = ride.bike or Text("bike.toml", "")
    after = Text(before.name, changed(before.text))
    rides.trays.set_bike(visitor(), token, after, because or in_words(before.text, after.text))
    return path


def bike_text(sample: Sample) -> str:
    """The bike file of a sample ride."""
    return "" if sample.bike is None else sample.bike.read_text(encoding="utf-8")


def _add_sharper(app: Dash, rides: Rides) -> None:
    """Say what entering the mass would give, once that was worked out."""

    def sharpen(ride: Any, _tray: Any, view: Any) -> Any:
        names = [each["id"]["to"] for each in ctx.outputs_list]
        token = (ride or {}).get("token", "")
        shown, style = rides.store.get(token), screen_look(view).style
        now = None if shown is None or shown.answer is None else shown.answer.braking.captured_pct
        with rides.trays.tray(visitor()) as tray:
            mine = tray.ride(token)
            then = None if mine is None else mine.sharper
        if now is None or then is None:
            return ["" if name == "form" else words.SHARPEN for name in names]
        said = {
            "form": words.now_and_then(then, now, WEIGHED_LIMIT_KG, style),
            "headline": words.would_be(then, now, WEIGHED_LIMIT_KG, style),
        }
        return [said.get(name, "") for name in names]

    app.callback(
        Output({"type": ids.SHARPER, "to": ALL}, "children"), Input(ids.RIDE, "data"), Input(ids.TRAY, "data"),
        State(ids.VIEW, "data"),
    )(sharpen)  # fmt: skip
