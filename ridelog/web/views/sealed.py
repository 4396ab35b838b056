"""Tables as markup: one component each for the library, however many cells they have.

The library asks each component at each change whether it has to be drawn again; thousands of cells made each zoom in
the chart slower than drawing it. What goes into the markup is letters, never markup, of whatever file.
"""

from html import escape
from typing import Any

from dash import html
from dash.development.base_component import Component

from ridelog.web import ids

NAMES = {"className": "class", "tabIndex": "tabindex", "colSpan": "colspan"}
PLAIN = ("scope", "role", "type", "title")
TAGS = ("Table", "Caption", "Thead", "Tbody", "Tr", "Th", "Td", "Span", "B", "P", "Div", "Button", "Strong", "Code")


def sealed(part: Any) -> Any:
    """A component, or a list of them, in which every table that the page only shows is one component.

    Parameters
    ----------
    part : cleaned, as its letters go to the page as they are

    Returns
    -------
    The same, with assets/view.js filling in the tables.
    """
    if isinstance(part, (list, tuple)):
        return [sealed(each) for each in part]
    if isinstance(part, html.Table):
        try:
            return html.Div(className="sealed", **{"data-html": markup(part)})
        except ValueError:  # something in it is more than shown: a field, a picture
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
    ValueError : an element or attribute that no table of the page has
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
    elif name == "id":
        if value != ids.EVENT_ROWS:  # by which a callback may find it, which it could not in here
            raise ValueError(f"no id {value} in a table")
    elif name not in NAMES and name not in PLAIN and not name.startswith(("data-", "aria-")):
        raise ValueError(f"no {name} in a table")
    return f' {NAMES.get(name, name)}="{escape(str(value))}"'


def _hyphened(name: str) -> str:
    """ "maxHeight" as style sheets write it."""
    return "".join(f"-{char.lower()}" if char.isupper() else char for char in name)
