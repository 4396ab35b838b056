"""Small recordings as files: a log or a track of a minute, at any time."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

MONDAY = datetime(2026, 3, 9, 7, 30, tzinfo=UTC)


def write_log(path: Path, start: datetime | None = MONDAY, *, seconds: int = 60, current_a: float = 4.0) -> Path:
    """A log of battery current and voltage at 1 Hz; without wall time where ``start`` is ``None``."""
    path.parent.mkdir(parents=True, exist_ok=True)
    times = (f"{second}" if start is None else _text(start, second) for second in range(seconds + 1))
    head = "elapsed time [s]" if start is None else "time"
    rows = (f"{time},{current_a + second % 5},{48.0 - second % 3}" for second, time in enumerate(times))
    path.write_text("\n".join([f"{head},battery current [A],battery voltage [V]", *rows, ""]), encoding="utf-8")
    return path


def write_track(path: Path, start: datetime = MONDAY, *, seconds: int = 60) -> Path:
    """A track at 1 Hz, north at 5 m/s."""
    path.parent.mkdir(parents=True, exist_ok=True)
    points = "".join(
        f'<trkpt lat="{46.5 + second * 4.5e-5:.6f}" lon="-31.99"><ele>{20 + second % 7}</ele>'
        f"<time>{_text(start, second)}</time></trkpt>"
        for second in range(seconds + 1)
    )
    head = '<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
    path.write_text(f"{head}<trk><trkseg>{points}</trkseg></trk></gpx>", encoding="utf-8")
    return path


def _text(start: datetime, second: int) -> str:
    return f"{start + timedelta(seconds=second):%Y-%m-%dT%H:%M:%SZ}"
