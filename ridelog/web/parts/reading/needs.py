"""What an answer needs of the logs, and which of it is missing."""

from collections.abc import Sequence
from typing import Any

from dash import html

from ridelog.answer.ride import Answer
from ridelog.tell.pages import columns as words
from ridelog.tell.table import capital
from ridelog.web.rides import Columns
from ridelog.web.tray.sharper import mass_is_assumed


def needs(columns: Sequence[Columns], answer: Answer | None) -> Any:
    """What the answer rests on: the column that gives it, or what is missing without one.

    Parameters
    ----------
    columns : of all logs of the ride, as far as they were understood
    answer : of the ride; ``None`` where it was refused

    Returns
    -------
    Component.
    """
    rows = [(name, _found(columns, channels), without) for name, channels, without in words.NEEDS]
    told = [(name, found or words.missing(without), found is None) for name, found, without in rows]
    if answer is not None:
        assumed = mass_is_assumed(answer)
        told.append((words.MASS, words.MASS_ASSUMED if assumed else words.MASS_ENTERED, assumed))
    return html.Div(
        [
            html.H3(words.NEED_TITLE),
            html.Dl(
                [
                    html.Div([html.Dt(capital(name)), html.Dd(said, className="lacking" if lacks else None)])
                    for name, said, lacks in told
                ],
                className="facts",
            ),
        ],
        className="needs",
    )


def _found(columns: Sequence[Columns], channels: Sequence[str]) -> str | None:
    """The first column that gives one of the channels, in their order."""
    for channel in channels:
        for log in columns:
            for reading in log.readings:
                if reading.channel == channel:
                    return words.found_in(reading.header, log.name.replace("\\", "/").rsplit("/", 1)[-1])
    return None
