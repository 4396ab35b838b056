"""A visitor of the page in one process with it: small rides, forms as a browser sends them, waiting for a condition."""

import re
import time
from collections.abc import Mapping
from dataclasses import dataclass
from html import unescape
from io import BytesIO
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

ORIGIN = {"Origin": "http://localhost"}  # what Flask's client calls the host
LONGEST_S = 120.0


def log(day: int = 1, *, back_a: float = 2.0, n: int = 120) -> bytes:
    """Two minutes at 1 Hz on a day of May: 3 A out of the battery for 40 s, then something back for 20 s."""
    rows = "\n".join(
        f"2026-05-{day:02d}T08:{t // 60:02d}:{t % 60:02d}Z,{3 if t % 60 < 40 else -back_a},48" for t in range(n)
    )
    return f"time,battery current [A],battery voltage [V]\n{rows}\n".encode()


def write_campaign(folder: Path, *, n_rides: int = 3) -> Path:
    """Two settings of regen, so many days each, in turn."""
    for place, (group, back_a) in enumerate((("weak", 1.0), ("strong", 2.0))):
        for n in range(n_rides):
            path = folder / group / f"day{n}" / "log.csv"
            path.parent.mkdir(parents=True)
            path.write_bytes(log(1 + 2 * n + place, back_a=back_a + 0.05 * n))
        (folder / group / "bike.toml").write_text('[bike]\nname = "Kittiwake"\n')
    return folder


@dataclass
class Form:
    """A form of a page: its address, its hidden token, and the reply that it stands in."""

    action: str
    token: str
    page: str


@dataclass
class Guest:
    """Somebody with a browser of their own."""

    client: FlaskClient

    def see(self, path: str) -> TestResponse:
        """A page."""
        reply = self.client.get(path)
        reply.get_data()
        reply.close()  # a file that was sent stays open otherwise
        return reply

    def form(self, path: str) -> Form:
        """The form of a page."""
        page = self.see(path).text
        action, token = re.findall(
            r'<form class="asked" method="post" action="([^"]*)".*?name="token" value="([^"]*)"', page, re.DOTALL
        )[0]
        return Form(unescape(action), unescape(token), page)

    def send(self, form: Form, fields: Mapping[str, str], **headers: str) -> TestResponse:
        """A form as a browser sends it."""
        return self.client.post(form.action, data={"token": form.token, **fields}, headers={**ORIGIN, **headers})

    def give(self, *files: tuple[str, bytes]) -> list[str]:
        """Upload files; tokens of the rides that were made of each file once they are measured."""
        tokens = []
        for name, content in files:
            data = {"files": [(BytesIO(content), name)]}
            sent = self.client.post("/upload", data=data, headers=ORIGIN, content_type="multipart/form-data")
            said: dict[str, Any] = sent.get_json()
            end = time.monotonic() + LONGEST_S
            while said["pending"] and time.monotonic() < end:
                time.sleep(0.02)
                said = self.client.get("/tray").get_json()
            tokens.append(str(said["go"]).removeprefix("/ride/"))
        return tokens

    def done(self, path: str) -> str:
        """The page of an order once it is no longer under way."""
        end = time.monotonic() + LONGEST_S
        while "data-again" in (page := self.see(path).text):
            assert time.monotonic() < end, page
            time.sleep(0.02)
        return page
