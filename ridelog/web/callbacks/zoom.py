"""Charts drawn anew: closer, with other lines beneath, for another screen; and another order of the braking events.

The browser knows what is wanted and numbers what it asks for (assets/stretch.js), so that no late reply is drawn over
what was chosen since; here is drawn what is asked for, and nothing is remembered.
"""

import json
import math
from collections.abc import Mapping
from typing import Any

from dash import Dash, Input, Output, State, no_update
from flask import Flask, Response, request

from ridelog.answer.ride import Answer
from ridelog.figures.look import Look
from ridelog.figures.power import electrical_line, n_samples_in, power_drawing
from ridelog.lazy import dataclass
from ridelog.tell import page
from ridelog.tell.refusals import commands as refusals
from ridelog.tell.ride import power_label
from ridelog.web import ids
from ridelog.web.callbacks.look import screen_look
from ridelog.web.clean import cleaned
from ridelog.web.parts.braking import event_table
from ridelog.web.parts.charts.frame import sent
from ridelog.web.rides import RideStore
from ridelog.web.views.answer import other_charts
from ridelog.web.views.sealed import sealed

NARROWEST_S = 0.2  # closer than this, fewer than three samples of a 10 Hz log are left
LONGEST = 500  # letters of a list of lanes


@dataclass(frozen=True)
class Wish:
    """What the browser wants drawn.

    Attributes
    ----------
    ends_s : of the stretch of the ride; all of it where ``None`` [s]
    lanes : keys of what stands beneath the power
    view : the screen and how numbers are written, as `screen_look` takes them
    every : all charts of the ride, not that of power alone
    """

    ends_s: tuple[float, float] | None
    lanes: tuple[str, ...]
    view: Mapping[str, Any]
    every: bool

    @classmethod
    def of(cls, asked: Mapping[str, str]) -> "Wish | None":
        """By the fields of an address; ``None`` where the page asks for no such thing."""
        ends_s = None
        if "from" in asked or "to" in asked:
            try:
                start_s, end_s = float(asked.get("from", "")), float(asked.get("to", ""))
            except ValueError:
                return None
            if not (math.isfinite(start_s) and math.isfinite(end_s) and start_s < end_s):
                return None
            ends_s = start_s, end_s
        if len(asked.get("lanes", "")) > LONGEST:
            return None
        switches = {key: asked.get(key) == "yes" for key in ("narrow", "dark", "every")}
        return cls(ends_s, tuple(asked.get("lanes", "").split(".")), {**asked, **switches}, switches["every"])


def whole_of(answer: Answer) -> tuple[float, float] | None:
    """From where to where the chart of power goes [s]; ``None`` where there is none."""
    if electrical_line(answer.series) is None or len(answer.series) < 2:
        return None
    return float(answer.series["elapsed_s"].iloc[0]), float(answer.series["elapsed_s"].iloc[-1])


def within(ends_s: tuple[float, float] | None, whole_s: tuple[float, float]) -> tuple[float, float]:
    """A stretch as far as the ride has it; all of the ride where it has nothing of it, or next to nothing [s]."""
    start_s, end_s = (max(ends_s[0], whole_s[0]), min(ends_s[1], whole_s[1])) if ends_s else whole_s
    return (start_s, end_s) if end_s - start_s > NARROWEST_S / 2 else whole_s


def drawn(answer: Answer, wish: Wish) -> dict[str, Any]:
    """What is wanted of a ride.

    Parameters
    ----------
    answer : of the ride
    wish : what of it

    Returns
    -------
    figures : by the names of their charts
    words, label : of the chart of power, where the ride has one
    """
    look, whole_s = screen_look({**wish.view}, answer=answer), whole_of(answer)
    told: dict[str, Any] = {"figures": {}}
    if wish.every:
        told["figures"] |= {name: sent(each) for name, each in other_charts(answer, look).items()}
    if whole_s is not None:
        start_s, end_s = within(wish.ends_s, whole_s)
        figure = power_drawing(answer, look, start_s=start_s, end_s=end_s, beneath=wish.lanes)
        told["figures"][ids.POWER_CHART] = sent(figure)
        told |= words_of(answer, start_s, end_s, look)
    return told


def words_of(answer: Answer, start_s: float, end_s: float, look: Look) -> dict[str, str]:
    """What is said of a stretch in the chart of power, below it and to who does not see it.

    Parameters
    ----------
    answer : of the ride
    start_s, end_s : the stretch [s]
    look : how numbers are written

    Returns
    -------
    words, label : as assets/stretch.js puts them on the page
    """
    n_samples = n_samples_in(answer.series, start_s, end_s)
    return {
        "words": page.shown_stretch(start_s, end_s, n_samples, look.style),
        "label": power_label(start_s, end_s, answer, look.style),
    }


def add_zoom(server: Flask, store: RideStore) -> None:
    """Add the address of a ride's charts as the browser wants them.

    Parameters
    ----------
    server : of the page
    store : of rides
    """

    def charts(token: str) -> tuple[Response, int]:
        shown, wish = store.get(token), Wish.of(request.args)
        if shown is None or shown.answer is None or wish is None:
            return Response(refusals.map_is_gone(), mimetype="text/plain"), 404
        response = Response(json.dumps(drawn(shown.answer, wish)), mimetype="application/json")
        response.headers["Cache-Control"] = "no-store"
        return response, 200

    server.add_url_rule("/ride/<token>/charts", "charts", charts)


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
