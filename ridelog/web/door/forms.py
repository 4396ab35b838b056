"""The pages at the door: plain HTML, complete in itself, as nothing else is given to who has not logged in."""

from base64 import b64encode
from functools import cache
from pathlib import Path

from ridelog.report.sheet import look, text
from ridelog.tell.refusals.page import door as words
from ridelog.web.parts.forms import hidden

LOGIN, LOGOUT = "/login", "/logout"
_MARK = Path(__file__).parent.parent / "assets" / "mark.svg"
LOOK = """
main { max-width: 25rem; margin: 9vh auto 0; }
.mark { display: flex; align-items: center; gap: .8rem; margin-bottom: 1.4rem; }
.mark h1 { font: 600 1.6rem/1.1 var(--serif); margin: 0; }
form { display: grid; gap: .55rem; margin: 1.2rem 0; justify-items: start; }
label { font-weight: 600; }
input, button { font: inherit; color: var(--ink); border-radius: 3px; }
input:not([hidden]) { width: 100%; padding: .55rem .7rem; border: 1px solid var(--soft); background: var(--sheet); }
button { margin-top: .4rem; padding: .5rem 1.3rem; border: 0; font-weight: 600; cursor: pointer;
  background: var(--ink); color: var(--paper); }
:focus-visible { outline: 3px solid var(--mark); outline-offset: 2px; }
a { color: var(--mark); text-underline-offset: 2px; }
.said { color: var(--danger); font-weight: 600; }
.open { border-left: .25rem solid var(--warning); background: var(--sheet); padding: .5rem .9rem; font-size: .92rem; }
"""


def log_in_page(query: str, token: str, said: str = "", *, is_open: bool = False) -> str:
    """The form that asks for the password.

    Parameters
    ----------
    query : of the form's address, which says where to go from there
    token : of the form
    said : why it is there again
    is_open : whoever is on the way can read what is typed

    Returns
    -------
    HTML.
    """
    told = f'<p class="said" role="alert" id="said">{text(said)}</p>' if said else ""
    about = ' aria-describedby="said"' if said else ""
    form = (
        f'<form method="post" action="{LOGIN}?{text(query)}">\n{hidden(token)}\n'
        '<input name="username" type="text" autocomplete="username" value="ridelog" hidden>\n'
        f'<label for="password">{words.PASSWORD}</label>\n'
        '<input id="password" name="password" type="password" autocomplete="current-password" required autofocus'
        f"{about}>\n{told}\n<button>{words.LOG_IN}</button>\n</form>"
    )
    open_line = f'<p class="open">{words.OPEN_LINE}</p>' if is_open else ""
    return _page(words.LOG_IN, [f"<p>{words.WANTED}</p>", form, open_line])


def log_out_page(token: str, said: str = "") -> str:
    """The form that logs out; a link alone could be followed by anything."""
    told = f'<p class="said" role="alert">{text(said)}</p>' if said else ""
    form = f'<form method="post" action="{LOGOUT}">\n{hidden(token)}\n{told}<button>{words.LOG_OUT}</button>\n</form>'
    return _page(words.LOG_OUT, [form, f'<p><a href="/">{words.STAY}</a></p>'])


def go_on_page(here: str) -> str:
    """Goes to the same address at once, which then comes from this page."""
    return _page(words.GO_ON, [f'<p><a href="{text(here)}">{words.GO_ON}</a></p>'], again_s=0)


def _page(title: str, parts: list[str], *, again_s: int | None = None) -> str:
    again = "" if again_s is None else f'<meta http-equiv="refresh" content="{again_s}">\n'
    mark = f'<div class="mark"><img src="{_mark()}" alt="" width="40" height="40"><h1>ridelog</h1></div>'
    body = "\n".join(filter(None, parts))
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'{again}<title>ridelog: {title.lower()}</title>\n<link rel="icon" href="{_mark()}">\n'
        f"<style>{look()}{LOOK}</style>\n</head>\n<body>\n<main>\n{mark}\n{body}\n</main>\n</body>\n</html>\n"
    )


@cache
def _mark() -> str:
    """The mark within the page: no other address answers to who has not logged in."""
    return f"data:image/svg+xml;base64,{b64encode(_MARK.read_bytes()).decode()}"
