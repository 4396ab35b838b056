"""The program as it is started, and a visitor of it who keeps cookies as a browser does."""

import http.client
import io
import json
import os
import re
import secrets
import subprocess
import sys
import time
import zipfile
from pathlib import Path
from typing import Any, Self

import psutil

from ridelog.web.jobs.folder import LOCK
from tests.places import ROOT

SECRET = "four cold apples march"


class Visitor:
    """Somebody with a browser of their own.

    Parameters
    ----------
    port : of the page
    address : as a program in front of the page would name it; this computer itself, where empty
    """

    def __init__(self, port: int, address: str = "") -> None:
        self.address = address
        self.port = port
        self.origin = f"http://127.0.0.1:{port}"
        self.cookies: dict[str, str] = {}
        self.name = secrets.token_hex(12)

    def ask(self, method: str, path: str, body: bytes = b"", **headers: str) -> tuple[int, str]:
        """Status and text of a reply; cookies are kept as a browser does.

        Parameters
        ----------
        method, path, body : of the request
        headers : with underscores for hyphens; an empty one is left out

        Returns
        -------
        Status and text.
        """
        given = {
            "Origin": self.origin,
            "Cookie": "; ".join(f"{a}={b}" for a, b in self.cookies.items()),
            "Ridelog-Visitor": self.name,
            "X-Forwarded-For": self.address,
        }
        given |= {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            connection.request(method, path, body, {name: value for name, value in given.items() if value})
            reply = connection.getresponse()
            for each in reply.headers.get_all("Set-Cookie") or ():
                name, _, value = each.partition(";")[0].partition("=")
                self.cookies[name] = value
            return reply.status, reply.read().decode("utf-8", errors="replace")
        finally:
            connection.close()

    def send(self, files: list[tuple[str, bytes]], n_tries: int = 60) -> tuple[int, str]:
        """Upload files under these names; who is told to wait tries again."""
        kind, body = form(files)
        for n_tried in range(n_tries):
            status, said = self.ask("POST", "/upload", body, Content_Type=kind)
            if status != 503 or n_tried + 1 == n_tries:
                break
            time.sleep(0.5)
        return status, said

    def settled(self) -> dict[str, Any]:
        """What is told of the visitor's rides once nothing is under way any more."""
        while (told := json.loads(self.ask("GET", "/tray")[1]))["pending"]:
            time.sleep(0.1)
        return dict(told)

    def log_in(self, password: str = SECRET, **headers: str) -> int:
        """The status of the login's reply."""
        _, page = self.ask("GET", "/login")
        token = re.search(r'name="token" value="([^"]+)"', page)
        if token is None:
            return 0
        body = f"password={password.replace(' ', '+')}&token={token[1]}".encode()
        kind = "application/x-www-form-urlencoded"
        return self.ask("POST", "/login", body, Content_Type=kind, **headers)[0]


class Page(Visitor):
    """The program, in a folder for temporary files of its own, and the first visitor of it."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.temporary = folder / "tmp"
        self.temporary.mkdir(exist_ok=True)
        self.program = subprocess.Popen(
            [sys.executable, ROOT / "app.py", "--port", "0", *options],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            env={**os.environ, "TMPDIR": str(self.temporary)},
        )
        assert self.program.stdout is not None
        line = self.program.stdout.readline()
        super().__init__(int(line.strip().rstrip("/").rpartition(":")[2]))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_how: object) -> None:
        self.program.kill()
        self.program.wait()
        if self.program.stdout is not None:
            self.program.stdout.close()

    def visitor(self, address: str = "") -> Visitor:
        """Another visitor."""
        return Visitor(self.port, address)

    def files(self) -> set[str]:
        """What lies in the folder for temporary files."""
        found = (Path(folder, name) for folder, _, names in os.walk(self.temporary) for name in names if name != LOCK)
        return {str(path.relative_to(self.temporary)) for path in found if path.is_file()}

    def size_mb(self) -> float:
        """Memory of the server alone, without what measures beside it."""
        return float(psutil.Process(self.program.pid).memory_info().rss / 1e6)


def form(files: list[tuple[str, bytes]]) -> tuple[str, bytes]:
    """A form with files: its type and its body, names as they are given."""
    mark = secrets.token_hex(12).encode()
    parts = [
        b'--%s\r\nContent-Disposition: form-data; name="files"; filename="%s"\r\n\r\n%s\r\n'
        % (mark, name.encode(), content)
        for name, content in files
    ]
    return f"multipart/form-data; boundary={mark.decode()}", b"".join(parts) + b"--%s--\r\n" % mark


def zipped(members: dict[str, bytes]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return target.getvalue()
