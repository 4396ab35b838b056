"""Looks into files, held against reading them: helpers for tests."""

import io
from collections.abc import Callable
from datetime import datetime, timedelta

from ridelog.errors import RidelogError
from ridelog.importers.peek import Peek
from ridelog.importers.registry import peek, read
from ridelog.recording import Recording
from tests.importers.tracks import START


def held_against(look: Peek, whole: Recording) -> None:
    """Each thing that a look shows is what reading shows; times to the second."""
    assert (look.name, look.format) == (whole.name, whole.format)
    assert look.clock in (None, whole.clock)
    assert look.role in (None, whole.role)
    assert look.n_samples in (None, len(whole.frame))
    for seen, known in ((look.start, whole.start), (look.end, whole.end)):
        assert seen is None or known is not None
        assert seen is None or known is None or abs((seen - known).total_seconds()) <= 1


def look_and_read(source: io.BytesIO, name: str) -> tuple[list[Peek] | RidelogError, list[Recording] | RidelogError]:
    """What a look shows and what reading gives; errors of ours in their place."""
    looks: list[Peek] | RidelogError
    wholes: list[Recording] | RidelogError
    try:
        looks = peek(source, name=name)
    except RidelogError as error:
        looks = error
    source.seek(0)
    try:
        wholes = read(source, name=name)
    except RidelogError as error:
        wholes = error
    return looks, wholes


class Counting(io.BytesIO):
    """A file that counts the bytes read from it."""

    n_read = 0

    def read(self, size: int | None = -1, /) -> bytes:
        """Read, and count."""
        part = super().read(size)
        self.n_read += len(part)
        return part


def text_log(
    n: int,
    *,
    step_s: float = 1.0,
    header: str = "timestamp,battery current (A),battery voltage (V)",
    row: Callable[[int, datetime], str] | None = None,
) -> str:
    """A log of ``n`` rows from START on."""
    row = row or (lambda k, time: f"{time:%Y-%m-%dT%H:%M:%SZ},{k % 9 - 2},{50 - k % 9 / 10:.1f}")
    lines = (row(k, START + timedelta(seconds=k * step_s)) for k in range(n))
    return header + "\n" + "\n".join(lines) + "\n"
