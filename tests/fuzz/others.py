"""Archives, bike files, column maps and raw bytes by chance."""

import bz2
import gzip
import zipfile
import zlib
from io import BytesIO

import numpy as np

from ridelog.settings.bike import Bike

NAMES = (
    "ride.csv",
    "../../etc/x.csv",
    "a/b.gpx",
    "\x1b[31m.csv",
    ".hidden",
    "folder/",
    "readme.txt",
    "x" * 200 + ".csv",
    "a.toml",
    "",
)
VALUES = (
    "0",
    "-0.0",
    "-1",
    "1e400",
    "nan",
    "inf",
    "9" * 4000,
    "0x" + "f" * 300,
    '""',
    '"x"',
    '"\\u001b[31m"',
    "true",
    "[]",
    "[1, 2]",
    "{}",
    "{a = 1}",
    "2026-05-04",
    "2026-05-04T08:00:00Z",
    "'''x'''",
    "1_000",
    "[" * 600,
    '"direct-drive"',
    '"mid-drive"',
    '"allowed"',
    "1.5",
    "100",
)
LINES = (
    "[bike]",
    "[[bike]]",
    "[a.b.c]",
    "bike = 1",
    "x" + ".x" * 300 + " = 1",
    "[log]",
    "[[column]]",
    "# x",
    "=",
    "\x00",
    '"',
    "[pack",
    "pack.x = 1",
)
MAP_KEYS = (
    'header = "battery current [A]"',
    'header = "speed"',
    "header = 5",
    'quantity = "battery current"',
    'quantity = "speed"',
    'unit = "A"',
    'unit = "km/h"',
    "sign = -1",
    "sign = 2",
    "factor = 0",
    "factor = 1e-320",
    "factor = 10",
    "signed = true",
    'time_zone = "Europe/Berlin"',
    'time_zone = "../x"',
    'encoding = "punycode"',
    'encoding = "utf-16"',
    'encoding = "idna"',
    'delimiter = ""',
    'delimiter = ";"',
    "header_line = 0",
    "header_line = 3",
    'decimal = ","',
    'date_order = "dmy"',
    "unsigned = true",
    'quantity = "time"',
    'quantity = "cell voltage 7"',
    'quantity = ""',
)


def packed_by_chance(rng: np.random.Generator, content: bytes) -> bytes:
    """A log wrapped once or twice, soundly or not."""
    for _ in range(int(rng.choice([1, 1, 1, 2]))):
        content = _wrapped(rng, content)
    for _ in range(int(rng.choice([0, 0, 1, 3]))):
        content = bytes_damaged(rng, content)
    return content


def _wrapped(rng: np.random.Generator, content: bytes) -> bytes:
    what = int(rng.integers(7))
    if what == 0:
        return gzip.compress(content, mtime=0)
    if what == 1:
        return gzip.compress(content[: len(content) // 2], mtime=0) + gzip.compress(
            content[len(content) // 2 :], mtime=0
        )
    if what == 2:
        return gzip.compress(content, mtime=0)[:-4] + b"\xff\xff\xff\x7f"
    if what == 3:
        return bz2.compress(content) if rng.random() < 0.3 else zlib.compress(content)
    target = BytesIO()
    methods = [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2]
    with zipfile.ZipFile(target, "w") as archive:
        for index in range(int(rng.choice([0, 1, 1, 2, 5, 250], p=[0.05, 0.4, 0.2, 0.2, 0.1, 0.05]))):
            info = zipfile.ZipInfo(f"{index}{rng.choice(NAMES)}" if index else str(rng.choice(NAMES)) or "a.csv")
            info.compress_type = methods[int(rng.integers(4))]
            archive.writestr(info, content if index < 2 else b"x,y\n1,2\n")
    wrapped = bytearray(target.getvalue())
    if what == 6 and len(wrapped) > 40:  # flags, sizes and offsets of the local or the central header
        for _ in range(int(rng.integers(1, 4))):
            at = int(rng.choice([6, 8, 14, 18, 22, 26, len(wrapped) - 22 + 8, len(wrapped) - 22 + 16]))
            wrapped[at] = int(rng.integers(256))
    return bytes(wrapped)


def bytes_damaged(rng: np.random.Generator, content: bytes) -> bytes:
    """Bytes turned over, put in, taken out, doubled or cut off."""
    if not content:
        return bytes(rng.integers(0, 256, 40, dtype=np.uint8))
    at = int(rng.integers(len(content)))
    end = min(len(content), at + int(rng.choice([1, 2, 4, 32, 500])))
    what = int(rng.integers(6))
    if what == 0:
        return content[:at] + bytes([content[at] ^ (1 << int(rng.integers(8)))]) + content[at + 1 :]
    if what == 1:
        return content[:at] + bytes(rng.integers(0, 256, end - at, dtype=np.uint8)) + content[at:]
    if what == 2:
        return content[:at] + content[end:]
    if what == 3:
        return content[:end] + content[at:end] * int(rng.choice([1, 10, 300])) + content[end:]
    if what == 4:
        return content[:at]
    return content[:at] + bytes([int(rng.choice([0, 9, 10, 13, 34, 44, 255]))]) * (end - at) + content[end:]


def bike_by_chance(rng: np.random.Generator) -> bytes:
    """A bike file: keys of all sections with values that fit or do not, and lines that are no TOML."""
    lines: list[str] = []
    sections = list(Bike.model_fields)
    for section in rng.choice(sections, size=int(rng.integers(1, len(sections) + 1)), replace=bool(rng.random() < 0.1)):
        lines.append(f"[{section}]")
        keys = list(getattr(Bike.model_fields[str(section)].annotation, "model_fields", {}))
        for key in rng.choice(keys, size=int(rng.integers(0, len(keys) + 1)), replace=bool(rng.random() < 0.05)):
            value = str(rng.choice(VALUES)) if rng.random() < 0.2 else f"{10 ** rng.uniform(-2, 2.5):.3g}"
            lines.append(f"{key} = {value}")
    return _with_odd_lines(rng, lines)


def map_by_chance(rng: np.random.Generator) -> bytes:
    """A column map, sound or not."""
    lines: list[str] = []
    for _ in range(int(rng.integers(0, 4))):
        lines.append(str(rng.choice(["[log]", "[[column]]", "[[column]]", "[column]"])))
        lines += [str(key) for key in rng.choice(MAP_KEYS, size=int(rng.integers(0, 6)), replace=False)]
    return _with_odd_lines(rng, lines)


def _with_odd_lines(rng: np.random.Generator, lines: list[str]) -> bytes:
    for _ in range(int(rng.choice([0, 0, 0, 1, 2]))):
        lines.insert(int(rng.integers(len(lines) + 1)), str(rng.choice(LINES)))
    content = ("\n".join(lines) + "\n").encode()
    return bytes_damaged(rng, content) if rng.random() < 0.15 else content
