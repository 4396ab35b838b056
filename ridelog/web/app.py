"""The page as a Dash application, with what a local server owes its visitor: no foreign hosts, no foreign code."""

from pathlib import Path

from dash import Dash
from flask import Flask, Response, request

from ridelog.web.callbacks import add_callbacks
from ridelog.web.layout import INDEX, skeleton
from ridelog.web.rides import RideStore
from ridelog.web.samples import list_samples
from ridelog.web.upload import MOST_BYTES, Measure, add_upload, measure_given

LOCAL_HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})


def create_app(
    samples: Path | None = None,
    *,
    hosts: frozenset[str] | None = LOCAL_HOSTS,
    measure: Measure = measure_given,
    most_upload_bytes: int = MOST_BYTES,
) -> Dash:
    """The page, ready to be served.

    Parameters
    ----------
    samples : folder of sample rides; without one the page offers none
    hosts : names that a request's ``Host`` may carry, ``None`` for any. A page that listens on this computer
        only is still reachable by a foreign web site whose name was made to point here; its ``Host`` gives it away.
    measure : from given files to an answer
    most_upload_bytes : size of one upload [bytes]

    Raises
    ------
    InputError : a sample ride's description cannot be read
    """
    found = list_samples(samples)
    store = RideStore()
    server = Flask("ridelog.web")
    app = Dash(
        "ridelog.web",
        server=server,
        assets_folder=str(Path(__file__).parent / "assets"),
        serve_locally=True,
        title="ridelog",
        update_title="",
        index_string=INDEX,
        meta_tags=[{"name": "viewport", "content": "width=device-width, initial-scale=1"}],
        suppress_callback_exceptions=True,
        enable_mcp=False,
    )
    app.layout = skeleton()
    add_callbacks(app, store, found, measure)
    add_upload(server, store, measure, most_bytes=most_upload_bytes)
    _add_guards(app, hosts)
    return app


def _add_guards(app: Dash, hosts: frozenset[str] | None) -> None:
    scripts = " ".join(app.csp_hashes())
    policy = "; ".join(
        (
            "default-src 'self'",
            f"script-src 'self' {scripts}".strip(),
            "style-src 'self' 'unsafe-inline'",  # the component and chart libraries set styles from script
            "img-src 'self' data: blob:",
            "font-src 'self' data:",
            "connect-src 'self'",
            "object-src 'none'",
            "base-uri 'none'",
            "form-action 'self'",
            "frame-ancestors 'none'",
        )
    )

    def refuse_foreign_hosts() -> tuple[str, int] | None:
        name = request.host.rsplit(":", 1)[0] if not request.host.endswith("]") else request.host
        if hosts is not None and name.lower() not in hosts:
            return "This page answers to 127.0.0.1 and localhost only.\n", 403
        return None

    def add_headers(response: Response) -> Response:
        response.headers.setdefault("Content-Security-Policy", policy)
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["X-Frame-Options"] = "DENY"
        response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        response.headers["Permissions-Policy"] = "geolocation=(), camera=(), microphone=()"
        return response

    app.server.before_request(refuse_foreign_hosts)
    app.server.after_request(add_headers)
