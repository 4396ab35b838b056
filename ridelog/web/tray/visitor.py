"""Who a visitor is: a random key in a cookie that no script reads and no other site sends along."""

import re
import secrets

from flask import Flask, Response, g, request

from ridelog.web.door.attempts import THIS_COMPUTER
from ridelog.web.door.origin import is_encrypted, is_visit, sender

LASTS_S = 400 * 24 * 3600  # browsers keep no cookie longer (RFC 6265bis, 5.5; from memory)
GIVEN_WITH = ("/tray", "/upload")
PAGES = ("/", "/<path:path>")  # what shows rides, by the names of the library's own rules
_KEY = re.compile(r"[A-Za-z0-9_-]{24}")


def cookie_name() -> str:
    """By port, as browsers do not tell the ports of a computer apart."""
    return f"ridelog-visitor-{request.host.rpartition(':')[2] if ':' in request.host.rpartition(']')[2] else 80}"


def visitor() -> str:
    """The key of whoever sent the present request; a new one where it has none."""
    if "visitor" not in g:
        sent = request.cookies.get(cookie_name(), "")
        g.visitor = sent if _KEY.fullmatch(sent) else secrets.token_urlsafe(18)
    return str(g.visitor)


def turn() -> str:
    """Whose turn the visitor's rides take: an address, or, on this computer, where all have the same, the visitor."""
    address = sender(request)
    return visitor() if address == THIS_COMPUTER else address


def add_visitors(server: Flask) -> None:
    """Give each browser a key of its own, kept over a reload.

    It goes with the page itself, so that it is there before anything can be given on it: of two tabs that are opened at
    once both then have the key that came last. Else it goes with what is told of the visitor's files, and with forms,
    alone: were it in every reply, one that took long would replace the key under which files were given meanwhile.
    """

    def keep(response: Response) -> Response:
        shown = request.endpoint in PAGES and is_visit(request)
        given = ((request.path in GIVEN_WITH or shown) and response.status_code == 200) or "gives_key" in g
        if given and request.cookies.get(cookie_name()) != visitor():
            response.set_cookie(
                cookie_name(), visitor(), max_age=LASTS_S, httponly=True, samesite="Lax", secure=is_encrypted(request)
            )
        return response

    server.after_request(keep)
