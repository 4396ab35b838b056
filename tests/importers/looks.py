"""Looks into files, held against reading them: helpers for tests."""

import io
from datetime import timedelta

from ridelog.errors import RidelogError
from ridelog.importers.peek import Peek
from ridelog.importers.registry import peek, read
from tests.importers.tracks import START


def held_against(look: Peek, whole) -> None:
    """Each thing that a look shows is what reading shows; times to the second."""
    assert (look.name, look.format) == (whole.name, whole.format)
    assert look.clock in (None, whole.clock)
    assert look.role in (None, whole.role)
    assert look.n_samples in (None, len(whole.frame))
    for seen, known in ((look.start, whole.start), (look.end, whole.end)):
        assert seen is None or abs((seen - known).total_seconds()) <= 1


def look_and_read(source, name):
    """What a look shows and what reading gives; errors of ours in their place."""
    results = []
    for way in (peek, read):
        source.seek(0)
        try:
            results.append(way(source, name=name))
        except RidelogError as error:
            results.append(error)
    return results


class Counting(io.BytesIO):
    """A file that counts the bytes read from it."""

    n_read = 0

    def read(self, size=-1, /):
        part = super().read(size)
        self.n_read += len(part)
        return part


def text_log(n, *, step_s=1.0, header="timestamp,battery current (A),battery voltage (V)", row=None):
    """A log of ``n`` rows from START on."""
    row = row or (lambda k, time: f"{time:%Y-%m-%dT%H:%M:%SZ},{k % 9 - 2},{50 - k % 9 / 10:.1f}")
    lines = (row(k, START + timedelta(seconds=k * step_s)) for k in range(n))
    return header + "\n" + "\n".join(lines) + "\n"
