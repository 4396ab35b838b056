"""Requests by chance to the page: odd paths, methods, headers and bodies."""

import json
from collections.abc import Callable
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
        request.update(called(_callback(rng)))
    if rng.random() < 0.3:
        request.update(called(_own_call(rng)))
    return request


def called(body: bytes) -> dict[str, Any]:
    """A request that calls a callback, as the page's script sends it."""
    return {
        "path": "/_dash-update-component",
        "method": "POST",
        "data": body,
        "headers": [("Content-Type", "application/json"), ("Origin", "http://localhost")],
    }


@cache
def _callbacks() -> list[tuple[str, dict[str, Any]]]:
    """The callbacks of the page, as its library holds them."""
    from ridelog.web import create_app

    app = create_app(None)
    app.server.test_client().get("/_dash-layout")
    return sorted(app.callback_map.items())


def _own_call(rng: np.random.Generator) -> bytes:
    """A call of one of the page's own callbacks, with values by chance and sometimes a part by chance."""

    def value(_name: str) -> Any:
        return VALUES[int(rng.integers(len(VALUES)))]

    def parts(_kind: str) -> list[str]:
        places = ["in", "out", "x", "1:2", "bike.total_mass_kg"]
        return [str(each) for each in rng.choice(places, size=int(rng.integers(0, 4)))]

    body = own_call(rng, value, parts)
    if rng.random() < 0.3:
        body[str(rng.choice(list(body)))] = value("")
    return json.dumps(body).encode()


def own_call(
    rng: np.random.Generator, value: Callable[[str], Any], parts: Callable[[str], list[str]]
) -> dict[str, Any]:
    """A call of one of the page's own callbacks, whole in form.

    Parameters
    ----------
    rng : chance
    value : of a component, by its name or kind
    parts : which components of one kind there are, such as fields of a form

    Returns
    -------
    Body of the call.
    """
    name, callback = _callbacks()[int(rng.integers(len(_callbacks())))]
    there: dict[str, list[str]] = {}

    def filled(spec: dict[str, str]) -> Any:
        if not spec["id"].startswith("{"):
            return {**spec, "value": value(spec["id"])}
        kind = json.loads(spec["id"])["type"]
        return [{**part, "value": value(kind)} for part in alike(kind, spec["property"])]

    def alike(kind: str, prop: str) -> list[Any]:
        places = there.setdefault(kind, parts(kind))
        return [{"id": {"to": to, "type": kind}, "property": prop} for to in places]

    def asked(part: Any) -> Any:
        named, prop = part.component_id, part.component_property
        return alike(named["type"], prop) if isinstance(named, dict) else {"id": named, "property": prop}

    outputs = callback["output"]
    several = isinstance(outputs, list)
    named = [asked(each) for each in (outputs if several else [outputs]) if not isinstance(each, str)]
    inputs = [filled(spec) for spec in callback["inputs"]]
    flat = [one for each in inputs for one in (each if isinstance(each, list) else [each])]
    return {
        "output": name,
        "outputs": named if several else next(iter(named), None),
        "inputs": inputs,
        "state": [filled(spec) for spec in callback["state"]],
        "changedPropIds": [f"{_id_text(one['id'])}.{one['property']}" for one in flat if rng.random() < 0.5],
    }


def _id_text(given: str | dict[str, str]) -> str:
    """As the page's library writes an id."""
    return given if isinstance(given, str) else json.dumps(given, separators=(",", ":"), sort_keys=True)


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
