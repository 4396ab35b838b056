"""What a visitor chooses about units, numbers and times; kept by the browser, and said by addresses that show it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import dash_mantine_components as dmc
from dash import html

from ridelog.lazy import dataclass
from ridelog.report.sheet import text
from ridelog.tell.numbers import POINTS, STYLES, Style, typeset
from ridelog.tell.pages import choices as words
from ridelog.web import ids
from ridelog.web.parts.forms import button, choice

COOKIE = "ridelog-written"  # "imperial.comma.utc", which no port of this computer need keep from another
CHOICES = {
    ids.UNITS: (words.UNITS, words.UNIT_CHOICES),
    ids.NUMBERS: (words.NUMBERS, words.NUMBER_CHOICES),
    ids.CLOCK: (words.TIMES, words.TIME_CHOICES),
}


@dataclass(frozen=True)
class Written:
    """How numbers and times are written: one of `CHOICES` each."""

    units: str = "metric"
    numbers: str = "point"
    clock: str = "start"

    @classmethod
    def of(cls, said: Mapping[str, object]) -> "Written":
        """By what was said; the first of the choices stands for anything that is none of them."""
        chosen = {}
        for key, (_, options) in CHOICES.items():
            value = said.get(key)
            chosen[key] = value if isinstance(value, str) and value in dict(options) else options[0][0]
        return cls(**chosen)

    @classmethod
    def of_cookie(cls, value: str) -> "Written":
        """By what a browser kept."""
        return cls.of(dict(zip(CHOICES, value.split("."), strict=False)))

    def cookie(self) -> str:
        """As a browser keeps it."""
        return ".".join(vars(self).values())

    @property
    def style(self) -> Style:
        """Units, digits and separators of a page."""
        return replace(typeset(STYLES[self.units]), point=POINTS[self.numbers])


def choices() -> Any:
    """The choices on a page of components, folded until they are asked for."""
    return html.Details(
        [
            html.Summary(words.TITLE),
            html.Div(
                [
                    *(_one_of(title, name, offered) for name, (title, offered) in CHOICES.items()),
                    html.P(words.KEPT, className="gloss"),
                ],
                className="choices-panel",
            ),
        ],
        className="choices",
        id="choices",
    )


def _one_of(title: str, name: str, offered: Sequence[tuple[str, str]]) -> Any:
    return html.Div(
        [
            html.Span(title, id=f"{name}-title"),
            dmc.SegmentedControl(
                id=name,
                data=[{"value": value, "label": label} for value, label in offered],
                value=offered[0][0],
                size="xs",
                orientation="vertical" if name == ids.CLOCK else "horizontal",
                **{"aria-label": title},
            ),
        ]
    )


def choices_html(path: str, fields: Mapping[str, str], chosen: Written) -> str:
    """The choices on a page that the server writes: a form whose address shows the page so, and which is kept.

    Parameters
    ----------
    path : of the page
    fields : of its address
    chosen : at present

    Returns
    -------
    HTML.
    """
    others = "".join(
        f'<input type="hidden" name="{text(key)}" value="{text(value)}">'
        for key, value in fields.items()
        if key not in CHOICES
    )
    lists = "".join(choice(key, title, options, getattr(chosen, key)) for key, (title, options) in CHOICES.items())
    return (
        f'<details class="choices" id="choices"><summary>{text(words.TITLE)}</summary>'
        f'<form class="choices-panel" action="{text(path)}">{others}{lists}<p>{text(words.KEPT)}</p>'
        f"{button(words.SHOW, 'keep', 'yes')}</form></details>"
    )
