"""The scripts of the page: without one that it does not use, and with that of the charts, the largest, begun at once.

The library asks for the charts' script when the first chart has come; so it is there while the server still draws.
"""

import re
from typing import Any

from dash import Dash

CHARTS = "/_dash-component-suites/plotly/package_data/plotly.min.js"  # where the library looks for it
_UNUSED = re.compile(r'<script src="[^"]*/dash_table/[^"]*"></script>\n?')


class LeanDash(Dash):  # type: ignore[misc]
    """A Dash application whose page loads only the scripts that it needs, that of the charts as early as the others."""

    def interpolate_index(self, **kwargs: Any) -> str:
        """The page around the application, as the library makes it, with other scripts."""
        early = f'<script defer src="{CHARTS}"></script>\n'
        page: str = super().interpolate_index(**{**kwargs, "scripts": early + _UNUSED.sub("", kwargs["scripts"])})
        return page
