"""GPX and FIT tracks by chance, damaged in their elements, definitions and lengths."""

import re
import struct
from datetime import UTC, datetime, timedelta
from io import BytesIO

import numpy as np

from sample_rides.fit_writer import fit_crc, write_fit

START = datetime(2026, 5, 4, 8, tzinfo=UTC)
TEXTS = (
    "",
    "nan",
    "inf",
    "-inf",
    "1e999",
    "9" * 400,
    "95",
    "-181",
    "١",
    "0x1",
    "1,5",
    "2026-02-30T00:00:00Z",
    "0001-01-01T00:00:00Z",
    "9999-12-31T23:59:60Z",
    "2026-05-04",
    "2026-05-04T08:00:00+99:00",
    "&amp;",
    "&#27;",
    "&lt;b&gt;",
    "\u202e",
    "-0.0",
    "<x/>",
    "&nope;",
)
PARTS = (
    "<!DOCTYPE x [<!ENTITY a 'aaaaaaaa'>]>",
    "<!-- x -->",
    "<![CDATA[5]]>",
    "<?php x?>",
    "<extensions><power>120</power></extensions>",
    "<ele>5</ele>",
    "<time>2026-05-04T08:00:00Z</time>",
    "</trkseg><trkseg>",
    "</trk><trk>",
    "<wpt lat='1' lon='2'/>",
    "<trkpt/>",
    "<trkpt lat='46.5' lon='-32'/>",
    "<a><b><c>",
    "</gpx>",
    "\x00",
    "<speed>4</speed>",
    "<sat>3</sat>",
    "<hr>120</hr>",
)


def _way(rng: np.random.Generator, n: int | None = None) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Seconds, metres along a meridian, and heights, of ``n`` points or 1 to some hundred."""
    n = n or int(rng.choice([1, 2, 3, 10, 60, 200, 400], p=[0.05, 0.05, 0.1, 0.2, 0.3, 0.2, 0.1]))
    step_s = float(rng.choice([1.0, 1.0, 5.0, 60.0, 3600.0, 82_800.0], p=[0.4, 0.2, 0.2, 0.1, 0.05, 0.05]))
    speed = np.abs(rng.normal(6, 3)) * np.abs(np.sin(np.arange(n) / rng.uniform(5, 60)))
    height = 60 + rng.uniform(0, 40) * np.sin(np.arange(n) / 30) + rng.choice([0, 0.2, 3, 100]) * rng.normal(size=n)
    return np.arange(n) * step_s, np.cumsum(speed * step_s), height


def gpx_by_chance(rng: np.random.Generator, n: int | None = None) -> bytes:
    """The bytes of a GPX document, of ``n`` points or 1 to some hundred."""
    seconds, way_m, height_m = _way(rng, n)
    points = [
        f'<trkpt lat="{46.5 + metres / 111_195:.7f}" lon="-32"><ele>{height:.1f}</ele>'
        f"<time>{(START + timedelta(seconds=float(at))).strftime('%Y-%m-%dT%H:%M:%SZ')}</time></trkpt>"
        for at, metres, height in zip(seconds, way_m, height_m, strict=True)
    ]
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">\n'
        "<trk><name>n</name><trkseg>\n" + "\n".join(points) + "\n</trkseg></trk></gpx>\n"
    )
    for _ in range(int(rng.choice([0, 1, 1, 2, 5]))):
        text = _gpx_damaged(rng, text)
    return text.encode(str(rng.choice(["utf-8", "utf-8", "utf-8", "utf-16", "latin-1"])), "replace")


def _gpx_damaged(rng: np.random.Generator, text: str) -> str:
    tags = list(re.finditer(r"<[^>]*>", text))
    if not tags:
        return text
    tag = tags[int(rng.integers(len(tags)))]
    other = tags[min(len(tags) - 1, tags.index(tag) + int(rng.integers(1, 30)))]
    what = int(rng.integers(8))
    if what == 0:
        return text[: tag.start()] + text[tag.end() :]
    if what == 1:
        return text[: tag.end()] + str(rng.choice(PARTS)) + text[tag.end() :]
    if what == 2:
        return text[: other.end()] + text[tag.start() : other.end()] + text[other.end() :]
    if what == 3:
        return text[: tag.start()] + text[other.end() :]
    if what == 4:
        return re.sub(r">[^<>]+<", lambda _: f">{rng.choice(TEXTS)}<", text, count=int(rng.integers(1, 9)))
    if what == 5:
        return re.sub(r'"[^"<>]*"', lambda _: f'"{rng.choice(TEXTS)}"', text, count=int(rng.integers(1, 9)))
    if what == 6:
        return text[: tag.start()]
    return text[: tag.end()] + text[tag.start() : tag.end()] * int(rng.choice([1, 30, 3000])) + text[tag.end() :]


def fit_by_chance(rng: np.random.Generator, n: int | None = None) -> bytes:
    """The bytes of a FIT file, of several in a chain, or of a damaged one; its check sum mostly put right again.

    Its records are ``n`` or 1 to some hundred.
    """
    content = _fit(rng, n)
    if rng.random() < 0.15:
        content += _fit(rng, n)
    for _ in range(int(rng.choice([0, 1, 1, 2, 5]))):
        content = _fit_damaged(rng, content)
    if rng.random() < 0.7 and len(content) > 16:
        length = struct.pack("<I", len(content) - 16) if rng.random() < 0.8 else content[4:8]
        body = content[:4] + length + content[8:-2]
        content = body + struct.pack("<H", fit_crc(body))
    return content


def _fit(rng: np.random.Generator, n: int | None) -> bytes:
    seconds, way_m, height_m = _way(rng, n)
    seconds, way_m = np.minimum(seconds, 4e6), np.minimum(way_m, 4e6)  # what the format's own fields hold
    records = [
        {
            "time_s": float(at),
            "latitude_deg": 46.5 + metres / 111_195,
            "longitude_deg": -32.0,
            "altitude_m": float(np.clip(height, -400, 9000)),
            "speed_mps": 5.0,
            "distance_m": float(metres),
        }
        for at, metres, height in zip(seconds, way_m, height_m, strict=True)
    ]
    target = BytesIO()
    write_fit(target, START, records)
    return target.getvalue()


def _fit_damaged(rng: np.random.Generator, content: bytes) -> bytes:
    if len(content) < 20:
        return content
    at = int(rng.integers(len(content)))
    end = min(len(content), at + int(rng.choice([1, 2, 8, 64, 400])))
    what = int(rng.integers(8))
    if what == 0:
        return content[:at] + bytes([int(rng.integers(256))]) + content[at + 1 :]
    if what == 1:  # where the definitions stand, near the beginning
        at = int(rng.integers(12, min(len(content), 140)))
        return content[:at] + bytes([int(rng.choice([0, 1, 2, 7, 64, 128, 134, 255]))]) + content[at + 1 :]
    if what == 2:
        return content[:at] + content[end:]
    if what == 3:
        return content[:end] + content[at:end] * int(rng.choice([1, 5, 200])) + content[end:]
    if what == 4:
        return content[:at]
    if what == 5:
        return content[:at] + bytes(rng.integers(0, 256, end - at, dtype=np.uint8)) + content[end:]
    if what == 6:
        return content[:at] + struct.pack("<I", int(rng.choice([0, 1, 2**31, 2**32 - 1]))) + content[at + 4 :]
    return content + content[at:end]
