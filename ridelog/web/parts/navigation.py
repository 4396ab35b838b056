"""The way from each page to the others, above all of them: the same links in the same order."""

from typing import Any

from dash import html
from flask import Flask

from ridelog.report.sheet import text
from ridelog.tell.pages import navigation as words
from ridelog.web import ids

LINKS = (
    (ids.HOME_PATH, words.MEASURE),
    (ids.RIDES_PATH, words.RIDES),
    (ids.COMPARE_PATH, words.COMPARE),
    (ids.PLAN_PATH, words.PLAN),
    (ids.FLEET_PATH, words.FLEET),
    (ids.HELP_PATH, words.HELP),
)

Links = tuple[tuple[str, str], ...]


def links_of(server: Flask) -> Links:
    """Address and words of each page that a server has; to be asked once all of them are added."""
    known = {rule.rule for rule in server.url_map.iter_rules()} | {ids.HOME_PATH}  # which has any path beside
    return tuple(link for link in LINKS if link[0] in known)


def navigation(links: Links, here: str) -> Any:
    """The links as a component.

    Parameters
    ----------
    links : as `links_of` gives them
    here : address of the page that they stand on
    """
    shown = [html.A(said, href=path, **({"aria-current": "page"} if path == here else {})) for path, said in links]
    return html.Nav(shown, className="navigation", **{"aria-label": words.PAGES})


def navigation_html(links: Links, here: str) -> str:
    """The links as HTML; parameters as those of `navigation`."""
    mark = ' aria-current="page"'
    shown = "".join(f'<a href="{path}"{mark if path == here else ""}>{text(said)}</a>' for path, said in links)
    return f'<nav class="navigation" aria-label="{text(words.PAGES)}">{shown}</nav>'
