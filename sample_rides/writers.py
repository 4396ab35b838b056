"""Logs as files: delimited text with any headers, delimiter and decimal sign; GPX 1.1; the fields of FIT records."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pandas as pd


@dataclass(frozen=True)
class Column:
    """A column of a delimited log: its header, the channel it is taken from, and how a value becomes text.

    ``digits`` are decimals of ``factor`` times the value; ``text`` makes the text itself where it is given.
    """

    header: str
    channel: str
    digits: int = 2
    factor: float = 1.0
    text: Callable[[float], str] | None = None


def write_csv(
    path: Path, log: pd.DataFrame, columns: Sequence[Column], *, delimiter: str = ",", decimal: str = ".",
    comments: Sequence[str] = (),
) -> None:  # fmt: skip
    """Write a delimited log; ``comments`` become lines above the header that begin with ``#``."""
    texts = []
    for column in columns:
        values = log[column.channel]
        if column.text is not None:
            texts.append([column.text(value) for value in values])
        else:
            texts.append([f"{column.factor * value:.{column.digits}f}".replace(".", decimal) for value in values])
    lines = [f"# {comment}" for comment in comments]
    lines.append(delimiter.join(column.header for column in columns))
    lines += [delimiter.join(row) for row in zip(*texts, strict=True)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")


def iso_text(start: datetime, *, digits: int = 1) -> Callable[[float], str]:
    """Makes ISO 8601 texts in UTC of seconds from ``start``."""

    def text(time_s: float) -> str:
        ticks = round(time_s * 10**digits)
        whole, part = divmod(ticks, 10**digits)
        stamp = (start.astimezone(UTC) + timedelta(seconds=whole)).strftime("%Y-%m-%dT%H:%M:%S")
        return f"{stamp}.{part:0{digits}d}Z" if digits else f"{stamp}Z"

    return text


def write_gpx(path: Path, track: pd.DataFrame, start: datetime, *, name: str = "ride") -> None:
    """Write a GPX 1.1 track; ``time_s`` counts from ``start``."""
    stamp = iso_text(start, digits=0)
    points = [
        f'<trkpt lat="{lat:.6f}" lon="{lon:.6f}"><ele>{ele:.1f}</ele><time>{stamp(time)}</time></trkpt>'
        for time, lat, lon, ele in zip(
            track["time_s"], track["latitude_deg"], track["longitude_deg"], track["altitude_m"], strict=True
        )
    ]
    text = "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            '<gpx version="1.1" creator="sample_rides" xmlns="http://www.topografix.com/GPX/1/1">',
            f"<trk><name>{name}</name><trkseg>",
            *points,
            "</trkseg></trk></gpx>",
        ]
    )
    path.write_text(text + "\n", encoding="utf-8", newline="\n")


def fit_records(track: pd.DataFrame, *, pauses_s: Sequence[tuple[float, float]] = ()) -> list[dict[str, float]]:
    """The samples of `sample_rides.fit_writer.write_fit`, none within the pauses (``time_s`` of the track)."""
    names = ["time_s", "latitude_deg", "longitude_deg", "altitude_m", "speed_mps", "distance_m"]
    inside = pd.Series(False, index=track.index)
    for begin, end in pauses_s:
        inside |= (track["time_s"] > begin) & (track["time_s"] < end)
    rows = track.loc[~inside, names].to_numpy(dtype=float)
    return [dict(zip(names, row, strict=True)) for row in rows.tolist()]
