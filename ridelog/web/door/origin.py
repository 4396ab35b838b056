"""From which site a request comes, and which computer sent it.

A web site that is open in the same browser can send requests here too. What it cannot do is to change the headers
``Origin``, ``Host`` and ``Sec-Fetch-Site``, which the browser sets, or to add one of its own choice without asking
first. A program in front of the page that speaks TLS gives the name that the browser called in ``X-Forwarded-Host``.

References
----------
W3C, Fetch Metadata Request Headers, 2.2. WHATWG, Fetch, 3.2 (``Origin``) and 3.3 (CORS), from memory.
"""

from ipaddress import IPv6Address, ip_address
from urllib.parse import urlsplit

from flask import Flask, Request, request

from ridelog.tell.refusals.page.door import FOREIGN_ORIGIN
from ridelog.web.door.attempts import THIS_COMPUTER

_LOOKS = ("GET", "HEAD")


def add_origin_guard(server: Flask) -> None:
    """Refuse what another site makes a browser send: every change, and every look that is not a visit of a person."""

    def refuse_foreign_requests() -> tuple[str, int] | None:
        looks = request.method in _LOOKS
        taken = not is_from_elsewhere(request) or is_visit(request) if looks else is_own(request)
        return None if taken else (FOREIGN_ORIGIN, 403)

    server.before_request(refuse_foreign_requests)


def is_own(asked: Request) -> bool:
    """Whether a request comes from this page itself, by what browsers say of each that changes something."""
    site, origin = asked.headers.get("Sec-Fetch-Site"), asked.headers.get("Origin")
    if site not in (None, "same-origin"):
        return False
    if origin is None:
        return site is not None
    try:
        parts = urlsplit(origin)
    except ValueError:
        return False
    names = {asked.headers.get("Host", "").lower(), asked.headers.get("X-Forwarded-Host", "").lower()} - {""}
    return parts.scheme in ("http", "https") and parts.netloc.lower() in names


def is_from_elsewhere(asked: Request) -> bool:
    """Whether the browser says that another site led here."""
    return asked.headers.get("Sec-Fetch-Site") in ("cross-site", "same-site")


def is_visit(asked: Request) -> bool:
    """Whether somebody goes to this address to see it, rather than a script or another page fetching it."""
    mode = asked.headers.get("Sec-Fetch-Mode")
    if mode is None:
        return asked.method in _LOOKS and "text/html" in asked.headers.get("Accept", "")
    return asked.method in _LOOKS and mode == "navigate" and asked.headers.get("Sec-Fetch-Dest", "") == "document"


def is_encrypted(asked: Request) -> bool:
    """Whether the browser speaks TLS, by what it says itself or what a program in front of the page says.

    Whoever forges this makes nothing but their own browser keep its cookie for itself.
    """
    forwarded = asked.headers.get("X-Forwarded-Proto", "").lower()
    return asked.headers.get("Origin", "").startswith("https://") or forwarded == "https"


def sender(asked: Request) -> str:
    """The address that a request comes from, as `sender_of` has it."""
    return sender_of(asked.remote_addr or "", asked.headers.get("X-Forwarded-For", ""))


def sender_of(address: str, forwarded: str) -> str:
    """The address that a request comes from, or `THIS_COMPUTER`.

    A program on this computer that stands in front of the page names at the end of ``X-Forwarded-For`` who called it;
    what stands before was said by the caller, and is not believed.
    """
    if not _is_loopback(address):
        return address
    named = forwarded.rpartition(",")[2].strip()
    return THIS_COMPUTER if not named or _is_loopback(named) else named


def _is_loopback(address: str) -> bool:
    try:
        known = ip_address(address)
    except ValueError:
        return False
    return ((isinstance(known, IPv6Address) and known.ipv4_mapped) or known).is_loopback
