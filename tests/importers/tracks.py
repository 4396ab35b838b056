"""Small invented tracks for tests: a road due north of Quillmoor, 5 m a second, rising 0.1 m a second."""

import io
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from sample_rides.fit_writer import write_fit

START = datetime(2026, 5, 1, 8, tzinfo=UTC)
STEP_DEG = 5 / 111_194.9  # 5 m of a meridian on a sphere of 6371 km


def point(index: float, *, time_s: float | None = None, inner: str = "", time: str | None = None) -> str:
    """A GPX track point; ``time`` replaces the whole text of its time, "" leaves the element out."""
    if time is None:
        time = (START + timedelta(seconds=index if time_s is None else time_s)).isoformat()
        time = time.replace("+00:00", "Z")
    element = f"<time>{time}</time>" if time else ""
    latitude = 46.5 + index * STEP_DEG
    return f'<trkpt lat="{latitude:.7f}" lon="-32"><ele>{20 + index / 10:.1f}</ele>{element}{inner}</trkpt>\n'


def gpx(
    *segments: Iterable[str],
    version: str = "1.1",
    head: str = "",
    declaration: str = '<?xml version="1.0" encoding="UTF-8"?>\n',
) -> str:
    """A GPX document of one track; a segment is an iterable of points as text."""
    inside = "".join(f"<trkseg>{''.join(points)}</trkseg>\n" for points in segments)
    space = f"http://www.topografix.com/GPX/{version.replace('.', '/')}"
    return f'{declaration}{head}<gpx version="{version}" creator="test" xmlns="{space}">\n<trk>{inside}</trk></gpx>\n'


def samples(n: int, **more: float) -> list[dict[str, float]]:
    """Records for the FIT writer, one a second."""
    return [
        {
            "time_s": float(i),
            "latitude_deg": 46.5 + i * STEP_DEG,
            "longitude_deg": -32.0,
            "altitude_m": 20 + i / 10,
            "speed_mps": 5.0,
            "distance_m": 5.0 * i,
            "air_temperature_c": 12.0,
            **more,
        }
        for i in range(n)
    ]


def fit(records: Sequence[dict[str, float]], start: datetime = START, **options: Any) -> bytes:
    """The bytes of a FIT file."""
    target = io.BytesIO()
    write_fit(target, start, records, **options)
    return target.getvalue()
