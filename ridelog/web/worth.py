"""What regeneration is worth on this ride, as sentences on the page."""

from typing import Any

from dash import html

from ridelog.answer.ride import Answer
from ridelog.tell.ride import worth_rows, worth_verdict
from ridelog.web.text import MINUS


def worth_section(answer: Answer) -> Any:
    """The verdict, and a word and a sentence for each thing that it stands on; ``None`` where nothing is known."""
    if answer.worth is None:
        return None
    rows = worth_rows(answer, minus=MINUS)
    return html.Section(
        [
            html.H2("Is it worth it?"),
            html.P(worth_verdict(answer.worth), className="lead"),
            html.Dl(
                [html.Div([html.Dt(name.capitalize()), html.Dd(sentence)]) for name, sentence in rows],
                className="facts",
            ),
        ],
        className="worth",
    )
