"""A small input of one reader by its number: to be looked at, read and told, never measured."""

import bz2
import gzip
import lzma
import zipfile
import zlib
from io import BytesIO
from random import Random

import numpy as np

from tests.fuzz.case import Case
from tests.fuzz.logs import Table, damaged, random_table
from tests.fuzz.others import NAMES, bytes_damaged, packed_by_chance
from tests.fuzz.readers import headers, tables
from tests.fuzz.readers.fit_messages import fit_messages_by_chance
from tests.fuzz.tracks import fit_by_chance, gpx_by_chance

KINDS = ("log", "bytes", "gpx", "fit", "packed", "bike", "map", "manifest", "hills")
SHARES = (22, 13, 15, 15, 11, 8, 8, 4, 4)
ROWS = (2, 3, 5, 8, 8, 12, 12, 20, 40)


def small_case(seed: int, only: str | None = None) -> Case:
    """The small input of this number, always the same; of one kind where one is named."""
    rng = Random(seed * 2 + 1)
    kind = rng.choices(KINDS, SHARES)[0] if only is None else only
    if kind == "bike":
        return Case(seed, kind, bike=tables.bike(rng))
    if kind == "map":
        table = _table(rng)
        log = (("ride.csv", table.content()),) if rng.random() < 0.6 else ()
        return Case(seed, kind, log, columns=tables.column_map(rng, table.headers))
    if kind == "manifest":
        return Case(seed, kind, (("rides.toml", tables.manifest(rng)),))
    if kind == "hills":
        return Case(seed, kind, (("hills.toml", tables.hill_names(rng)),))
    if kind == "packed":
        return Case(seed, kind, ((rng.choice(("r.zip", "r.gz", "r.csv.gz", "r")), _packed(rng)),))
    content = _content(rng, rng.choice(("log", "gpx", "fit")) if kind == "bytes" else kind)
    if kind == "bytes":
        for _ in range(rng.randrange(1, 6)):
            content = bytes_damaged(_numbers(rng), content)
    return Case(seed, kind, ((rng.choice(_ENDINGS[kind]), content),))


_ENDINGS = {
    "log": ("ride.csv", "ride.csv", "ride.csv", "ride.txt", "ride.log", "ride", "ride.gpx"),
    "gpx": ("t.gpx", "t.gpx", "t.gpx", "t.xml", "t.csv"),
    "fit": ("t.fit", "t.bin"),
    "bytes": ("a.csv", "a.gpx", "a.fit", "a"),
}


def _numbers(rng: Random) -> np.random.Generator:
    return np.random.default_rng(rng.getrandbits(48))


def _content(rng: Random, kind: str) -> bytes:
    if kind == "gpx":
        return gpx_by_chance(_numbers(rng), rng.choice(ROWS))
    if kind == "fit":
        if rng.random() < 0.6:
            return _fit_cut(rng, fit_messages_by_chance(rng))
        return fit_by_chance(_numbers(rng), rng.choice(ROWS[:-1]))
    return _table(rng).content()


def _fit_cut(rng: Random, content: bytes) -> bytes:
    """Sometimes two in a chain, sometimes the end missing."""
    chance = rng.random()
    if chance < 0.08:
        return content + fit_messages_by_chance(rng)
    return content[: rng.randrange(len(content))] if chance < 0.14 else content


def _table(rng: Random) -> Table:
    """A small log: heads and times of many kinds, cells damaged in up to four places."""
    numbers = _numbers(rng)
    table = random_table(numbers, rng.choice(ROWS))
    if rng.random() < 0.4:
        for place in range(1, len(table.headers)):
            if rng.random() < 0.6:
                table.headers[place] = headers.header(rng)
    if rng.random() < 0.3:
        for row, stamp in zip(table.rows, headers.stamps(rng, len(table.rows)), strict=True):
            row[0] = stamp
        table.headers[0] = rng.choice(("time", "timestamp", "date", "Datum/Uhrzeit", headers.header(rng)))
    for _ in range(rng.choice((0, 1, 1, 2, 4))):
        table = damaged(numbers, table)
    return table


def _packed(rng: Random) -> bytes:
    content = _content(rng, rng.choice(("log", "gpx", "fit")))
    if rng.random() < 0.04:
        return packed_by_chance(_numbers(rng), content)
    wrapped = _archive(rng, content)
    if rng.random() < 0.15:
        wrapped = _archive(rng, wrapped)
    for _ in range(rng.choice((0, 0, 1, 3))):
        wrapped = bytes_damaged(_numbers(rng), wrapped)
    return wrapped


def _archive(rng: Random, content: bytes) -> bytes:
    what = rng.randrange(8)
    if what == 0:
        return gzip.compress(content, 1, mtime=0)
    if what == 1:
        cut = rng.randrange(len(content) + 1)
        return gzip.compress(content[:cut], 1, mtime=0) + gzip.compress(content[cut:], 1, mtime=0)
    if what == 2:
        return rng.choice((bz2.compress, zlib.compress, lzma.compress))(content) if rng.random() < 0.5 else _bomb(rng)
    target = BytesIO()
    methods = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA)
    with zipfile.ZipFile(target, "w") as archive:
        for place in range(rng.choice((0, 1, 1, 1, 2, 3))):
            info = zipfile.ZipInfo((str(place) if place else "") + (rng.choice(NAMES) or "a.csv"))
            info.compress_type = methods[rng.randrange(3 if rng.random() < 0.9 else 5)]
            archive.writestr(
                info, content if place == 0 else rng.choice((content, b"x,y\n1,2\n", b"", content[: len(content) // 2]))
            )
        if rng.random() < 0.1:
            archive.comment = rng.choice((b"PK\x05\x06", b"x" * 300, b"\x00"))
    wrapped = bytearray(target.getvalue())
    if what == 7 and len(wrapped) > 40:  # flags, sizes and offsets of the first local header, or at the end
        for _ in range(rng.randrange(1, 4)):
            at = rng.choice((6, 8, 14, 18, 22, 26, 28, len(wrapped) - 14, len(wrapped) - 10, len(wrapped) - 6))
            wrapped[at] = rng.randrange(256)
    return bytes(wrapped)


def _bomb(rng: Random) -> bytes:
    """Much from little, within what an archive may hold at any ratio."""
    line = rng.choice((b"\x00", b"1,2\n", b"\n", b'"', b"<a>"))
    return gzip.compress(line * (rng.choice((1000, 30_000, 300_000)) // len(line)), 1, mtime=0)
