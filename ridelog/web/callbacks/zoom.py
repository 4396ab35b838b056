"""Going closer in the chart of power, and another order of the braking events."""

from collections.abc import Sequence
from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, no_update

from ridelog.figures.lanes import LANE_KEYS, Lane, known_lanes
from ridelog.figures.power import electrical_line, power_figure
from ridelog.tell import page
from ridelog.tell.ride import power_label
from ridelog.web import ids
from ridelog.web.callbacks.look import screen_look
from ridelog.web.clean import cleaned
from ridelog.web.parts.braking import event_table
from ridelog.web.rides import RideStore
from ridelog.web.views.sealed import sealed

NARROWEST_S = 0.2  # closer than this, fewer than three samples of a 10 Hz log are left


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


def add_zoom(app: Dash, store: RideStore) -> None:
    """Register what buttons, the list of hills and drags do to the chart of power.

    Parameters
    ----------
    app : the page
    store : of rides
    """

    def zoom(*given: Any) -> tuple[Any, ...]:
        drag, _clicks, place, picked, beneath, window, ride, view, lanes = given
        shown = store.get((ride or {}).get("token"))
        line = None if shown is None or shown.answer is None else electrical_line(shown.answer.series)
        if shown is None or shown.answer is None or line is None:
            return (no_update,) * 6
        fired = [ctx.triggered_prop_ids[each["prop_id"]] for each in ctx.triggered if each["value"] is not None]
        move = picked if ids.PICKED in fired else asked_for(fired, place)
        series, others = shown.answer.series, lanes_after(lanes, beneath, known_lanes(shown.answer.series, line[0]))
        whole = float(series["elapsed_s"].iloc[0]), float(series["elapsed_s"].iloc[-1])
        if not move and ids.DRAG not in fired and (ids.BENEATH not in fired or others == lanes):
            return (no_update,) * 6
        start_s, end_s = next_window(window or whole, whole, move, drag if ids.DRAG in fired else None)
        look = screen_look(view, answer=shown.answer)
        figure = power_figure(shown.answer, look, start_s=start_s, end_s=end_s, beneath=others)
        return (
            figure,
            [start_s, end_s],
            page.shown_stretch(start_s, end_s, figure.layout.meta["n_samples"], look.style),
            power_label(start_s, end_s, shown.answer, look.style),
            place if ids.PLACE in fired else None,
            no_update if others == lanes else others,
        )

    app.clientside_callback(
        ClientsideFunction("ridelog", "place"), Output(ids.LINKED, "title"), Input(ids.PLACE, "value"),
        prevent_initial_call=True,
    )  # fmt: skip
    app.callback(
        Output(ids.POWER_CHART, "figure"),
        Output(ids.WINDOW, "data"),
        Output(ids.WINDOW_WORDS, "children"),
        Output("power-chart-image", "aria-label"),
        Output(ids.PLACE, "value"),
        Output(ids.LANES, "data"),
        Input(ids.DRAG, "data"),
        Input({"type": ids.MOVE, "to": ALL}, "n_clicks"),
        Input(ids.PLACE, "value"),
        Input(ids.PICKED, "data"),
        Input(ids.BENEATH, "value"),
        State(ids.WINDOW, "data"),
        State(ids.RIDE, "data"),
        State(ids.VIEW, "data"),
        State(ids.LANES, "data"),
        prevent_initial_call=True,
    )(zoom)


def lanes_after(lanes: Sequence[str] | None, chosen: Sequence[str] | None, offered: Sequence[Lane]) -> list[str]:
    """What is to stand beneath the power, of this ride and of others.

    Parameters
    ----------
    lanes : as it was kept
    chosen : of what this ride offers; ``None`` where it was not asked
    offered : by this ride

    Returns
    -------
    In the order of `LANE_KEYS`; what this ride has not is kept for others.
    """
    kept = set(lanes or ())
    if chosen is not None:
        kept = kept - {lane.key for lane in offered} | set(chosen)
    return [key for key in LANE_KEYS if key in kept]


def add_order(app: Dash, store: RideStore) -> None:
    """Register the choice of an order of the braking events.

    Parameters
    ----------
    app : the page
    store : of rides
    """

    def order(wanted: str, ride: Any, view: Any) -> Any:
        shown = store.get((ride or {}).get("token"))
        if shown is None or shown.answer is None:
            return no_update
        return sealed(cleaned(event_table(shown.answer, wanted, screen_look(view, answer=shown.answer).style)))

    app.callback(
        Output(ids.EVENT_TABLE, "children"), Input(ids.EVENT_ORDER, "value"), State(ids.RIDE, "data"),
        State(ids.VIEW, "data"), prevent_initial_call=True,
    )(order)  # fmt: skip
