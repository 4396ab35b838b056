"""What is around each page that the server writes: its head, the way to the other pages, and its foot."""

from collections.abc import Iterable

from flask import current_app

from ridelog.report.sheet import PAGE, look, text
from ridelog.tell.pages import navigation as words
from ridelog.tell.refusals.page.door import LOG_OUT
from ridelog.web.door.forms import LOGOUT
from ridelog.web.ids import HOME_PATH, KEEPS, WITH_OTHERS
from ridelog.web.pages.written import choices_here
from ridelog.web.parts.navigation import links_of, navigation_html

PAPER = "A4"
MARK, AGAIN = "/assets/mark.svg", "/assets/again.js"
STYLES = ("/assets/masthead.css", "/assets/pages.css")


def framed(title: str, parts: Iterable[str], here: str, *, again_s: int | None = None, choices: bool = False) -> str:
    """A whole page in the look of the documents, written for the request that is answered.

    Parameters
    ----------
    title : of the window, before the name of the program
    parts : HTML of the page, in order
    here : its address among those of `ridelog.web.parts.navigation`
    again_s : after how long a browser looks again, where there will be more to see [s]
    choices : it writes numbers as the visitor chose, who can choose otherwise on it

    Returns
    -------
    HTML.
    """
    again = "" if again_s is None else _again(again_s)
    waits = "" if again_s is None else f' data-again="{again_s}"'
    styles = "".join(f'<link rel="stylesheet" href="{path}">\n' for path in STYLES)
    chosen = choices_here() if choices else ""
    body = "\n".join(part for part in parts if part)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'{again}<title>{text(words.window(title))}</title>\n<link rel="icon" type="image/svg+xml" href="{MARK}">\n'
        f"<style>\n{look()}{PAGE.format(paper=PAPER)}</style>\n{styles}</head>\n"
        f'<body class="page"{waits}>\n<a class="skip" href="#content">{text(words.SKIP)}</a>\n{_head(here, chosen)}\n'
        f'<main id="content" tabindex="-1">\n{body}\n</main>\n{_foot()}\n</body>\n</html>\n'
    )


def _again(again_s: int) -> str:
    """A script that looks again and lets the page stand; where none runs, the browser loads it anew."""
    meta = f'<meta http-equiv="refresh" content="{again_s}">'
    return f'<script src="{AGAIN}" defer></script>\n<noscript>{meta}</noscript>\n'


def _head(here: str, choices: str) -> str:
    return (
        f'<header class="masthead"><img src="{MARK}" alt="" width="36" height="36">'
        f'<div><p class="name"><a href="{HOME_PATH}">ridelog</a></p><p>{text(words.LINE)}</p></div>{choices}\n'
        f"{navigation_html(links_of(current_app), here)}</header>"
    )


def _foot() -> str:
    known = {rule.rule for rule in current_app.url_map.iter_rules()}
    door = f'<p><a href="{LOGOUT}">{text(LOG_OUT)}</a></p>' if LOGOUT in known else ""
    asked = current_app.config.get
    kept = words.kept(by_others=bool(asked(WITH_OTHERS)), in_store=bool(asked(KEEPS)))
    return f"<footer><p>{text(kept)}</p>{door}</footer>"
