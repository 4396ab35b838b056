"""From an address to its ride, and from the ride to what is shown of it."""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from secrets import token_hex
from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, html, no_update
from dash.development.base_component import Component

from ridelog.lazy import dataclass
from ridelog.tell import page
from ridelog.tell.ride import headline
from ridelog.web import ids
from ridelog.web.callbacks.look import screen_look
from ridelog.web.callbacks.zoom import whole_of, within, words_of
from ridelog.web.clean import cleaned
from ridelog.web.jobs.measuring import Task
from ridelog.web.kept.kept import Kept
from ridelog.web.parts.samples import sample_cards
from ridelog.web.rides import Owned, RideStore, ShownRide
from ridelog.web.samples import Sample
from ridelog.web.tray.trays import Trays
from ridelog.web.tray.visitor import visitor
from ridelog.web.views.answer import answer_page
from ridelog.web.views.refusal import refusal
from ridelog.web.views.sealed import sealed

Measured = Callable[[Task], ShownRide]
DRAWING = "Drawing the answer …"
GONE = "This ride is no longer held here: choose another one, or give its files once more."
NOTHING = "There is nothing at this address: choose a ride above, or give the files of your own."


def measure_sample(sample: Sample, measured: Measured) -> ShownRide:
    """One of the sample rides, measured as a visitor's files are; one that cannot be read says so like them."""
    paths = (*sample.files, *([sample.bike] if sample.bike else []))
    task = Task(tuple((path.name, path) for path in paths))
    return replace(measured(task), title=sample.title, sample=sample.slug)


@dataclass(frozen=True)
class Rides:
    """Where rides are found: those of samples, those of visitors, and those of a store."""

    store: RideStore
    samples: tuple[Sample, ...]
    measured: Measured
    trays: Trays
    kept: Kept | None = None

    def sample_at(self, path: str | None) -> Sample | None:
        """The sample ride of an address; the first where the address names nothing."""
        if not (path or "").strip("/"):
            return self.samples[0] if self.samples else None
        slug = str(path).removeprefix(ids.SAMPLE_PATH)
        return next((each for each in self.samples if f"{ids.SAMPLE_PATH}{each.slug}" == path and slug), None)

    def at(self, path: str | None) -> dict[str, Any] | None:
        """The ride of an address: its token, and how often it was measured; ``None`` where the address names none."""
        sample = self.sample_at(path)
        if sample is not None:
            token = self.store.sample(sample.slug, lambda: measure_sample(sample, self.measured))
            return {"token": token, "version": 1}
        if not str(path).startswith(ids.RIDE_PATH):
            return None
        token = str(path).removeprefix(ids.RIDE_PATH)
        return {"token": token, "version": self.store.version(token)}

    def owned(self, token: str) -> Owned:
        """What the visitor who asks may do with a ride."""
        sample = self.store.get(token)
        if sample is not None and sample.sample is not None:
            there = next(each for each in self.samples if each.slug == sample.sample)
            return Owned(free=True, bike=None if there.bike is None else there.bike.read_text(encoding="utf-8"))
        hills = {} if self.kept is None else self.kept.hills_of(token)
        with self.trays.tray(visitor()) as tray:
            ride = tray.ride(token)
            return Owned(
                hills=hills,
                mine=ride is not None,
                waiting=ride is not None and ride.state == "waiting",
                stopped=ride is not None and ride.state == "stopped",
                bike=None if ride is None or ride.bike is None else ride.bike.text,
                n_same_bike=sum(ride is not None and each.bike == ride.bike for each in tray.rides),
                corrected=frozenset(tray.corrections),
                changes=() if ride is None else ride.changes,
            )


def add_ride(app: Dash, rides: Rides) -> None:
    """Register what leads from an address to a ride, and what is shown of it.

    Parameters
    ----------
    app : the page
    rides : where they are found
    """
    app.clientside_callback(
        ClientsideFunction("ridelog", "kept"), Output(ids.UNITS, "value"), Output(ids.NUMBERS, "value"),
        Output(ids.CLOCK, "value"), Input("theme", "id"),
    )  # fmt: skip
    app.clientside_callback(
        ClientsideFunction("ridelog", "view"), Output(ids.VIEW, "data"), Output(ids.WRITTEN, "data"),
        Output(ids.WINDOW, "data"), Input("theme", "id"), Input(ids.UNITS, "value"),
        Input(ids.NUMBERS, "value"), Input(ids.CLOCK, "value"),
    )  # fmt: skip
    _add_samples(app, rides.samples)

    def route(written: Any, path: str | None, _tray: Any, now: dict[str, Any] | None) -> Any:
        found = rides.at(path) if written else None
        if found is None:
            return no_update if not written or now == {"token": ""} else {"token": ""}
        return no_update if found == now else found

    app.callback(
        Output(ids.RIDE, "data"), Input(ids.WRITTEN, "data"), Input(ids.ADDRESS, "pathname"), Input(ids.TRAY, "data"),
        State(ids.RIDE, "data"), prevent_initial_call=True,
        running=[(Output(ids.WORKING, "children"), page.MEASURING, "")],
    )(route)  # fmt: skip
    app.clientside_callback(
        ClientsideFunction("ridelog", "going"), Output(ids.ANSWER, "className"), Input(ids.ADDRESS, "pathname"),
        Input(ids.RIDE, "data"),
    )  # fmt: skip
    _add_show(app, rides)


def _add_samples(app: Dash, samples: Sequence[Sample]) -> None:
    def offer_samples(_written: Any, path: str | None) -> Any:
        return sample_cards(samples, path)

    app.callback(
        Output(ids.SAMPLE, "children"), Input(ids.WRITTEN, "data"), Input(ids.ADDRESS, "pathname"),
        prevent_initial_call=True,
    )(offer_samples)  # fmt: skip


def _add_show(app: Dash, rides: Rides) -> None:
    """Numbers written otherwise draw all anew; another width or light the charts alone (assets/stretch.js)."""

    def show(
        ride: Any, _written: Any, view: Any, window: Any, lanes: Any, stood: Any, *_typed: Any
    ) -> tuple[Any, Any, Any, Any]:
        if not ride:
            return (no_update,) * 4
        token = ride["token"]
        shown, owned = rides.store.get(token), rides.owned(token)
        if shown is None:
            if owned.waiting:
                return [], page.MEASURING, None, None
            gone = GONE if token else NOTHING
            return [], gone, gone, None
        look = screen_look(view, answer=shown.answer)
        if shown.answer is None:
            return [], "", cleaned(refusal(shown, token, owned, look.style)), None
        whole, stretch = whole_of(shown.answer), stretch_of(window, ride)
        stretch = None if whole is None or stretch is None else within(stretch, whole)
        parts = cleaned(answer_page(shown, look, token, owned, stretch=stretch, lanes=lanes or ()))
        if stood and all(stood.get(key) == ride.get(key) for key in ("token", "version")):
            with_typed(parts, {each["id"]["to"]: each.get("value") for kind in ctx.states_list[-2:] for each in kind})
        parts = sealed(parts)
        start_s, end_s = stretch or whole or (0.0, 0.0)
        stands = {
            **{key: ride.get(key) for key in ("token", "version")},
            "whole": whole, "window": stretch, "lanes": lanes or [],
            "narrow": look.narrow, "dark": bool((view or {}).get("dark")),
            **({} if whole is None else words_of(shown.answer, start_s, end_s, look)),
            "drawing": token_hex(8),
        }  # fmt: skip
        parts.append(html.Div(id=ids.DRAWN_FOR, hidden=True, **{"data-drawn": json.dumps(stands)}))
        return parts, cleaned(headline(shown.answer, look.style).sentence), None, stands

    app.callback(
        Output(ids.ANSWER, "children"), Output(ids.SPOKEN, "children"), Output(ids.REFUSAL, "children"),
        Output(ids.STANDS, "data"), Input(ids.RIDE, "data"), Input(ids.WRITTEN, "data"), State(ids.VIEW, "data"),
        State(ids.WINDOW, "data"), State(ids.LANES, "data"), State(ids.STANDS, "data"),
        State({"type": ids.FIELD, "to": ALL}, "value"), State({"type": ids.CELL, "to": ALL}, "value"),
        prevent_initial_call=True, running=[(Output(ids.WORKING, "children"), DRAWING, "")],
    )(show)  # fmt: skip
    app.clientside_callback(
        ClientsideFunction("stretch", "place"), Output(ids.LINKED, "title"), Input(ids.PLACE, "value"),
        prevent_initial_call=True,
    )  # fmt: skip


def with_typed(part: Any, typed: Mapping[str, Any]) -> None:
    """Put into the fields of a page what stood in them, so that nothing typed is lost as the page is drawn anew.

    Parameters
    ----------
    part : component, or a list of them
    typed : by what each field is for
    """
    if isinstance(part, (list, tuple)):
        for each in part:
            with_typed(each, typed)
        return
    name = getattr(part, "id", None)
    if isinstance(name, dict) and name["type"] in (ids.FIELD, ids.CELL) and name["to"] in typed:
        part.value = typed[name["to"]]
    if isinstance(part, Component):
        with_typed(getattr(part, "children", None), typed)


def stretch_of(window: dict[str, Any] | None, ride: dict[str, Any]) -> tuple[float, float] | None:
    """The stretch that is shown of a ride [s]; ``None`` where that was chosen in another, or in none."""
    if not window or any(window[key] != ride.get(key) for key in ("token", "version")):
        return None
    start_s, end_s = window["ends"]
    return start_s, end_s
