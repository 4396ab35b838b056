"""How the pages that the server writes show numbers and times: as their address says, else as the browser keeps it."""

from urllib.parse import urlencode

from flask import Flask, Response, make_response, redirect, request

from ridelog.web.door.origin import is_encrypted
from ridelog.web.parts.choices import CHOICES, COOKIE, Written, choices_html
from ridelog.web.tray.visitor import LASTS_S

KEEP = "keep"  # of an address by whose choice the pages are to be written from now on


def written() -> Written:
    """How the present request wants numbers and times."""
    kept = vars(Written.of_cookie(request.cookies.get(COOKIE, "")))
    return Written.of({**kept, **{key: request.args[key] for key in CHOICES if key in request.args}})


def choices_here() -> str:
    """The choices for the page that is asked for; none on one that answers a form, whose fields they would lose."""
    if request.method != "GET":
        return ""
    return choices_html(request.path, request.args.to_dict(), written())


def add_written(server: Flask) -> None:
    """Keep what was chosen on one of the pages, and lead to the page so written.

    Parameters
    ----------
    server : of the page
    """

    def keep() -> Response | None:
        chosen = request.method == "GET" and KEEP in request.args and any(key in request.args for key in CHOICES)
        if not chosen or request.headers.get("Sec-Fetch-Site") not in (None, "same-origin"):
            return None
        fields = {key: value for key, value in request.args.items() if key != KEEP}
        reply = make_response(redirect(f"?{urlencode(fields)}", 303))  # with no path, that of nobody else's computer
        reply.set_cookie(
            COOKIE, written().cookie(), max_age=LASTS_S, samesite="Lax", secure=is_encrypted(request), path="/"
        )
        reply.headers["Cache-Control"] = "no-store"
        return reply

    server.before_request(keep)
