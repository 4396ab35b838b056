"""The chart of power with its buttons, what stands beneath it, and what a click in it marks."""

import json
from collections.abc import Collection, Sequence
from typing import Any

import dash_mantine_components as dmc
from dash import html

from ridelog.answer.ride import Answer
from ridelog.figures.lanes import Lane, known_lanes
from ridelog.figures.look import Look
from ridelog.figures.power import electrical_line, power_drawing
from ridelog.tell import page
from ridelog.tell.numbers import Style
from ridelog.tell.pages import choices as words
from ridelog.tell.ride import power_label
from ridelog.tell.times import clock_span
from ridelog.web import ids
from ridelog.web.parts.charts.frame import chart, returned_is_known

DEFAULT_LANES = ("speed",)
MOVES = (("in", "Closer"), ("out", "Wider"), ("left", "Earlier"), ("right", "Later"), ("all", "Whole ride"))


def power_section(
    answer: Answer,
    look: Look,
    stretch: tuple[float, float] | None = None,
    lanes: Collection[str] = DEFAULT_LANES,
) -> Any:
    """Battery power over time, with buttons that go closer, and what is chosen to stand beneath it.

    Parameters
    ----------
    answer : of the ride
    look : colours, room and units
    stretch : of the ride to show, all of it by default [s]
    lanes : keys of `ridelog.figures.lanes.LANES`, what stands beneath

    Returns
    -------
    Component; ``None`` where there is nothing to draw.
    """
    line = electrical_line(answer.series)
    if line is None or len(answer.series) < 2:
        return None
    start_s, end_s = stretch or (0.0, float(answer.series["elapsed_s"].iloc[-1]))
    drawing = power_drawing(
        answer, look, start_s=start_s if stretch else None, end_s=end_s if stretch else None, beneath=lanes
    )
    known = returned_is_known(answer)
    below: list[Any] = [", ", html.B("▼ returned", className="returned"), " below"] if known else []
    return html.Section(
        [
            html.H2("Drawn and returned over time" if known else "Drawn over time"),
            html.P(
                [html.B("▲ drawn", className="drawn"), " above zero", *below,
                 *_how_to_look_closer()],
                className="gloss",
            ),
            _toolbar(answer),
            chart(drawing, power_label(start_s, end_s, answer, look.style), ids.POWER_CHART),
            html.P(
                page.shown_stretch(start_s, end_s, drawing["layout"]["meta"]["n_samples"], look.style),
                id=ids.WINDOW_WORDS,
                className="gloss",
                role="status",
            ),
            html.Div(  # assets/linked.js puts a slider here
                id=ids.POINT, className="point", **{"data-label": words.POINT, "data-hint": words.POINT_HINT}
            ),
            _beneath(known_lanes(answer.series, line[0]), lanes),
            html.Div(id=ids.LINKED, hidden=True, **{"data-spans": spans(answer, look.style)}),
        ],
        className="power",
    )  # fmt: skip


def _how_to_look_closer() -> list[Any]:
    """For either width of the screen, of which the style sheet shows that which there is."""
    return [
        html.Span(page.how_to_look_closer(narrow=narrow), className="if-narrow" if narrow else "if-wide")
        for narrow in (False, True)
    ]


def _toolbar(answer: Answer) -> Any:
    """What goes closer, wider and along, and to a hill."""
    places = [{"value": f"{hill.start_s}:{hill.end_s}", "label": hill.name} for hill in answer.hills]
    return html.Div(
        [
            *(
                dmc.Button(word, variant="default", size="xs", **{"data-move": move})  # assets/stretch.js
                for move, word in MOVES
            ),
            dmc.Select(
                id=ids.PLACE, data=_distinct(places), placeholder="Go to a hill", size="xs", clearable=False,
                display=None if places else "none", **{"aria-label": "Go to a hill"},
            ),
        ],
        className="toolbar",
        role="group",
        **{"aria-label": "Which stretch of the ride the chart shows"},
    )  # fmt: skip


def _beneath(offered: Sequence[Lane], chosen: Collection[str]) -> Any:
    """What of the ride can be drawn beneath its power."""
    boxes = [dmc.Checkbox(label=lane.label, value=lane.key, size="xs") for lane in offered]
    return dmc.CheckboxGroup(
        dmc.Group(boxes, gap="md"),
        id=ids.BENEATH, label=words.BENEATH, size="xs", className="beneath", display=None if boxes else "none",
        value=[lane.key for lane in offered if lane.key in chosen],
    )  # fmt: skip


def spans(answer: Answer, style: Style) -> str:
    """The hills and braking events that a click in a chart marks: from when to when, and what they are called.

    Parameters
    ----------
    answer : of the ride
    style : how times are told

    Returns
    -------
    JSON for assets/linked.js.
    """
    hills = [[hill.start_s, hill.end_s, hill.name] for hill in answer.hills]
    events = [
        [event.start_s, event.end_s, f"{words.EVENT} {clock_span(event.start_s, event.end_s, style)}"]
        for event in answer.braking.events
    ]
    return json.dumps({"hills": hills, "events": events}, separators=(",", ":"), ensure_ascii=False)


def _distinct(places: list[dict[str, str]]) -> list[dict[str, str]]:
    """Each value once, which the select insists on."""
    return list({place["value"]: place for place in places}.values())
