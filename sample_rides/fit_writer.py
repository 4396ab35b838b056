"""A minimal writer of FIT activity files, for the sample rides and for tests of the reader.

It knows the little of the published FIT protocol that a ride needs: a header, definition and data messages,
developer fields, the timer's events, the totals of the session, and the two check sums.
"""

import math
import struct
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO

FIT_EPOCH = datetime(1989, 12, 31, tzinfo=UTC)  # FIT counts seconds from here
SEMICIRCLES_PER_DEGREE = 2**31 / 180

_Base = tuple[int, str, int]
_Field = tuple[int, _Base, float, float]

# base types of the protocol: number, struct letter, the value that means "not known"
_ENUM, _UINT8, _SINT8 = (0x00, "B", 0xFF), (0x02, "B", 0xFF), (0x01, "b", 0x7F)
_UINT16, _UINT32, _SINT32 = (0x84, "H", 0xFFFF), (0x86, "I", 0xFFFFFFFF), (0x85, "i", 0x7FFFFFFF)
_FLOAT32, _STRING, _BYTE = 0x88, 0x07, 0x0D

# channel: field number, base type, scale, offset; stored = round((value + offset) * scale)
_RECORD_FIELDS: dict[str, _Field] = {
    "latitude_deg": (0, _SINT32, SEMICIRCLES_PER_DEGREE, 0.0),
    "longitude_deg": (1, _SINT32, SEMICIRCLES_PER_DEGREE, 0.0),
    "altitude_m": (2, _UINT16, 5.0, 500.0),
    "cadence_rpm": (4, _UINT8, 1.0, 0.0),
    "distance_m": (5, _UINT32, 100.0, 0.0),
    "speed_mps": (6, _UINT16, 1000.0, 0.0),
    "rider_power_w": (7, _UINT16, 1.0, 0.0),
    "air_temperature_c": (13, _SINT8, 1.0, 0.0),
}
_SESSION_FIELDS: dict[str, _Field] = {
    "elapsed_s": (7, _UINT32, 1000.0, 0.0),
    "moving_s": (8, _UINT32, 1000.0, 0.0),
    "distance_m": (9, _UINT32, 100.0, 0.0),
    "ascent_m": (22, _UINT16, 1.0, 0.0),
    "descent_m": (23, _UINT16, 1.0, 0.0),
    "rider_work_j": (48, _UINT32, 1.0, 0.0),
}
_FILE_ID, _SESSION, _RECORD, _EVENT, _FIELD_DESCRIPTION, _DEVELOPER_DATA_ID = 0, 18, 20, 21, 206, 207
_ACTIVITY_FILE, _MAKER_UNDER_DEVELOPMENT, _CYCLING = 4, 255, 2
_TIMER, _START, _STOP_ALL = 0, 0, 4
_TIMESTAMP = 253


def _crc_table() -> list[int]:
    """The 256 steps of the check sum: 16 bits, polynomial x^16 + x^15 + x^2 + 1, low bit first."""
    table = []
    for byte in range(256):
        for _ in range(8):
            byte = (byte >> 1) ^ (0xA001 if byte & 1 else 0)  # noqa: PLW2901 - shifted through eight times
        table.append(byte)
    return table


_CRC_TABLE = _crc_table()


def fit_crc(content: bytes) -> int:
    """The check sum that the FIT protocol puts behind its header and at the end of a file."""
    crc = 0
    for byte in content:
        crc = (crc >> 8) ^ _CRC_TABLE[(crc ^ byte) & 0xFF]
    return crc


def _definition(local: int, message: int, fields: Sequence[tuple[int, int, int]], developer: int = 0) -> bytes:
    """A definition message; ``fields`` are (number, size, base type), ``developer`` 4-byte fields follow."""
    parts = [
        bytes([0x40 | local | (0x20 if developer else 0), 0, 0]),
        struct.pack("<HB", message, len(fields)),
        *(bytes(field) for field in fields),
    ]
    if developer:
        parts.append(bytes([developer, *(byte for number in range(developer) for byte in (number, 4, 0))]))
    return b"".join(parts)


def _stored(value: float, base: _Base, scale: float, offset: float) -> bytes:
    """One scaled number, "not known" for NaN; a number that the field cannot hold is an error."""
    _, letter, unknown = base
    number = unknown if math.isnan(value) else round((value + offset) * scale)
    return struct.pack("<" + letter, number)


def _moment(start: datetime, seconds: float) -> bytes:
    """A time stamp: whole seconds, as the protocol keeps them."""
    return struct.pack("<I", round((start - FIT_EPOCH).total_seconds() + seconds))


def _fields(table: Mapping[str, _Field], names: Sequence[str]) -> list[tuple[int, int, int]]:
    return [(table[name][0], struct.calcsize(table[name][1][1]), table[name][1][0]) for name in names]


def _values(table: Mapping[str, _Field], names: Sequence[str], values: Mapping[str, float]) -> bytes:
    return b"".join(_stored(float(values.get(name, math.nan)), *table[name][1:]) for name in names)


def _developer_descriptions(developer_fields: Mapping[str, str]) -> bytes:
    """The messages that say what the developer fields are called and in which unit they count."""
    parts = [
        _definition(3, _DEVELOPER_DATA_ID, [(1, 16, _BYTE), (3, 1, _UINT8[0])]),
        b"\x03" + bytes(range(16)) + b"\x00",
        _definition(
            4,
            _FIELD_DESCRIPTION,
            [(0, 1, _UINT8[0]), (1, 1, _UINT8[0]), (2, 1, _UINT8[0]), (3, 64, _STRING), (8, 16, _STRING)],
        ),
    ]
    for number, (name, units) in enumerate(developer_fields.items()):
        words = struct.pack("64s16s", name.encode()[:63], units.encode()[:15])
        parts.append(bytes([4, 0, number, _FLOAT32]) + words)
    return b"".join(parts)


def _timeline(
    start: datetime,
    records: Sequence[Mapping[str, float]],
    pauses_s: Sequence[tuple[float, float]],
    names: Sequence[str],
    developer_names: Sequence[str],
) -> bytes:
    """The records and the timer's events, in the order of time."""
    begin = min((record["time_s"] for record in records), default=0.0)
    end = max((record["time_s"] for record in records), default=0.0)
    events = [(begin, _START), (end, _STOP_ALL)]
    events += [event for a, b in pauses_s for event in ((a, _STOP_ALL), (b, _START))]
    entries: list[tuple[float, int, bytes]] = []  # at one moment: a start, then the record, then a stop
    for time_s, kind in events:
        message = b"\x01" + _moment(start, time_s) + bytes([_TIMER, kind])
        entries.append((time_s, 0 if kind == _START else 2, message))
    for record in records:
        extra = b"".join(struct.pack("<f", record.get(name, math.nan)) for name in developer_names)
        values = _values(_RECORD_FIELDS, names, record)
        entries.append((record["time_s"], 1, b"\x02" + _moment(start, record["time_s"]) + values + extra))
    return b"".join(message for _, _, message in sorted(entries, key=lambda entry: entry[:2]))


def write_fit(
    target: str | Path | BinaryIO,
    start: datetime,
    records: Sequence[Mapping[str, float]],
    *,
    pauses_s: Sequence[tuple[float, float]] = (),
    developer_fields: Mapping[str, str] | None = None,
    totals: Mapping[str, float] | None = None,
) -> None:
    """Write an activity file.

    Parameters
    ----------
    target : path, or a file open for binary writing
    start : wall time of ``time_s = 0``, with its zone; FIT keeps whole seconds
    records : one mapping a sample: ``time_s`` (seconds from ``start``) and any of ``latitude_deg``,
        ``longitude_deg``, ``altitude_m``, ``speed_mps``, ``distance_m``, ``air_temperature_c``,
        ``cadence_rpm``, ``rider_power_w``, and the names in ``developer_fields``; NaN for not known
    pauses_s : spans in which the timer was stopped [s]
    developer_fields : name of each developer field, and its unit as the file states it (values as float32)
    totals : for the session: ``elapsed_s``, ``moving_s``, ``distance_m``, ``ascent_m``, ``descent_m``,
        ``rider_work_j``; the first three are worked out from the records where they are not given

    Raises
    ------
    ValueError : ``start`` has no zone
    KeyError : ``totals`` holds a name that is not in the list
    struct.error : a number does not fit its field
    """
    if start.tzinfo is None:
        raise ValueError("start needs a time zone")
    developer = dict(developer_fields or {})
    present = {name for record in records for name in record}
    names = [name for name in _RECORD_FIELDS if name in present]
    times = [record["time_s"] for record in records] or [0.0]
    elapsed_s = max(times) - min(times)
    distances = [record["distance_m"] for record in records if not math.isnan(record.get("distance_m", math.nan))]
    known = {
        "elapsed_s": elapsed_s,
        "moving_s": elapsed_s - sum(b - a for a, b in pauses_s),
        **({"distance_m": max(distances)} if distances else {}),
        **(totals or {}),
    }
    moment = (_TIMESTAMP, 4, _UINT32[0])
    session_start = _moment(start, min(times))
    body = b"".join(
        [
            _definition(0, _FILE_ID, [(0, 1, _ENUM[0]), (1, 2, _UINT16[0]), (4, 4, _UINT32[0])]),
            b"\x00" + struct.pack("<BH", _ACTIVITY_FILE, _MAKER_UNDER_DEVELOPMENT) + session_start,
            _developer_descriptions(developer) if developer else b"",
            _definition(1, _EVENT, [moment, (0, 1, _ENUM[0]), (1, 1, _ENUM[0])]),
            _definition(2, _RECORD, [moment, *_fields(_RECORD_FIELDS, names)], len(developer)),
            _timeline(start, records, pauses_s, names, list(developer)),
            _definition(
                5,
                _SESSION,
                [moment, (2, 4, _UINT32[0]), (5, 1, _ENUM[0]), *_fields(_SESSION_FIELDS, list(known))],
            ),
            b"\x05" + _moment(start, max(times)) + session_start + bytes([_CYCLING]),
            _values(_SESSION_FIELDS, list(known), known),
        ]
    )
    header = struct.pack("<BBHI4s", 14, 0x20, 2100, len(body), b".FIT")
    content = header + struct.pack("<H", fit_crc(header)) + body
    content += struct.pack("<H", fit_crc(content))
    if isinstance(target, str | Path):
        Path(target).write_bytes(content)
    else:
        target.write(content)
