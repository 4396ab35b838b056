"""How the files were read: what each is, how its columns were understood, and the map to correct that."""

from collections.abc import Sequence
from typing import Any

from dash import html

from ridelog.answer.ride import Answer, Source
from ridelog.tell import page, tables
from ridelog.tell.numbers import Style
from ridelog.tell.pages import columns as words
from ridelog.tell.table import capital
from ridelog.web.ids import RIDE_PATH
from ridelog.web.parts.reading.columns import column_editor
from ridelog.web.parts.reading.needs import needs
from ridelog.web.parts.reading.spark import spark
from ridelog.web.parts.table import body, head, scrolled
from ridelog.web.rides import NOBODYS, Columns, Owned


def sources(answer: Answer, columns: Sequence[Columns], token: str, style: Style, owned: Owned = NOBODYS) -> Any:
    """Every file with its facts and its columns.

    Parameters
    ----------
    answer : whose files
    columns : how each log's columns were understood
    token : of the ride, for the links to the maps
    style : how numbers are written
    owned : what the visitor may do with the ride

    Returns
    -------
    component : for a fold
    """
    by_name = {each.name: (index, each) for index, each in enumerate(columns)}
    parts = [_source(each, by_name.get(each.path), token, style, owned) for each in answer.sources]
    return html.Div([*([needs(columns, answer)] if columns else []), *parts])


def _source(source: Source, columns: tuple[int, Columns] | None, token: str, style: Style, owned: Owned) -> Any:
    facts = [(capital(name), value) for name, value in tables.source_facts(source, style)]
    more = [] if columns is None else [*column_table(columns[1]), *editor(*columns, owned), *map_link(*columns, token)]
    return html.Div(
        [
            html.H3(source.path.replace("\\", "/").rsplit("/", 1)[-1]),
            html.Dl([html.Div([html.Dt(name), html.Dd(value)]) for name, value in facts], className="facts"),
            *more,
        ],
        className="source",
    )


def column_table(columns: Columns) -> list[Any]:
    """How each column of a log was understood, and why, beside a small picture of it."""
    table = tables.column_readings(columns.readings).known()
    if not table.rows:
        return []
    first, *others = head(table, Style()).children.children
    rows = body(table, Style())
    shown = columns.previews if len(columns.previews) == len(rows) else ()
    for row, preview in zip(rows, shown, strict=False):
        row.children.insert(1, html.Td(spark(preview), className="word"))
    seen = [html.Th(capital(words.VALUES), scope="col", className="word")] if shown else []
    drawn = html.Table([html.Thead(html.Tr([first, *seen, *others])), html.Tbody(rows)], className="columns readings")
    n_rows = max((len(each.values) for each in shown), default=0)
    return [
        scrolled(drawn, page.columns_of(columns.name)),
        *([html.P(words.preview_note(n_rows), className="gloss")] if n_rows else []),
    ]


def editor(number: int, columns: Columns, owned: Owned, place: str = "read") -> list[Any]:
    """The lists by which columns are corrected, for whoever gave the log.

    Parameters
    ----------
    number : of the log among those of the ride
    columns : how they were understood
    owned : what the visitor may do with the ride
    place : on the page, which holds two for a moment while one takes the place of another

    Returns
    -------
    components : none or one
    """
    return (
        [column_editor(f"{place}-{number}", columns, corrected=columns.header in owned.corrected)] if owned.mine else []
    )


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
                html.A("Download the column map", href=f"{RIDE_PATH}{token}/columns/{number}.toml", download=True),
                page.map_use(why),
            ],
            className="gloss",
        )
    ]
