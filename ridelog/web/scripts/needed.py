"""The scripts of the page: without one that it does not use, and with that of the charts, the largest, begun at once.

The library asks for the charts' script when the first chart has come; so it is there while the server still draws. What
takes files is there before anything is shown: a browser opens files itself that nothing on the page takes.
"""

import re
from typing import Any

from dash import Dash

CHARTS = "/_dash-component-suites/plotly/package_data/plotly.min.js"  # where the library looks for it
_TAKES_FILES = re.compile(r'<script src="[^"]*/assets/upload\.js[^"]*"></script>\n?')
_UNUSED = re.compile(r'<script src="[^"]*/dash_table/[^"]*"></script>\n?')


class LeanDash(Dash):  # type: ignore[misc]
    """A Dash application whose page loads only the scripts that it needs, that of the charts as early as the others."""

    def interpolate_index(self, **kwargs: Any) -> str:
        """The page around the application, as the library makes it, with other scripts."""
        scripts, early = kwargs["scripts"], f'<script defer src="{CHARTS}"></script>\n'
        head = kwargs["css"] + "".join(_TAKES_FILES.findall(scripts))
        left = _UNUSED.sub("", _TAKES_FILES.sub("", scripts))
        page: str = super().interpolate_index(**{**kwargs, "css": head, "scripts": early + left})
        return page
