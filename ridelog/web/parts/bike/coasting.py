"""What the coasting of a ride tells of the bike's drag: its stretches to choose from, and values to take over."""

from collections.abc import Mapping
from typing import Any

import dash_mantine_components as dmc
from dash import html

from ridelog.answer.coastdown import CoastDown
from ridelog.errors import RidelogError
from ridelog.tell import coastdown as told
from ridelog.tell.numbers import Style
from ridelog.tell.pages import coasting as words
from ridelog.tell.table import capital
from ridelog.web import ids
from ridelog.web.parts.findings import notes
from ridelog.web.parts.table import body, head, scrolled
from ridelog.web.tray.tray import Coasting


def coasting_offer(token: str, rides: Mapping[str, str], coasting: Coasting | None, style: Style) -> list[Any]:
    """The offer to measure the drag of a bike.

    Parameters
    ----------
    token : of the ride for whose bike it is
    rides : names by token, of those whose coasting may be taken
    coasting : what was asked for, and what it told
    style : how numbers are written

    Returns
    -------
    Components.
    """
    of = token if coasting is None or coasting.of not in rides else coasting.of
    data = [{"value": each, "label": name} for each, name in rides.items()]
    choice = dmc.Select(
        id={"type": ids.COAST_FROM, "to": ""}, label=words.FROM, data=data, value=of, size="sm", allowDeselect=False,
        display=None if len(data) > 1 else "none",
    )  # fmt: skip
    parts = [
        html.H3(words.TITLE),
        html.P(words.LEAD, className="aside"),
        html.Div([choice, _button("find", words.FIND)], className="fields"),
    ]
    if coasting is not None:
        parts += _answer(coasting, style)
    return parts


def _answer(coasting: Coasting, style: Style) -> list[Any]:
    answer = coasting.told
    if coasting.job is not None or answer is None:
        return [html.P(words.LOOKING, role="status")]
    if isinstance(answer, RidelogError):
        return [html.P(" ".join(answer.lines()), className="said", role="status")]
    values = told.bike_values(answer)
    figures = [html.Div([html.Dt(capital(name)), html.Dd(said)]) for name, said in told.key_figures(answer, style)]
    return [
        html.P(told.headline(answer, style), className="lead", role="status"),
        *([html.Dl(figures, className="facts")] if figures else []),
        *([notes(answer.findings, style)] if answer.findings else []),
        *([_stretches(answer, style), _button("fit", words.FIT)] if answer.stretches else []),
        _button("take", words.take(values)) if values else html.P(words.NOTHING_OFFERED, className="aside"),
    ]


def _stretches(answer: CoastDown, style: Style) -> Any:
    """The stretches, each with a box that says whether it is fitted."""
    table = told.stretches(answer).known()
    rows = body(table, style)
    for number, (row, stretch) in enumerate(zip(rows, answer.stretches, strict=True)):
        box = dmc.Checkbox(
            id={"type": ids.STRETCH, "to": str(number)}, checked=stretch.used, size="sm",
            **{"aria-label": words.stretch(number + 1, words.USED.lower())},
        )  # fmt: skip
        row.children = [html.Td(box, className="word"), *row.children[:-1]]
    first = html.Th(words.USED, scope="col", className="word")
    heads = [first, *head(table, style).children.children[:-1]]
    return scrolled(html.Table([html.Thead(html.Tr(heads)), html.Tbody(rows)], className="columns"), table.title)


def _button(to: str, label: str) -> Any:
    return dmc.Button(label, id={"type": ids.COAST, "to": to}, variant="default", size="sm")
