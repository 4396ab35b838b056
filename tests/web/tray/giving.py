"""Files are given to trays as the page gives them, and their rides waited for."""

import time

from ridelog.web.jobs.measuring import is_map
from ridelog.web.tray.tray import TrayRide
from ridelog.web.tray.trays import Trays, drop_of
from tests.places import SAMPLES


def give(trays: Trays, *files: tuple[str, bytes], visitor: str = "v") -> list[TrayRide]:
    """Give files and wait until nothing is under way."""
    hand(trays, *files, visitor=visitor)
    return settled(trays, visitor)


def hand(trays: Trays, *files: tuple[str, bytes], visitor: str = "v") -> int:
    """Give files; returns the number of the drop."""
    with trays.giving(visitor) as folder:
        for name, content in files:
            (folder / name).write_bytes(content)
        return trays.give(visitor, drop_of([(name, folder / name) for name, _ in files], is_map, None))


def settled(trays: Trays, visitor: str = "v") -> list[TrayRide]:
    """The visitor's rides once they are measured."""
    end = time.monotonic() + 60
    while time.monotonic() < end:
        with trays.tray(visitor) as tray:
            trays.revive(tray)
            busy = tray.unseen or any(
                ride.state == "waiting" or trays.workshop.progress(ride.sharper_job) for ride in tray.rides
            )
            if not busy:
                return list(tray.rides)
        time.sleep(0.02)
    raise AssertionError("it was not done")


def sample(*names: str) -> list[tuple[str, bytes]]:
    """Files of the sample commute."""
    return [(name, (SAMPLES / "commute" / name).read_bytes()) for name in names]
