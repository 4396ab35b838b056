"""The record messages of a plain FIT file as columns: runs of equal messages are read as arrays, not one by one.

The published FIT protocol: definition messages say how long the data messages after them are. A walk along the file
takes the record messages out; the rest, definitions included, is a small FIT file that fitdecode reads as ever, and
fitdecode's own definitions then say how the records are laid out. Whatever is not plain is left to the full reader.
"""

from __future__ import annotations

import math
import struct
from dataclasses import field
from typing import Any

import numpy as np

from ridelog.lazy import dataclass

UNKNOWN_TIME = 0xFFFFFFFF
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
_RECORD, _HEART_BEATS = 20, 132  # times of heart beats build on the records before them
FIRST_WALL_TIME = 0x10000000  # smaller stamps count seconds since the device was switched on
_AT_MOST_16_BITS = frozenset([0x02, 0x0A, 0x84, 0x8B])  # a component of 16 bits is the whole of one of these

Developer = tuple[str, str]  # name and units


class NotPlainError(Exception):
    """The file is damaged, or uses what the walk does not know: only the full reader can say what it holds."""


@dataclass(frozen=True)
class _Run:
    """Records of one definition that follow each other: where, how many, and as which rows."""

    place: int
    n: int
    row: int


@dataclass
class Records:
    """The records of a file, filled as its definitions become known.

    Attributes
    ----------
    content : the whole file
    rest : the same file without its records
    runs : of each definition message, in the order of the file; records of the message only
    times : seconds since the FIT epoch, shape (n,); 0xFFFFFFFF where not known [s]
    natives : values of the fields of the profile by name, NaN where not known, shape (n,) each
    extras : the same of developer fields
    """

    content: bytes
    rest: bytes
    runs: list[list[_Run]]
    times: np.ndarray
    natives: dict[str, np.ndarray] = field(default_factory=dict)
    extras: dict[Developer, np.ndarray] = field(default_factory=dict)
    n_defined: int = 0
    _keys: dict[int, list[Developer]] = field(default_factory=dict)  # by first row of a run, in the file's order

    def define(self, definition: Any) -> None:
        """Fill in the records of the next definition message, as fitdecode understood it.

        Raises
        ------
        NotPlainError : only the full reader can say what the records hold
        """
        runs = self.runs[self.n_defined]
        self.n_defined += 1
        if any(own.size % own.base_type.size for own in definition.dev_field_defs):
            raise NotPlainError  # fitdecode then steps over fewer bytes than the definition says
        if not runs:
            return
        parts = list(definition.all_field_defs)
        if any(part.size == 0 for part in parts):
            raise NotPlainError
        size = 1 + sum(part.size for part in parts)
        offsets = np.cumsum([1, *(part.size for part in parts)]).tolist()
        raw = np.concatenate(
            [np.frombuffer(self.content, np.uint8, run.n * size, run.place).reshape(run.n, size) for run in runs]
        )
        rows = np.concatenate([np.arange(run.row, run.row + run.n) for run in runs])
        self._take_times(parts, offsets, raw, rows, definition.endian)
        keys: list[Developer] = []
        for part, offset in zip(parts, offsets, strict=False):
            _check_components(part)
            number = NUMBERS.get(part.base_type.identifier)
            if number is None or part.size != part.base_type.size:
                continue  # text, or several values in one field
            values = _values(raw, offset, definition.endian, number)
            if part.is_dev:
                key = (str(part.name), str(part.field.units or ""))
                if key in keys:
                    raise NotPlainError
                keys.append(key)
                _put(self.extras, key, rows, values, len(self.times))
            elif part.field is not None:
                if part.field.components:
                    part_of = part.field.components[0]
                    _put(self.natives, part_of.name, rows, _scaled(part_of, values), len(self.times))
                _put(self.natives, part.name, rows, _scaled(part.field, values), len(self.times))
        self._keys.update((run.row, keys) for run in runs)

    def _take_times(self, parts: list[Any], offsets: list[int], raw: np.ndarray, rows: np.ndarray, endian: str) -> None:
        """The one time stamp of each record."""
        stamps = [place for place, part in zip(offsets, parts, strict=False) if part.name == "timestamp"]
        is_plain = len(stamps) == 1 and all(
            (part.base_type.identifier, part.size, part.is_dev) == (0x86, 4, False)
            for part in parts
            if part.name == "timestamp"
        )
        if not is_plain:
            raise NotPlainError
        at = stamps[0]
        times = np.ascontiguousarray(raw[:, at : at + 4]).view(f"{endian}u4")[:, 0]
        if (times == FIRST_WALL_TIME).any():  # fitdecode has a name for this one, and no number
            raise NotPlainError
        self.times[rows] = times

    def developer_columns(self, rows: np.ndarray) -> dict[Developer, np.ndarray]:
        """Developer fields at some rows: those with a value there, in the order in which the values come."""
        starts = np.array(sorted(self._keys), dtype=int)
        met = []
        for key, values in self.extras.items():
            known = ~np.isnan(values[rows])
            if known.any():
                row = int(rows[known.argmax()])
                start = int(starts[np.searchsorted(starts, row, side="right") - 1])
                met.append((row, self._keys[start].index(key), key))
        return {key: self.extras[key][rows] for _, _, key in sorted(met)}


def plain_records(content: bytes) -> Records:
    """Take the record messages out of a FIT file, or of several that were put together.

    Raises
    ------
    NotPlainError : the file is damaged, or uses what the walk does not know
    """
    try:
        return _taken_out(content)
    except (struct.error, LookupError) as error:  # cut off, or numbers that were never defined
        raise NotPlainError from error


def _taken_out(content: bytes) -> Records:
    runs: list[list[_Run]] = []
    rests: list[bytes] = []
    begin = n_rows = 0
    while begin < len(content):
        first, end = _body(content, begin)
        kept, n_rows = _without_records(content, first, end, runs, n_rows)
        head = content[begin : begin + 4] + struct.pack("<I", len(kept)) + b".FIT" + bytes(first - begin - 12)
        rests += [head + kept, struct.pack("<H", check_sum(head + kept))]
        begin = end + 2
    return Records(content, b"".join(rests), runs, np.full(n_rows, UNKNOWN_TIME, dtype=np.int64))


def _body(content: bytes, begin: int) -> tuple[int, int]:
    """Where the messages of the file that begins there begin and end, if its check sums are right."""
    header_size, n_bytes = content[begin], struct.unpack_from("<I", content, begin + 4)[0]
    first = begin + header_size
    end = first + n_bytes
    if header_size not in (12, 14) or content[begin + 8 : begin + 12] != b".FIT" or not n_bytes:
        raise NotPlainError
    sum_of_header = struct.unpack_from("<H", content, begin + 12)[0] if header_size == 14 else 0
    if sum_of_header and sum_of_header != check_sum(content[begin : begin + 12]):
        raise NotPlainError
    if check_sum(content[begin:end]) != struct.unpack_from("<H", content, end)[0]:
        raise NotPlainError
    return first, end


def _without_records(content: bytes, first: int, end: int, runs: list[list[_Run]], n_rows: int) -> tuple[bytes, int]:
    """The messages of one file without its records, whose runs are noted; and the number of records so far."""
    layouts: dict[int, tuple[int, int, int]] = {}  # local number -> size of a message, its number, of which definition
    kept: list[bytes] = []
    place = kept_from = first
    while place < end:
        head = content[place]
        if head & 0x80:  # a time stamp cut down to five bits
            raise NotPlainError
        if head & 0x40:
            place, size, message = _defined(content, place)
            layouts[head & 0x0F] = size, message, len(runs)
            runs.append([])
            continue
        size, message, definition = layouts[head & 0x0F]
        if message == _HEART_BEATS:
            raise NotPlainError
        begin = place
        while place < end and content[place] == head:
            place += size
        if message == _RECORD:
            kept.append(content[kept_from:begin])
            kept_from = place
            n = (place - begin) // size
            runs[definition].append(_Run(begin, n, n_rows))
            n_rows += n
    if place != end:
        raise NotPlainError
    kept.append(content[kept_from:end])
    return b"".join(kept), n_rows


def _defined(content: bytes, place: int) -> tuple[int, int, int]:
    """The place after a definition message, and the size and number of the data messages that it defines."""
    head = content[place]
    message, n_fields = struct.unpack_from(f"{'>' if content[place + 2] else '<'}HB", content, place + 3)
    place += 6
    sizes = content[place + 1 : place + 3 * n_fields : 3]
    place += 3 * n_fields
    if head & 0x20:
        n_developer = content[place]
        sizes += content[place + 2 : place + 1 + 3 * n_developer : 3]
        place += 1 + 3 * n_developer
    return place, 1 + sum(sizes), message


def _check_components(part: Any) -> None:
    """Of fields that hold others, only those that hold one other, whole, are plain (altitude, speed)."""
    components = None if part.is_dev or part.field is None else part.field.components
    if components and (
        part.def_num not in (2, 6)
        or len(components) != 1
        or part.base_type.identifier not in _AT_MOST_16_BITS
        or part.size != part.base_type.size
    ):
        raise NotPlainError


def _values(raw: np.ndarray, offset: int, endian: str, number: tuple[str, int, float]) -> np.ndarray:
    """One number of each message, NaN where it is not known."""
    letter, width, unknown = number
    numbers = np.ascontiguousarray(raw[:, offset : offset + width]).view(f"{endian}{letter}")[:, 0]
    with np.errstate(invalid="ignore"):  # a signalling NaN is a NaN
        values = numbers.astype(float)
    values[numbers == unknown] = np.nan
    return values


def _scaled(of: Any, values: np.ndarray) -> np.ndarray:
    """The values in the unit of a field, or of a part of one."""
    if of.scale:
        values = values / of.scale
    return values - of.offset if of.offset else values


def _put(
    columns: dict[Any, np.ndarray], key: str | Developer, rows: np.ndarray, values: np.ndarray, n_rows: int
) -> None:
    """Put values into a column; of two fields of one name, the later one wins where it has a value."""
    column = columns.setdefault(key, np.full(n_rows, np.nan))
    column[rows] = np.where(np.isnan(values), column[rows], values)


def check_sum(content: bytes) -> int:
    """The check sum of the FIT protocol: CRC-16 with the polynomial 0xA001, from 0."""
    from fastcrc import crc16

    result: int = crc16.arc(content)
    return result
