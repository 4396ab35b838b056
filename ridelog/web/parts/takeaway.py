"""What can be taken away from a ride."""

from typing import Any

from dash import html

from ridelog.tell.page import DOWNLOADS, TAKE_AWAY
from ridelog.tell.pages.asking import REPORT_LINK
from ridelog.web.ids import RIDE_PATH


def takeaway(token: str) -> Any:
    """Links to the files of a ride; ``token`` : by which it is found."""
    report = html.Li(html.A(REPORT_LINK, href=f"{RIDE_PATH}{token}/report"))
    links = [html.Li(html.A(words, href=f"{RIDE_PATH}{token}/{name}", download=True)) for name, words in DOWNLOADS]
    return html.Section(
        [html.H2(TAKE_AWAY), html.Ul([report, *links])], className="takeaway", **{"aria-label": TAKE_AWAY}
    )
