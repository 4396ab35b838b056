"""All bikes of a store: what each gives, what stands out since when, and ride by ride."""

from urllib.parse import urlencode

from flask import Flask, Response

from ridelog.fleet.record import Audit
from ridelog.report.audits import audit_frame, audit_parts
from ridelog.tell.numbers import Style
from ridelog.tell.pages import kept as words
from ridelog.web import ids
from ridelog.web.kept.kept import Kept
from ridelog.web.pages.files import ANY_KIND, downloads, file_of
from ridelog.web.pages.frame import framed
from ridelog.web.pages.shelves import asked_of
from ridelog.web.pages.written import written


def add_fleet(server: Flask, kept: Kept) -> None:
    """Answer to the fleet's path, and to those of its files.

    Parameters
    ----------
    server : of the page
    kept : the rides of a store
    """

    def show() -> str:
        audit, said, again_s = asked_of(kept, Kept.audit)
        if audit is None:
            return framed(words.FLEET, [f"<h1>{words.FLEET}</h1>", *said], ids.FLEET_PATH, again_s=again_s)
        return framed(
            words.FLEET, [*fleet_parts(audit, written().style), downloads(ids.FLEET_PATH)], ids.FLEET_PATH, choices=True
        )

    def files(kind: str) -> Response | tuple[str, int]:
        audit, _, _ = asked_of(kept, Kept.audit)
        if audit is None:
            return words.NO_RIDE, 404
        return file_of(audit_frame(audit), kind, "fleet", audit.to_dict())

    server.add_url_rule(ids.FLEET_PATH, "fleet", show)
    server.add_url_rule(f"{ids.FLEET_PATH}.<{ANY_KIND}:kind>", "fleet_file", files)


def fleet_parts(audit: Audit, style: Style) -> list[str]:
    """The fleet, from top to bottom, in the style given."""
    return list(
        audit_parts(
            audit,
            style,
            bike=lambda name: f"{ids.RIDES_PATH}?{urlencode({'bike': name})}",
            hill=lambda hill: f"{ids.HILL_PATH}{hill}",
            ride=lambda key: f"{ids.RIDE_PATH}{key}",
        )
    )
