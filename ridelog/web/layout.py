"""The page as an empty skeleton (every visitor's index page carries it); callbacks fill it."""

from typing import Any

import dash_mantine_components as dmc
from dash import dcc, html

from ridelog.tell.pages.navigation import LINE, kept
from ridelog.tell.pages.tray import YOURS
from ridelog.tell.refusals.page.door import LOG_OUT
from ridelog.web import ids
from ridelog.web.door.forms import LOGOUT
from ridelog.web.parts.charts.power import DEFAULT_LANES
from ridelog.web.parts.choices import choices
from ridelog.web.parts.navigation import Links, navigation

INDEX = """<!DOCTYPE html>
<html lang="en">
  <head>
    {%metas%}
    <meta name="color-scheme" content="light dark">
    <title>{%title%}</title>
    <link rel="icon" type="image/svg+xml" href="/assets/mark.svg">
    {%css%}
  </head>
  <body>
    {%app_entry%}
    <noscript><p>This page needs JavaScript. The command <code>ridelog measure FILE…</code> does not.</p></noscript>
    {%config%}
    {%scripts%}
    {%renderer%}
  </body>
</html>
"""

CAUTIONS = (
    "Regenerative braking fades at low speed and cannot hold a bike at rest.",
    "It can stop without warning when the battery is full or cold, or when the battery's electronics cut out.",
    "It acts on one wheel only and never replaces two independent friction brakes.",
    "Keep to the limits set by the makers of the battery and the controller.",
    "If the battery swells, gets hot, smells or smokes, stop, move away from it and call the emergency services. Any "
    "work on a battery is for a qualified technician.",
)


def skeleton(*, with_door: bool = False, with_others: bool = False, keeps: bool = False, links: Links = ()) -> Any:
    """The page before any ride is shown.

    Parameters
    ----------
    with_door : who looks at it has logged in, and can log out
    with_others : who looks at it may sit at another computer than the one that runs it
    keeps : rides can be kept in a store
    links : to the other pages

    Returns
    -------
    Component.
    """
    return dmc.MantineProvider(
        id="theme",
        defaultColorScheme="auto",
        theme={"primaryColor": "teal", "primaryShade": 8, "autoContrast": True, "fontFamily": "inherit"},
        children=[
            dcc.Location(id=ids.ADDRESS, refresh="callback-nav"),
            dcc.Store(id=ids.VIEW),
            dcc.Store(id=ids.WRITTEN),
            dcc.Store(id=ids.RIDE),
            dcc.Store(id=ids.TRAY),
            dcc.Store(id=ids.WINDOW),
            dcc.Store(id=ids.STANDS),
            dcc.Store(id=ids.WATCHED),
            *(dcc.Store(id=each) for each in ids.PRESSED.values()),
            dcc.Store(id=ids.LANES, storage_type="local", data=[*DEFAULT_LANES]),
            html.A("Skip to the answer", href="#answer", className="skip"),
            html.Div(id=ids.SPOKEN, role="status", className="visually-hidden"),
            _header(links),
            html.Main(
                [
                    _chooser(),
                    html.Section(id=ids.TRAY_LIST, className="tray", **{"aria-label": YOURS}),
                    html.Div(id=ids.REFUSAL, role="alert"),
                    html.P(id=ids.READ_SAID, role="status", className="working"),
                    html.P(id=ids.WORKING, role="status", className="working"),
                    html.Div(id=ids.ANSWER, tabIndex="-1", **{"aria-live": "off"}),
                    _cautions(),
                ]
            ),
            html.Footer(
                [
                    html.P(kept(by_others=with_others, in_store=keeps)),
                    *([html.P(html.A(LOG_OUT, href=LOGOUT))] if with_door else []),
                ]
            ),
        ],
    )


def _header(links: Links) -> Any:
    return html.Header(
        [
            html.Img(src="/assets/mark.svg", alt="", width=36, height=36),
            html.Div(
                [
                    html.H1("ridelog"),
                    html.P(LINE),
                ]
            ),
            choices(),
            navigation(links, ids.HOME_PATH),
        ],
        className="masthead",
    )


def _chooser() -> Any:
    return html.Section(
        [
            html.Div(
                [
                    html.H2("A sample ride", id="samples-title"),
                    html.Ul(id=ids.SAMPLE, **{"aria-labelledby": "samples-title"}),
                ],
                className="samples",
            ),
            html.Div(
                [
                    html.H2("Or your own"),
                    html.Div(id="own-files"),  # assets/upload.js puts a native file form here
                ],
                className="own",
            ),
        ],
        className="chooser",
        **{"aria-label": "Choose a ride"},
    )


def _cautions() -> Any:
    return html.Section(
        [html.H2("Before you rely on it"), html.Ul([html.Li(each) for each in CAUTIONS])],
        className="cautions",
    )
