"""A walk along the messages of a FIT file that decodes only what says when and what for it was recorded.

The published FIT protocol: a header, then definition messages, which say how long the data messages after them are,
so that most of those are stepped over. Whatever is not plain is left to the full reader.
"""

import math
import struct
from collections.abc import Iterator
from dataclasses import field

from ridelog.lazy import dataclass

_RECORD, _FIELD_DESCRIPTION = 20, 206
_TIMESTAMP = 253
UNKNOWN_TIME = 0xFFFFFFFF
_TIME_BASE, _TIME_BYTES = 0x86, 4  # of a time stamp
_NAMED_TIME = 0x10000000  # the full reader has a name for this one, and no number
# fields of a record that say where it was: number -> name, base type, scale, offset
_WHERE = {
    0: ("position_lat", 0x85, 1.0, 0.0),
    1: ("position_long", 0x85, 1.0, 0.0),
    2: ("altitude", 0x84, 5.0, 500.0),
    78: ("enhanced_altitude", 0x86, 5.0, 500.0),
}
_TEXT, _BYTES = 0x07, 0x0D  # base types that hold no number
# base types that hold one number: letter for struct and numpy, size, value for "not known"; floats have NaN for that
NUMBERS: dict[int, tuple[str, int, float]] = {
    0x00: ("B", 1, 0xFF),
    0x01: ("b", 1, 0x7F),
    0x02: ("B", 1, 0xFF),
    0x83: ("h", 2, 0x7FFF),
    0x84: ("H", 2, 0xFFFF),
    0x85: ("i", 4, 0x7FFFFFFF),
    0x86: ("I", 4, 0xFFFFFFFF),
    0x88: ("f", 4, math.nan),
    0x89: ("d", 8, math.nan),
    0x0A: ("B", 1, 0),
    0x8B: ("H", 2, 0),
    0x8C: ("I", 4, 0),
    0x8E: ("q", 8, 0x7FFFFFFFFFFFFFFF),
    0x8F: ("Q", 8, 0xFFFFFFFFFFFFFFFF),
    0x90: ("Q", 8, 0),
}


class NotPlainError(Exception):
    """The file is damaged, or uses what the walk does not know: only the full reader can say what it holds."""


@dataclass(frozen=True)
class _Part:
    """Where one number stands in a data message, and what it is called."""

    place: int
    letter: str
    unknown: float
    scale: float = 1.0
    offset: float = 0.0
    native: str | None = None
    developer: tuple[str, str] | None = None


@dataclass(frozen=True)
class _Definition:
    """How the data messages of one local number are laid out."""

    message: int
    endian: str
    size: int
    time_at: int | None
    parts: tuple[_Part, ...] = ()
    strings: tuple[tuple[int, int, int], ...] = ()  # of a field description: number, place, size


@dataclass
class Walk:
    """What was met: seconds since the FIT epoch of each record that has a time, and its few values [s]."""

    times: list[int] = field(default_factory=list)
    samples: list[dict[str, float]] = field(default_factory=list)
    extras: list[dict[tuple[str, str], float]] = field(default_factory=list)


@dataclass
class _State:
    """What one FIT file has defined so far: layouts by local number, developer fields by index and number."""

    layouts: dict[int, _Definition] = field(default_factory=dict)
    described: dict[tuple[int, int], tuple[int, str, str]] = field(default_factory=dict)


def walk(content: bytes) -> Walk:
    """Walk along all messages of a file, or of several that were put together.

    Raises
    ------
    NotPlainError : see there
    """
    met = Walk()
    try:
        for start, end in _bodies(content):
            _walk_body(content, start, end, met)
    except (struct.error, LookupError, ValueError) as error:  # cut off, or numbers that were never defined
        raise NotPlainError from error
    return met


def _bodies(content: bytes) -> Iterator[tuple[int, int]]:
    """First and last byte of the messages of each file, its header and check sum taken off."""
    place = 0
    while place < len(content):
        header_size, n_bytes = content[place], struct.unpack_from("<I", content, place + 4)[0]
        if content[place + 8 : place + 12] != b".FIT" or header_size not in (12, 14) or not n_bytes:
            raise NotPlainError
        end = place + header_size + n_bytes
        if end + 2 > len(content):
            raise NotPlainError
        yield place + header_size, end
        place = end + 2


def _walk_body(content: bytes, place: int, end: int, met: Walk) -> None:
    state = _State()
    while place < end:
        head = content[place]
        if head & 0x80:  # a time stamp cut down to five bits
            raise NotPlainError
        if head & 0x40:
            place = _define(content, place, state)
            continue
        layout = state.layouts[head & 0x0F]
        if layout.message == _RECORD:
            _take(content, place + 1, layout, met)
        elif layout.message == _FIELD_DESCRIPTION:
            _describe(content, place + 1, layout, state)
        place += 1 + layout.size
    if place != end:
        raise NotPlainError


def _define(content: bytes, place: int, state: _State) -> int:
    """Take in a definition message; returns the place after it."""
    head = content[place]
    endian = ">" if content[place + 2] else "<"
    message, n_fields = struct.unpack_from(f"{endian}HB", content, place + 3)
    place, size = place + 6, 0
    time_at, parts, strings = None, [], []
    met: set[tuple[int, ...]] = set()
    for _ in range(n_fields):
        number, n_bytes, base = content[place : place + 3]
        _refuse_unusual((number,), n_bytes, met)
        if message == _RECORD and number == _TIMESTAMP:
            if (base, n_bytes) != (_TIME_BASE, _TIME_BYTES):
                raise NotPlainError
            time_at = size
        if message == _RECORD and number in _WHERE:
            name, usual, scale, offset = _WHERE[number]
            letter, width, unknown = NUMBERS[usual]
            if (base, n_bytes) != (usual, width):
                raise NotPlainError
            parts.append(_Part(size, letter, unknown, scale, offset, native=name))
        if message == _FIELD_DESCRIPTION:
            strings.append((number, size, n_bytes))
        place, size = place + 3, size + n_bytes
    if head & 0x20:
        n_developer, place = content[place], place + 1
        for _ in range(n_developer):
            number, n_bytes, index = content[place : place + 3]
            _refuse_unusual((index, number), n_bytes, met)
            part = _developer_part(state.described[index, number], size, n_bytes)
            parts += [part] if part else []
            place, size = place + 3, size + n_bytes
    state.layouts[head & 0x0F] = _Definition(message, endian, size, time_at, tuple(parts), tuple(strings))
    return place


def _refuse_unusual(which: tuple[int, ...], n_bytes: int, met: set[tuple[int, ...]]) -> None:
    """Raise at a field that stands in a definition twice, or holds nothing: readers differ on what follows."""
    if which in met or not n_bytes:
        raise NotPlainError
    met.add(which)


def _developer_part(described: tuple[int, str, str], place: int, n_bytes: int) -> _Part | None:
    """Where a developer field stands; ``None`` for one that is no single number, as the full reader has it."""
    base, name, units = described
    if base in (_TEXT, _BYTES):
        return None
    letter, width, unknown = NUMBERS[base]
    if n_bytes % width:
        raise NotPlainError  # the full reader then steps over fewer bytes than the definition says
    if n_bytes != width:
        return None
    return _Part(place, letter, unknown, developer=(name, units))


def _describe(content: bytes, place: int, layout: _Definition, state: _State) -> None:
    """Take in what a developer field is called and measured in."""
    held = {number: content[place + at : place + at + size] for number, at, size in layout.strings}
    name, units = (held.get(number, b"").split(b"\0")[0].decode("utf-8") for number in (3, 8))
    state.described[held[0][0], held[1][0]] = (held[2][0], name, units)


def _take(content: bytes, place: int, layout: _Definition, met: Walk) -> None:
    """Take in one record; without a time it is none."""
    if layout.time_at is None:
        return
    time = struct.unpack_from(f"{layout.endian}I", content, place + layout.time_at)[0]
    if time == UNKNOWN_TIME:
        return
    if time == _NAMED_TIME:
        raise NotPlainError
    sample: dict[str, float] = {}
    extra: dict[tuple[str, str], float] = {}
    for part in layout.parts:
        value = struct.unpack_from(f"{layout.endian}{part.letter}", content, place + part.place)[0]
        if value == part.unknown or value != value:
            continue
        if part.native:
            sample[part.native] = value / part.scale - part.offset
        elif part.developer:
            extra[part.developer] = value
    met.times.append(time)
    met.samples.append(sample)
    met.extras.append(extra)
