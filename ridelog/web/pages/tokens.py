"""Forms of pages that the server writes: each carries a token, by which it is known to be one of this page's."""

from collections.abc import Mapping
from dataclasses import field

from flask import Response, after_this_request, g, request

from ridelog.lazy import dataclass
from ridelog.web.door.origin import is_own
from ridelog.web.door.sessions import Sessions
from ridelog.web.tray.visitor import visitor

MOST_BYTES = 200_000  # of a form: 600 rides with a letter each take a tenth
MOST_PARTS = 3000


@dataclass(frozen=True)
class Tokens:
    """Signs the forms that a running page gives, each for its visitor."""

    sessions: Sessions = field(default_factory=Sessions)

    def token(self) -> str:
        """Of a form for whoever asks, who gets a key with it where they have none."""
        g.gives_key = True
        after_this_request(_tell_origin)
        return self.sessions.token(visitor())

    def fields(self, most_bytes: int = MOST_BYTES) -> Mapping[str, str] | None:
        """The fields of a form that was sent; ``None`` where it is none of this page's.

        Parameters
        ----------
        most_bytes : that it may take [byte]
        """
        request.max_content_length = most_bytes
        request.max_form_parts = MOST_PARTS
        sent = request.form.to_dict()
        ours = is_own(request) and self.sessions.is_token(sent.pop("token", ""), visitor())
        return sent if ours else None


def _tell_origin(reply: Response) -> Response:
    """Let the browser say which page a form was on; with no referrer at all it keeps the form's origin back too."""
    reply.headers["Referrer-Policy"] = "same-origin"
    return reply
