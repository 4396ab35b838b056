"""The page as an empty skeleton (every visitor's index page carries it); callbacks fill it."""

from typing import Any

import dash_mantine_components as dmc
from dash import dcc, html

from ridelog.tell.page import FLEET_LINK
from ridelog.web import ids

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


def skeleton(*, with_fleet: bool = False) -> Any:
    """The page before any ride is shown.

    Parameters
    ----------
    with_fleet : there is a sample fleet to go to
    """
    return dmc.MantineProvider(
        id="theme",
        defaultColorScheme="auto",
        theme={"primaryColor": "teal", "primaryShade": 8, "autoContrast": True, "fontFamily": "inherit"},
        children=[
            dcc.Store(id=ids.VIEW),
            dcc.Store(id=ids.RIDE),
            dcc.Store(id=ids.UPLOAD_OUTCOME),
            html.A("Skip to the answer", href="#answer", className="skip"),
            html.Div(id=ids.SPOKEN, role="status", className="visually-hidden"),
            _header(),
            html.Main(
                [
                    _chooser(with_fleet=with_fleet),
                    html.Div(id=ids.REFUSAL, role="alert"),
                    html.P(id=ids.WORKING, role="status", className="working"),
                    html.Div(id=ids.ANSWER, tabIndex="-1", **{"aria-live": "off"}),
                    _cautions(),
                ]
            ),
            html.Footer(
                html.P(
                    "Everything is read and measured on this computer; nothing leaves it. "
                    "Rides stay in memory until you stop the program."
                )
            ),
        ],
    )


def _header() -> Any:
    return html.Header(
        [
            html.Img(src="/assets/mark.svg", alt="", width=36, height=36),
            html.Div(
                [
                    html.H1("ridelog"),
                    html.P("How much energy regenerative braking really gave back, from the ride's own logs"),
                ]
            ),
            dmc.SegmentedControl(
                id=ids.UNITS,
                data=[{"value": "metric", "label": "km, m"}, {"value": "imperial", "label": "mi, ft"}],
                value="metric",
                size="xs",
                persistence=True,
                **{"aria-label": "Units"},
            ),
        ],
        className="masthead",
    )


def _chooser(*, with_fleet: bool) -> Any:
    return html.Section(
        [
            html.Div(
                [
                    html.H2("A sample ride", id="samples-title"),
                    html.Div(dmc.RadioGroup(id=ids.SAMPLE, children=[], **{"aria-labelledby": "samples-title"})),
                    *([html.P(html.A(FLEET_LINK, href=ids.FLEET_PATH))] if with_fleet else []),
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
