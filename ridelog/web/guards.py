"""What a local server owes its visitor: no foreign hosts, no foreign code."""

from dash import Dash
from dash.exceptions import DependencyException
from flask import Response, request

from ridelog.tell.refusals.commands import FOREIGN_NAME, NO_SUCH_PART
from ridelog.web.hosts import Names


def add_guards(app: Dash, names: Names) -> None:
    """Refuse requests to other names, and send headers that keep foreign code out."""
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
        if not names.take(request.headers.get("Host", "")):
            return FOREIGN_NAME, 403
        return None

    def add_headers(response: Response) -> Response:
        response.headers.setdefault("Content-Security-Policy", policy)
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers.setdefault("Referrer-Policy", "no-referrer")
        response.headers["X-Frame-Options"] = "DENY"
        response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        response.headers["Permissions-Policy"] = "geolocation=(), camera=(), microphone=()"
        return response

    app.server.register_error_handler(DependencyException, lambda _: (NO_SUCH_PART, 404))
    app.server.before_request(refuse_foreign_hosts)
    app.server.after_request(add_headers)
