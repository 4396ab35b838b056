"""The form of the bike file: the mass first, the rest folded, each value with where it came from."""

from typing import Any

import dash_mantine_components as dmc
from dash import html

from ridelog.answer.provenance import NO_VALUE, BikeValue
from ridelog.answer.ride import Answer
from ridelog.errors import BikeFileError
from ridelog.settings.bike_form import BIKE_KEYS, Entry, entered, remarks
from ridelog.tell.pages import bike as words
from ridelog.tell.pages.tray import ONLY_THIS
from ridelog.web import ids
from ridelog.web.tray.sharper import mass_is_assumed


def bike_form(answer: Answer, text: str | None, token: str, *, mine: bool, n_same_bike: int = 1) -> Any:
    """The form of a ride's bike file.

    Parameters
    ----------
    answer : of the ride, which says what it was measured with
    text : of the bike file; ``None`` where there is none
    token : of the ride
    mine : whether the visitor may change it
    n_same_bike : rides of the visitor with this bike file

    Returns
    -------
    Component.
    """
    said, used, origins = _entered(text), answer.bike.values(), remarks(text or "")
    budget = answer.budget[0] if answer.budget else None

    def field(place: str) -> Any:
        notes = [
            _note(place, used),
            origins.get(place),
            words.share_of_doubt(place, budget) if place not in said else None,
        ]
        return _field(place, said.get(place), "; ".join(note for note in notes if note), disabled=not mine)

    return html.Div(
        [
            html.P(words.LEAD if mine else ONLY_THIS, className="aside"),
            html.Div([field(place) for place in words.MASS_FIRST], className="fields first"),
            html.P(id={"type": ids.SHARPER, "to": "form"}, className="aside") if mass_is_assumed(answer) else None,
            *(
                html.Details(
                    [html.Summary(title), html.Div([field(place) for place in places], className="fields")],
                    id=f"bike-group-{number}",
                )
                for number, (title, places) in enumerate(words.GROUPS)
            ),
            _buttons(token, n_same_bike) if mine else None,
            html.P(id=ids.BIKE_SAID, role="status", className="said"),
            html.Div(id={"type": ids.OFFER, "to": "coasting"}, className="offer") if mine else None,
            html.Div(id={"type": ids.LEARNED, "to": "form"}, className="offer") if mine else None,
        ],
        className="bike-form",
    )


def _entered(text: str | None) -> dict[str, Entry]:
    try:
        return entered(text or "")
    except BikeFileError:  # the ride was refused for it, and says why
        return {}


def _note(place: str, used: dict[str, BikeValue]) -> str:
    if place in used:
        value = used[place]
        return words.source(place, value.value, value.limit, value.source)
    for ending in ("_limit_kg", "_limit_m2", "_limit"):
        of = place.removesuffix(ending) + {"_limit_kg": "_kg", "_limit_m2": "_m2", "_limit": ""}[ending]
        if place.endswith(ending) and of in used:
            return words.limit_used(used[of].limit, of)
    return words.source(place, NO_VALUE.value, None, None)


def _field(place: str, value: Entry | None, note: str, *, disabled: bool) -> Any:
    key = BIKE_KEYS[place]
    shown = "" if value is None else str(value).lower() if isinstance(value, bool) else str(value)
    given = {"id": {"type": ids.FIELD, "to": place}, "label": words.label(place), "description": note, "size": "sm"}
    if key.kind in ("choice", "switch"):
        choices = key.choices or ("true", "false")
        data = [{"value": each, "label": words.CHOICES[each]} for each in choices]
        return dmc.Select(**given, data=data, value=shown or None, clearable=True, disabled=disabled)
    number = {} if key.kind == "text" else {"inputProps": {"inputMode": "decimal"}}
    # Each letter counts at once: a click on the button straight after the last one would save what stood there before.
    return dmc.TextInput(**given, value=shown, debounce=False, disabled=disabled, **number)


def _buttons(token: str, n_same_bike: int) -> Any:
    label = words.MEASURE if n_same_bike < 2 else words.measure_all(n_same_bike)
    return html.Div(
        [
            html.Button(label, id=ids.BIKE_SAVE, className="button", type="button"),
            html.A(words.DOWNLOAD, href=f"{ids.RIDE_PATH}{token}/bike.toml", download="bike.toml"),
            html.Label(words.UPLOAD, htmlFor="files", className="link"),
        ],
        className="toolbar",
    )
