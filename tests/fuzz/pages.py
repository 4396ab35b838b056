"""Requests by chance to the pages of many rides and of what is asked for: addresses, filters, forms, files, callbacks.

What only the running page knows, such as the token of a form or the key of a ride, stands as a word between two "@" and
is put in when the request is sent (`tests/fuzz/world.py`), so that an input stays the same each time.
"""

import json
from typing import Any
from urllib.parse import quote_from_bytes

import numpy as np

from ridelog.web import ids
from tests.fuzz.visits import VALUES, called, own_call

FORM_TYPE = "application/x-www-form-urlencoded"
MARKUP = (b'"><fuzz-x>', b"' onfuzz='1", b'" onfuzz="1', b"<script>fuzz</script>", b"</title><fuzz-x>", b"&lt;fuzz&gt;")
ABSURD = (
    b"", b" ", b"0", b"-1", b"1e308", b"1e-308", b"nan", b"-nan", b"inf", b"-Infinity", b"9" * 400, b"1,000,000",
    b"1.000,5",
    b"1_000", b"0x10", b"\xd9\xa1\xd9\xa2", b"\xff\xfe", b"\xed\xa0\x80", b"\x00", b"\r\nSet-Cookie: a=b",
    b"\xe2\x80\xae",
    b"../../etc/passwd", b"%", b"%zz", b"x" * 5000, b"\xf0\x9f\x9a\xb2", b"a&b=c", b"{}", b"null", b"*", b"__class__",
)  # fmt: skip
DAYS = (
    b"0000-00-00", b"0001-01-01", b"9999-12-31", b"9999-99-99", b"2026-02-30", b"-001-01-01", b"2026-03-28",
    b"2026-W01-1",
    b"1677-09-21", b"2262-04-12", b"10000-01-01", b"20260328", b"2026-03-28T00:00:00Z", b" 2026-03-28", b"1969-12-31",
)  # fmt: skip
KNOWN = (
    b"Avocet",
    b"Ruff <i>",
    b"weak",
    b"strong",
    b"@KEY@",
    b"@RIDE@",
    b"A",
    b"B",
    b"1",
    b"0.5",
    b"0,5",
    b"yes",
    b"us",
    b"A4",
)
FILTERS = ("bike", "route", "group", "since", "until", "page", "x", "")
CHOICES = (
    *(f"{what}-{letter}" for what in ("name", "bike", "group", "from", "to") for letter in "ABCD"),
    "ride-@RIDE@", "ride-x", "difference", "units", "numbers", "paper", "places", "token", "do", "sample", "",
)  # fmt: skip
TOKENS = ("@FORM@", "@FORM@", "@FORM@", "@FORM@", "@OTHERS@", "", "x", "@KEY@")
ORIGINS = (*["http://localhost"] * 12, "http://evil.example", "null", "http://[", None)
NAMES = (
    "@RIDE@",
    "@KEY@",
    "@HILL@",
    "@COMPARE@",
    "@PLAN@",
    "@REPORT@",
    "x",
    "0" * 64,
    "9" * 300,
    "%00",
    "%ff",
    "..",
    "-up",
)
MADE = (
    "comparison.json", "comparison.html", "comparison.html?save", "differences.csv", "rides.csv", "plan.json",
    "plan.html",
    "report.html", "report.zip", "../order.json", "%2e%2e%2fx", "..", "given", "x" * 300, "%00.csv", ".json",
)  # fmt: skip
PLACES = (
    "/rides", "/rides", "/rides.csv", "/rides.json", "/rides.parquet", "/rides.exe", "/fleet", "/fleet.csv",
    "/fleet.json",
    "/fleet.parquet", "/help", "/compare", "/compare", "/plan", "/plan", "/hill/{}", "/hill/{}.csv", "/hill/{}.json",
    "/hill/{}.parquet", "/hill/{}", "/hill/", "/rides/keep/{}", "/rides/keep/{}", "/ride/{}", "/ride/{}/report",
    "/ride/{}/report", "/ride/{}/answer.json", "/ride/{}/samples.csv", "/ride/{}/columns/0.toml", "/compare/{}",
    "/plan/{}", "/report/{}", "/compare/{}/{made}", "/plan/{}/{made}", "/report/{}/{made}", "/ride/{}/bike.toml",
    "/sample/{}",
)  # fmt: skip
SENT = (
    "/compare", "/compare", "/plan", "/plan", "/hill/{}", "/hill/{}", "/rides/keep/{}", "/rides/keep/{}",
    "/ride/{}/report", "/compare/{}", "/plan/{}", "/report/{}",
)  # fmt: skip
OWN_NAME = {"/hill": "@HILL@", "/rides": "@RIDE@", "/compare": "@COMPARE@", "/plan": "@PLAN@", "/report": "@REPORT@"}
GOOD: dict[str, tuple[Any, ...]] = {
    ids.RIDE: ({"token": "@RIDE@"}, {"token": "@RIDE@"}, {"token": "@KEY@"}, {"token": "x"}, {"token": "\ud800"}),
    ids.UNITS: ("metric", "imperial", "<fuzz-x>", "\x00"),
    ids.ADDRESS: (
        "/ride/@RIDE@",
        "/ride/@KEY@",
        "/",
        "/sample/x",
        "/ride/" + "9" * 400,
        "//evil.example",
        "/ride/\ud800",
    ),
    ids.TRAY: ({}, {"asked": 1}, {"asked": -1e11}, {"asked": 0.5}),
    ids.VIEW: ({}, {"dark": True}, {"dark": "<fuzz-x>"}, {"width": -1}),
    ids.LANES: ([], ["speed"], ["x"] * 21),
    ids.WRITTEN: ({}, {"units": "imperial", "clock": "log"}, {"numbers": "<fuzz-x>"}),
    ids.WINDOW: tuple(
        {"token": "@RIDE@", "version": 1, "ends": ends} for ends in ([0, 60], [-1e11, 1e11], [5, 5], [60, 0])
    ),
    ids.EVENT_ORDER: ("time", "returned", "missed"),
    ids.FIELD: (
        "85",
        "85,5",
        "1,000",
        "1.000,5",
        "-1",
        "nan",
        "1e400",
        "9" * 400,
        "<fuzz-x>",
        "",
        "\ud800",
        '"\n[x]',
        "٣",
    ),
    ids.PRESSED[ids.ACT]: tuple(
        {"type": kind, "to": to, "value": value, "n": 1}
        for kind, to, value in (
            (ids.ACT, "undo:", 1),
            (ids.ACT, "again:@RIDE@", 2),
            (ids.ACT, "remove:x", 1),
            (ids.ACT, "<fuzz-x>", 1e11),
            (ids.PUT, "x", "1"),
            (ids.PUT, "1:2", "x"),
            (ids.PUT, "\ud800", "\ud800"),
        )
    ),
    ids.PRESSED[ids.CORRECT]: tuple({"type": ids.CORRECT, "to": to, "value": 1} for to in ("0", "x-1", "\ud800")),
    ids.PRESSED[ids.COAST]: tuple({"type": ids.COAST, "to": to, "value": 1} for to in ("find", "fit", "take", "x")),
    ids.PRESSED[ids.LEARN]: tuple({"type": ids.LEARN, "to": to, "value": 1} for to in ("find", "take", "x")),
    ids.CELL: ("time [s]", "", "nan", "<fuzz-x>", "\ud800", "\x00"),
    ids.STRETCH: (True, False),
    ids.COAST_FROM: ("@RIDE@", "@KEY@", "x", "\ud800"),
    ids.LEARN_FROM: ("Avocet", "Ruff <i>", "nobody", "<fuzz-x>", "\ud800"),
}
PARTS: dict[str, tuple[str, ...]] = {
    ids.COAST_FROM: ("",),
    ids.LEARN_FROM: ("",),
    ids.STRETCH: ("0", "1", "99999", "²", "٣", "-1"), ids.OFFER: ("coasting",), ids.LEARNED: ("form",),
    ids.FIELD: ("bike.name", "bike.total_mass_kg", "road.crr", "road.cda_m2", "battery.capacity_ah"),
    ids.SHARPER: ("form", "headline"),
}  # fmt: skip


def page_by_chance(rng: np.random.Generator) -> dict[str, Any]:
    """What `werkzeug`'s test client takes to make one request, once its words between "@" are put in."""
    if rng.random() < 0.35:
        return called(_call(rng))
    sends = bool(rng.random() < 0.45)
    place = str(rng.choice(SENT if sends and rng.random() < 0.95 else PLACES))
    own = (
        OWN_NAME.get(f"/{place.split('/')[1].split('.')[0]}", "@RIDE@")
        if rng.random() < 0.7
        else str(rng.choice(NAMES))
    )
    path = place.replace("{}", own).replace("{made}", str(rng.choice(MADE)))
    keys = FILTERS if path.startswith(("/rides", "/fleet", "/hill")) else CHOICES
    if not sends:
        query = _pairs(rng, keys).decode("ascii") if rng.random() < 0.8 else ""
        joint = "&" if "?" in path else "?"
        return {"path": f"{path}{joint}{query}" if query else path, "method": "HEAD" if rng.random() < 0.05 else "GET"}
    return {"path": path, "method": "POST", **_form(rng, path, keys)}


def _form(rng: np.random.Generator, path: str, keys: tuple[str, ...]) -> dict[str, Any]:
    """The body and the headers of a form that is sent."""
    if path.startswith("/rides"):
        keys = ("bike", "name", "name")
    elif path.startswith("/hill"):
        keys = ("name", "x")
    pairs = [_pairs(rng, keys), b"token=" + str(rng.choice(TOKENS)).encode()]
    if path.startswith("/rides") and rng.random() < 0.5:  # of fields that stand there twice the first counts
        pairs.insert(0, (b"bike=Avocet&name=", b"name=x&bike=")[int(rng.integers(2))] + _value(rng))
    if path in ("/compare", "/plan") and rng.random() < 0.6:  # such as somebody sends
        pairs = [
            b"bike-A=*&group-A=weak&bike-B=*&group-B=strong&difference=1",
            *(pairs if rng.random() < 0.7 else pairs[1:]),
        ]
    if rng.random() < 0.2:
        pairs.append(f"do={rng.choice(['cancel', 'again', '<fuzz-x>'])}".encode())
    body, kind = b"&".join(each for each in pairs if each), FORM_TYPE
    if rng.random() < 0.1:
        parts = [pair.partition(b"=") for pair in body.split(b"&")]
        body = b"".join(
            b'--x\r\nContent-Disposition: form-data; name="' + name + b'"\r\n\r\n' + value + b"\r\n"
            for name, _, value in parts
        )
        body, kind = body + (b"--x--\r\n" if rng.random() < 0.7 else b""), "multipart/form-data; boundary=x"
    elif rng.random() < 0.05:
        body = bytes(rng.integers(0, 256, size=int(rng.integers(1, 400))).astype(np.uint8))
    elif rng.random() < 0.03:
        body = b"&".join(b"name-A=%d" % each for each in range(30_000))
    origin = ORIGINS[int(rng.integers(len(ORIGINS)))]
    headers = [("Content-Type", kind), *([("Origin", origin)] if origin is not None else [])]
    return {"data": body, "headers": headers}


def _pairs(rng: np.random.Generator, keys: tuple[str, ...]) -> bytes:
    """Some fields and their values, as an address or a form has them; the same key may stand there twice."""
    return b"&".join(
        str(rng.choice(keys)).encode() + (b"=" if rng.random() < 0.97 else b"") + _value(rng)
        for _ in range(int(rng.integers(0, 6)))
    )


def _value(rng: np.random.Generator) -> bytes:
    kinds = (KNOWN, DAYS, ABSURD, MARKUP)
    some = kinds[int(rng.choice(len(kinds), p=[0.3, 0.25, 0.25, 0.2]))]
    value = some[int(rng.integers(len(some)))]
    if rng.random() < 0.03:
        value *= int(rng.integers(2, 50))
    return quote_from_bytes(value, safe="@*").encode()


def _call(rng: np.random.Generator) -> bytes:
    """A call of one of the page's callbacks, most of it such as a browser sends it."""

    def value(name: str) -> Any:
        good = GOOD.get(name, (1, 2, 1e11, 0))
        if rng.random() < 0.93:
            return good[int(rng.integers(len(good)))]
        return VALUES[int(rng.integers(len(VALUES)))]

    def parts(kind: str) -> list[str]:
        known = PARTS.get(kind, ("x", "1:2", "\ud800", "<fuzz-x>"))
        return [str(each) for each in rng.choice(known, size=int(rng.integers(1, 4)))]

    return json.dumps(own_call(rng, value, parts)).encode()
