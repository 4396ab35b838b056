"""What happens on the page: look up the ride, call a view, a part or a figure, return. Nothing else."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import dash_mantine_components as dmc
from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, no_update

from ridelog.figures.look import NIGHT, PAPER, Look
from ridelog.figures.power import electrical_line, power_figure
from ridelog.tell import page
from ridelog.tell.numbers import METRIC, STYLES, typeset
from ridelog.tell.ride import headline, power_label
from ridelog.web import ids
from ridelog.web.clean import cleaned
from ridelog.web.parts.braking import event_rows
from ridelog.web.rides import RideStore, ShownRide
from ridelog.web.samples import Sample
from ridelog.web.views.answer import answer_page
from ridelog.web.views.refusal import refusal

Measured = Callable[[Sequence[tuple[str, Path]]], ShownRide]
NARROWEST_S = 0.2  # closer than this, fewer than three samples of a 10 Hz log are left
DRAWING = "Drawing the answer …"
GONE = "This ride is no longer in memory: choose it again."


def look_of(view: dict[str, Any] | None, units: str | None = None) -> Look:
    """The look for a screen as assets/view.js describes it, in the units that the visitor chose."""
    view = view or {}
    style = typeset(STYLES.get(units or "", METRIC))
    return replace(NIGHT if view.get("dark") else PAPER, narrow=bool(view.get("narrow")), style=style)


def measure_sample(sample: Sample, measured: Measured) -> ShownRide:
    """One of the sample rides, measured as a visitor's files are; one that cannot be read says so like them."""
    paths = (*sample.files, *([sample.bike] if sample.bike else []))
    return replace(measured([(path.name, path) for path in paths]), title=sample.title, sample=sample.slug)


def add_callbacks(app: Dash, store: RideStore, samples: Sequence[Sample], measured: Measured) -> None:
    """Register every callback of the page.

    Parameters
    ----------
    app : the page
    store : rides held for visitors
    samples : rides that the page offers
    measured : from names and paths of files to a ride
    """
    by_slug = {sample.slug: sample for sample in samples}
    app.clientside_callback(ClientsideFunction("ridelog", "view"), Output(ids.VIEW, "data"), Input("theme", "id"))

    def offer_samples(_view: Any, shown: list[Any] | None) -> tuple[Any, Any]:
        if shown:
            return no_update, no_update
        return [_card(sample) for sample in samples], samples[0].slug if samples else None

    app.callback(
        Output(ids.SAMPLE, "children"), Output(ids.SAMPLE, "value"), Input(ids.VIEW, "data"),
        State(ids.SAMPLE, "children"), prevent_initial_call=True,
    )(offer_samples)  # fmt: skip

    def choose(slug: str | None) -> Any:
        if slug not in by_slug:
            return no_update
        return {"token": store.sample(slug, lambda: measure_sample(by_slug[slug], measured))}

    app.callback(
        Output(ids.RIDE, "data"), Input(ids.SAMPLE, "value"), prevent_initial_call=True,
        running=[(Output(ids.ANSWER, "className"), "busy", ""), (Output(ids.WORKING, "children"), page.MEASURING, "")],
    )(choose)  # fmt: skip

    def arrive(outcome: dict[str, Any]) -> tuple[Any, Any, Any]:
        token = outcome["token"]
        shown = store.get(token)
        if shown is not None and shown.answer is None:
            return no_update, no_update, cleaned(refusal(shown, token))
        return {"token": token}, None, None

    app.callback(
        Output(ids.RIDE, "data", allow_duplicate=True),
        Output(ids.SAMPLE, "value", allow_duplicate=True),
        Output(ids.REFUSAL, "children", allow_duplicate=True),
        Input(ids.UPLOAD_OUTCOME, "data"),
        prevent_initial_call=True,
    )(arrive)

    def show(ride: dict[str, Any] | None, view: dict[str, Any] | None, units: str | None) -> tuple[Any, Any, Any]:
        if not ride:
            return no_update, no_update, no_update
        shown = store.get(ride["token"])
        if shown is None:
            return GONE, GONE, None
        if shown.answer is None:
            return None, "", cleaned(refusal(shown, ride["token"]))
        look = look_of(view, units)
        # why other files were refused stays until another ride is shown, whatever the screen or the units do
        refused = None if ids.RIDE in {each["prop_id"].partition(".")[0] for each in ctx.triggered} else no_update
        page_parts = cleaned(answer_page(shown, look, ride["token"]))
        return page_parts, cleaned(headline(shown.answer, look.style).sentence), refused

    app.callback(
        Output(ids.ANSWER, "children"), Output(ids.SPOKEN, "children"), Output(ids.REFUSAL, "children"),
        Input(ids.RIDE, "data"), Input(ids.VIEW, "data"), Input(ids.UNITS, "value"), prevent_initial_call=True,
        running=[(Output(ids.WORKING, "children"), DRAWING, "")],
    )(show)  # fmt: skip
    _add_zoom(app, store)
    _add_order(app, store)


def _card(sample: Sample) -> Any:
    return dmc.RadioCard(
        [
            dmc.RadioIndicator(color="var(--returned)"),
            dmc.Box([dmc.Text(sample.title, className="title"), dmc.Text(sample.sentence)]),
        ],
        value=sample.slug,
        className="sample-card",
        **{"aria-label": sample.title},
    )


def asked_for(fired: Sequence[Any], place: str | None) -> str | None:
    """The button or place among the ids of what fired, which a drag at the same time does not drown out."""
    buttons = [each["to"] for each in fired if isinstance(each, dict)]
    return buttons[0] if buttons else place if "place" in fired else None


def next_window(
    window: Sequence[float], whole: tuple[float, float], move: str | None, relayout: dict[str, Any] | None
) -> tuple[float, float]:
    """The stretch of the ride to show after a button or a drag.

    Parameters
    ----------
    window, whole : what is shown and what there is [s]
    move : "in", "out", "left", "right", "all", or "start:end" [s]; ``None`` for a drag in the chart
    relayout : what the chart said of the drag

    Returns
    -------
    Within ``whole``, and not narrower than `NARROWEST_S` [s].
    """
    start, end = window
    width = end - start
    if move == "in":
        start, end = start + width / 4, end - width / 4
    elif move == "out":
        start, end = start - width / 2, end + width / 2
    elif move in ("left", "right"):
        shift = width / 2 * (1 if move == "right" else -1)
        shift = min(max(shift, whole[0] - start), whole[1] - end)
        start, end = start + shift, end + shift
    elif move == "all":
        start, end = whole
    elif move:
        first, last = (float(part) for part in move.split(":"))
        room = 0.15 * (last - first)
        start, end = first - room, last + room
    elif relayout and "xaxis.range[0]" in relayout:
        start, end = sorted((float(relayout["xaxis.range[0]"]), float(relayout["xaxis.range[1]"])))
    elif relayout and relayout.get("xaxis.autorange"):
        start, end = whole
    if end - start < NARROWEST_S:
        middle = (start + end) / 2
        start, end = middle - NARROWEST_S / 2, middle + NARROWEST_S / 2
    start, end = max(start, whole[0]), min(end, whole[1])
    return (start, end) if end > start else whole


def _add_zoom(app: Dash, store: RideStore) -> None:
    def zoom(
        drag: dict[str, Any] | None,
        _clicks: Any,
        place: str | None,
        window: Any,
        ride: Any,
        view: Any,
        units: str | None,
    ) -> tuple[Any, Any, Any, Any, Any]:
        shown = store.get((ride or {}).get("token"))
        if shown is None or shown.answer is None or electrical_line(shown.answer.series) is None:
            return (no_update,) * 5
        fired = [ctx.triggered_prop_ids[each["prop_id"]] for each in ctx.triggered if each["value"] is not None]
        move = asked_for(fired, place)
        series = shown.answer.series
        whole = float(series["elapsed_s"].iloc[0]), float(series["elapsed_s"].iloc[-1])
        if not move and "drag" not in fired:
            return (no_update,) * 5
        start_s, end_s = next_window(window, whole, move, drag)
        look = look_of(view, units)
        figure = power_figure(shown.answer, look, start_s=start_s, end_s=end_s)
        return (
            figure,
            [start_s, end_s],
            page.shown_stretch(start_s, end_s, figure.layout.meta["n_samples"], look.style),
            power_label(start_s, end_s, shown.answer, look.style),
            place if "place" in fired else None,
        )

    app.clientside_callback(
        ClientsideFunction("ridelog", "drag"),
        Output(ids.DRAG, "data"),
        Input(ids.POWER_CHART, "relayoutData"),
        prevent_initial_call=True,
    )
    app.callback(
        Output(ids.POWER_CHART, "figure"),
        Output(ids.WINDOW, "data"),
        Output(ids.WINDOW_WORDS, "children"),
        Output("power-chart-image", "aria-label"),
        Output(ids.PLACE, "value"),
        Input(ids.DRAG, "data"),
        Input({"type": ids.MOVE, "to": ALL}, "n_clicks"),
        Input(ids.PLACE, "value"),
        State(ids.WINDOW, "data"),
        State(ids.RIDE, "data"),
        State(ids.VIEW, "data"),
        State(ids.UNITS, "value"),
        prevent_initial_call=True,
    )(zoom)


def _add_order(app: Dash, store: RideStore) -> None:
    def order(wanted: str, ride: Any, units: str | None) -> Any:
        shown = store.get((ride or {}).get("token"))
        if shown is None or shown.answer is None:
            return no_update
        return cleaned(event_rows(shown.answer, wanted, look_of(None, units).style))

    app.callback(
        Output(ids.EVENT_ROWS, "children"), Input(ids.EVENT_ORDER, "value"), State(ids.RIDE, "data"),
        State(ids.UNITS, "value"), prevent_initial_call=True,
    )(order)  # fmt: skip
