"""How the files were read: what each is, how its columns were understood, and the map to correct that."""

from collections.abc import Sequence
from typing import Any

from dash import html

from ridelog.answer.ride import Answer, Source
from ridelog.recording import ColumnReading
from ridelog.tell import page, tables
from ridelog.tell.numbers import Style
from ridelog.tell.table import capital
from ridelog.web.parts.table import component
from ridelog.web.rides import Columns


def sources(answer: Answer, columns: Sequence[Columns], token: str, style: Style) -> Any:
    """Every file with its facts and its columns.

    Parameters
    ----------
    answer : whose files
    columns : how each log's columns were understood
    token : of the ride, for the links to the maps
    style : how numbers are written

    Returns
    -------
    component : for a fold
    """
    by_name = {each.name: (index, each) for index, each in enumerate(columns)}
    return html.Div([_source(each, by_name.get(each.path), token, style) for each in answer.sources])


def _source(source: Source, columns: tuple[int, Columns] | None, token: str, style: Style) -> Any:
    facts = [(capital(name), value) for name, value in tables.source_facts(source, style)]
    more = [] if columns is None else [column_table(columns[1].readings, source.path), *map_link(*columns, token)]
    return html.Div(
        [
            html.H3(source.path.replace("\\", "/").rsplit("/", 1)[-1]),
            html.Dl([html.Div([html.Dt(name), html.Dd(value)]) for name, value in facts], className="facts"),
            *more,
        ],
        className="source",
    )


def column_table(readings: Sequence[ColumnReading], name: str) -> Any:
    """How each column of a log was understood, and why."""
    label = page.columns_of(name)
    return component(tables.column_readings(readings), Style(), label=label)


def map_link(
    number: int, columns: Columns, token: str, why: str = "if a column is not what it was taken for"
) -> list[Any]:
    """The column map of a log, to be corrected and given together with the files.

    Parameters
    ----------
    number : of the log among those of the ride
    columns : how they were understood
    token : of the ride
    why : when to use it

    Returns
    -------
    components : none or one
    """
    if columns.map_toml is None:
        return []
    return [
        html.P(
            [
                html.A("Download the column map", href=f"/column-map/{token}/{number}.toml", download=True),
                page.map_use(why),
            ],
            className="gloss",
        )
    ]
