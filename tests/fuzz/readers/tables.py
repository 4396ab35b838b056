"""Small files of settings by chance: bike files, column maps, manifests and names of hills, sound or not."""

from random import Random

import numpy as np

from tests.fuzz.others import LINES, VALUES, bike_by_chance

QUANTITIES = (
    "battery current",
    "battery voltage",
    "speed",
    "time",
    "distance",
    "altitude",
    "note",
    "",
    "Strom",
    "cell voltage 7",
)
UNITS = ("A", "mA", "V", "km/h", "m/s", "s", "ms", "m", "km", "%", "quux", "")
LOG_KEYS = (
    ("delimiter", (",", ";", "\t", "|", ":", "")),
    ("decimal", (".", ",", ";")),
    (
        "encoding",
        (
            "utf-8",
            "utf-16",
            "latin-1",
            "cp1252",
            "utf-7",
            "utf-32",
            "punycode",
            "hex",
            "x",
            "utf-8-sig",
            "shift_jis",
            "ascii",
        ),
    ),
    ("time_zone", ("Europe/Berlin", "UTC", "America/New_York", "../x", "Etc/GMT+12", "x" * 70)),
    ("date_order", ("day-month-year", "month-day-year", "year-month-day", "dmy")),
)
PATHS = ("a.csv", "b.gpx", "monday/a.csv", "../x.csv", "/etc/x", "", "a\\b.csv", "\u202e.csv", "a.csv ", "c" * 300)
TEXTS = ("to work", "", "\u001b[31m", "x" * 250, "Ünï", "'", '"', "\\", "\n", "\u202e", "\U0001f6b2")
ROADS = ("3f2a91c0", "a.b", "a b", "'", "\u202e", "0", "x" * 300, "ä", "")


def _text(words: str) -> str:
    """A basic string of TOML."""
    plain = "".join(f"\\u{ord(letter):04x}" if ord(letter) < 32 or letter in '"\\' else letter for letter in words)
    return f'"{plain}"'


def _odd(rng: Random, value: str) -> str:
    return rng.choice(VALUES) if rng.random() < 0.08 else value


def _damaged(rng: Random, lines: list[str]) -> bytes:
    for _ in range(rng.choice((0, 0, 0, 1, 2))):
        what, at = rng.randrange(4), rng.randrange(len(lines) + 1)
        if what == 0:
            lines.insert(at, rng.choice(LINES))
        elif what == 1 and lines:
            lines.insert(at, rng.choice(lines))
        elif what == 2 and lines:
            del lines[at - 1]
        elif lines:
            line = lines[at - 1]
            cut = rng.randrange(len(line) + 1)
            lines[at - 1] = line[:cut] + rng.choice(("", "#", "=", '"', "[", "]", "\t", "\x00", "é")) + line[cut:]
    end = rng.choice(("\n", "\n", "\n", "\r\n", "\r"))
    content = (end.join(lines) + end).encode("utf-8", "replace")
    return (b"\xef\xbb\xbf" if rng.random() < 0.05 else b"") + content


def bike(rng: Random) -> bytes:
    """A bike file of few keys."""
    content = bike_by_chance(np.random.default_rng(rng.getrandbits(32)))
    lines = content.decode("utf-8", "replace").split("\n")
    keep = rng.choice((3, 8, 20, 60))
    return _damaged(rng, lines[:keep]) if len(lines) > keep else content


def column_map(rng: Random, headers: list[str]) -> bytes:
    """A column map, of columns of these headers more often than not."""
    lines: list[str] = []
    if rng.random() < 0.5:
        lines.append("[log]")
        for key, values in rng.sample(LOG_KEYS, rng.randrange(3)):
            lines.append(
                f"{key} = {_odd(rng, _text(rng.choice(values[:3]) if rng.random() < 0.7 else rng.choice(values)))}"
            )
        more = (
            "header_line = 1",
            "header_line = 2",
            "header_line = 900",
            "signed = true",
            "signed = false",
            "step_s = 1.0",
            "step_s = 0",
        )
        lines += rng.sample(more, rng.choice((0, 0, 1, 2)))
    for _ in range(rng.randrange(5)):
        lines.append("[[column]]")
        header = rng.choice(headers) if headers and rng.random() < 0.85 else rng.choice(TEXTS)
        lines.append(f"header = {_odd(rng, _text(header))}")
        entry = [
            f"quantity = {_text(rng.choice(QUANTITIES[:6]) if rng.random() < 0.8 else rng.choice(QUANTITIES))}",
            f"unit = {_text(rng.choice(UNITS))}",
            f"factor = {_odd(rng, rng.choice(('1', '0.001', '1e-300', '1e9', '3.6', '-1')))}",
            f"sign = {_odd(rng, rng.choice(('1', '-1')))}",
            f"use = {_odd(rng, rng.choice(('true', 'false')))}",
        ]
        lines += rng.sample(entry, rng.randrange(len(entry) + 1))
    return _damaged(rng, lines)


def manifest(rng: Random) -> bytes:
    """Which files are one ride."""
    lines: list[str] = []
    for _ in range(rng.randrange(4)):
        lines.append(rng.choice(("[[ride]]", "[[ride]]", "[[ride]]", "[ride]", "[[ride.x]]")))
        paths = [_text(rng.choice(PATHS)) for _ in range(rng.randrange(4))]
        lines.append(f"files = {_odd(rng, '[' + ', '.join(paths) + ']')}")
        keys = [key for key in ("name", "group") if rng.random() < 0.5]
        lines += [f"{key} = {_odd(rng, _text(rng.choice(TEXTS)))}" for key in keys]
    return _damaged(rng, lines)


def hill_names(rng: Random) -> bytes:
    """What hills are called, in the forms that the format has for it."""
    form, lines = rng.randrange(5), []
    names = [(_text(rng.choice(ROADS)), _odd(rng, _text(rng.choice(TEXTS)))) for _ in range(rng.randrange(5))]
    if form == 0:
        lines = ["hill = {" + ", ".join(f"{road} = {name}" for road, name in names) + "}"]
    elif form == 1:
        lines = [f"hill.{road} = {name}" for road, name in names]
    else:
        lines = ["[hill]", *(f"{road} = {name}" for road, name in names)]
        lines = lines if form > 2 else ["# mine", *(f"{line}  # x" for line in lines)]
    return _damaged(rng, lines)
