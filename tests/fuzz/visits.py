"""Requests by chance to the page: odd paths, methods, headers and bodies."""

import json
from functools import cache
from typing import Any

import numpy as np

PATHS = (
    "/",
    "/upload",
    "/upload/",
    "/_dash-layout",
    "/_dash-dependencies",
    "/_dash-update-component",
    "/column-map/x/0.toml",
    "/column-map/x/-1.toml",
    "/column-map/%00/0.toml",
    "/assets/page.css",
    "/assets/../app.py",
    "/assets/%2e%2e/app.py",
    "/_reload-hash",
    "/favicon.ico",
    "/a" * 300,
    "/column-map/" + "9" * 4000 + "/0.toml",
    "/column-map/x/" + "9" * 4000 + ".toml",
    "/_dash-component-suites/dash/x.js",
    "/%ff%fe",
    "//",
    "/waiting/x",
    "/waiting/" + "x" * 999,
)
HEADERS: tuple[tuple[str, str], ...] = (
    ("Host", "localhost"),
    ("Host", "evil.example"),
    ("Host", "localhost:80:80"),
    ("Host", "[::1]:9"),
    ("Host", ""),
    ("Origin", "http://localhost"),
    ("Origin", "null"),
    ("Sec-Fetch-Site", "cross-site"),
    ("Content-Type", "multipart/form-data"),
    ("Content-Type", "application/json"),
    ("Content-Type", "multipart/form-data; boundary=x"),
    ("Content-Length", "-1"),
    ("Content-Length", "999999999999"),
    ("Cookie", "a=" * 99),
    ("Transfer-Encoding", "chunked"),
    ("Accept-Encoding", "gzip;q=nan"),
    ("Range", "bytes=9-1"),
    ("If-Modified-Since", "x"),
    ("Host", "127.0.0.1"),
)
BODIES = (
    b"",
    b"{}",
    b"[]",
    b"null",
    b"5",
    b'"x"',
    b"\xff\xfe",
    b"{" * 3000,
    b"--x\r\n\r\n--x--",
    b"--x\r\nContent-Disposition: form-data; name=files\r\n\r\n1",
    b'--x\r\nContent-Disposition: form-data; name="files"; filename="a.csv"\r\n\r\nt,x\n1,2\r\n--x--\r\n',
    b'--x\r\nContent-Disposition: form-data; name="files"; filename="\x1b[31m/../a.csv"\r\n\r\n\r\n--x--\r\n',
    b"x" * 5000,
)
OUTPUTS = (
    "answer.children",
    "ride.data",
    "..answer.children...spoken.children...refusal.children..",
    "nobody.x",
    "",
    "..",
    "a" * 999,
)
VALUES: tuple[Any, ...] = (
    None,
    0,
    "",
    "x",
    [],
    {},
    {"token": "x"},
    {"token": None},
    {"token": [1]},
    [1, 2],
    {"dark": 1},
    "imperial",
    1e308,
    [None, None],
    "1:2",
    True,
)


def visit_by_chance(rng: np.random.Generator) -> dict[str, Any]:
    """What `werkzeug`'s test client takes to make one request."""
    headers = [HEADERS[int(index)] for index in rng.choice(len(HEADERS), size=int(rng.integers(0, 4)), replace=False)]
    request: dict[str, Any] = {
        "path": str(rng.choice(PATHS)),
        "method": str(rng.choice(["GET", "GET", "POST", "POST", "HEAD", "PUT", "DELETE", "OPTIONS", "TRACE", "X"])),
        "data": BODIES[int(rng.integers(len(BODIES)))],
        "headers": headers,
    }
    if rng.random() < 0.4:
        request.update(
            path="/_dash-update-component",
            method="POST",
            data=_callback(rng),
            headers=[("Content-Type", "application/json")],
        )
    if rng.random() < 0.3:
        request.update(
            path="/_dash-update-component",
            method="POST",
            data=_own_call(rng),
            headers=[("Content-Type", "application/json")],
        )
    return request


@cache
def _callbacks() -> list[tuple[str, dict[str, Any]]]:
    """The callbacks of the page, as its library holds them."""
    from ridelog.web import create_app

    app = create_app(None)
    app.server.test_client().get("/_dash-layout")
    return sorted(app.callback_map.items())


def _own_call(rng: np.random.Generator) -> bytes:
    """A call of one of the page's own callbacks, with values by chance and sometimes a part by chance."""
    name, callback = _callbacks()[int(rng.integers(len(_callbacks())))]

    def value() -> Any:
        return VALUES[int(rng.integers(len(VALUES)))]

    def filled(spec: dict[str, str]) -> Any:
        if not spec["id"].startswith("{"):
            return {**spec, "value": value()}
        moves = rng.choice(["in", "out", "x", "1:2"], size=int(rng.integers(0, 4)))
        return [{"id": {"to": str(to), "type": "move"}, "property": spec["property"], "value": value()} for to in moves]

    outputs = callback["output"]
    several = isinstance(outputs, list)
    named = [
        {"id": each.component_id, "property": each.component_property}
        for each in (outputs if several else [outputs])
        if not isinstance(each, str)
    ]
    body = {
        "output": name,
        "outputs": named if several else next(iter(named), None),
        "inputs": [filled(spec) for spec in callback["inputs"]],
        "state": [filled(spec) for spec in callback["state"]],
        "changedPropIds": [f"{spec['id']}.{spec['property']}" for spec in callback["inputs"] if rng.random() < 0.5],
    }
    if rng.random() < 0.3:
        body[str(rng.choice(list(body)))] = value()
    return json.dumps(body).encode()


def _callback(rng: np.random.Generator) -> bytes:
    """The body of a call of the page's own callbacks, true in form and not in what it says."""

    def value() -> Any:
        return VALUES[int(rng.integers(len(VALUES)))]

    output = str(rng.choice(OUTPUTS))
    named = [
        {"id": str(rng.choice(["ride", "view", "units", "sample", "x"])), "property": "data", "value": value()}
        for _ in range(int(rng.integers(0, 4)))
    ]
    body = {
        "output": output,
        "outputs": [
            {"id": part.split(".")[0], "property": part.split(".")[-1]} for part in output.strip(".").split("...")
        ],
        "inputs": named,
        "changedPropIds": [str(rng.choice(["ride.data", "x", ""]))],
        "state": named[:1],
    }
    for key in list(body):
        if rng.random() < 0.1:
            del body[key]
        elif rng.random() < 0.1:
            body[key] = value()
    return json.dumps(body).encode()
