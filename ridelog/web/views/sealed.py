"""Tables, and the rides of a visitor, as markup: one component each for the library, however much is in them.

The library asks each component at each change whether it has to be drawn again; thousands of cells made each zoom in
the chart slower than drawing it, and a folder of 230 files kept the page busy for half a minute. What goes into the
markup is letters, never markup, of whatever file.
"""

from html import escape
from typing import Any

from dash import html
from dash.development.base_component import Component

from ridelog.web import ids

NAMES = {"className": "class", "tabIndex": "tabindex", "colSpan": "colspan"}
PLAIN = ("scope", "role", "type", "title", "value")
SWITCHES = ("hidden", "open")
TAGS = (
    "Table", "Caption", "Thead", "Tbody", "Tr", "Th", "Td", "Span", "B", "P", "Div", "Button", "Strong", "Code",
    "Ul", "Li", "A", "Details", "Summary", "Select", "Option",
)  # fmt: skip
FOLD = "files-"  # begins the name of the fold of a ride's files
OWN_RIDE = "own-ride"


def sealed(part: Any) -> Any:
    """A component, or a list of them, in which every table that the page only shows, and every ride, is one component.

    Parameters
    ----------
    part : cleaned, as its letters go to the page as they are

    Returns
    -------
    The same, with assets/view.js filling them in.
    """
    if isinstance(part, (list, tuple)):
        return [sealed(each) for each in part]
    if isinstance(part, html.Table):
        try:
            return html.Div(className="sealed", **{"data-html": markup(part)})
        except ValueError:  # something in it is more than shown: a field, a picture
            return part
    if getattr(part, "className", "") == OWN_RIDE:
        setattr(part, "data-html", markup(part.children))
        part.className, part.children = f"{OWN_RIDE} sealed", None
        return part
    if isinstance(inner := getattr(part, "children", None), (Component, list, tuple)):
        part.children = sealed(inner)
    return part


def markup(part: Any) -> str:
    """A component as HTML: known elements and attributes alone, every text and value escaped.

    Parameters
    ----------
    part : component, text, number, or a list of them

    Returns
    -------
    HTML.

    Raises
    ------
    ValueError : an element or attribute that none of these has
    """
    if part is None:
        return ""
    if isinstance(part, (list, tuple)):
        return "".join(map(markup, part))
    if not isinstance(part, Component):
        return escape(str(part))
    kind = type(part).__name__
    if kind not in TAGS:
        raise ValueError(f"no {kind} in a table")
    given = part.to_plotly_json()["props"]
    inner = markup(given.pop("children", None))
    attributes = "".join(_attribute(name, value) for name, value in given.items() if value is not None)
    return f"<{kind.lower()}{attributes}>{inner}</{kind.lower()}>"


def _attribute(name: str, value: Any) -> str:
    if name == "style":
        value = ";".join(f"{_hyphened(key)}:{each}" for key, each in value.items())
    elif name in SWITCHES:
        return f" {name}" if value else ""
    elif name == "id":
        if value != ids.EVENT_ROWS and not value.startswith(FOLD):  # a callback could not find it in here
            raise ValueError(f"no id {value} in a table")
    elif name == "href":
        if not value.startswith(ids.RIDE_PATH):
            raise ValueError(f"no {value} in a table")
    elif name not in NAMES and name not in PLAIN and not name.startswith(("data-", "aria-")):
        raise ValueError(f"no {name} in a table")
    return f' {NAMES.get(name, name)}="{escape(str(value))}"'


def _hyphened(name: str) -> str:
    """ "maxHeight" as style sheets write it."""
    return "".join(f"-{char.lower()}" if char.isupper() else char for char in name)
