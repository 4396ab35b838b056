"""What commands say beside their data."""

from collections.abc import Sequence

from ridelog.tell.numbers import count, counted, number
from ridelog.tell.times import duration


def interrupted() -> str:
    """The user ended it."""
    return "interrupted"


def written(target: str, keys: Sequence[str] = ()) -> str:
    """What was put where."""
    return f"wrote {', '.join(keys)} to {target}" if keys else f"wrote {target}"


def audit_written(target: str, told: str) -> str:
    """Where an audit was put, and what it says first."""
    return f"wrote {target} with {told}"


def stranger(header: str, columns: str) -> str:
    """A header of the map that the logs do not have."""
    return f"note: no column here is headed {header!r}, as {columns} has it"


def under_way(what: str) -> str:
    """What a command is doing."""
    return f"{what} …"


def unprotected(host: str) -> str:
    """What it means that the page is open to others."""
    return (
        f"warning: everybody who reaches {host} can use this page, give this computer work, and read along: "
        "there is no password, and nothing is encrypted. The rides of visitors are kept apart by random keys alone."
    )


def address(host: str, port: int) -> str:
    """Where the page is; an address of IPv6 stands in brackets."""
    shown = f"[{host}]" if ":" in host else host
    return f"ridelog: http://{shown}:{port}/"


def rate(rides_per_s: float) -> str:
    """How fast rides are measured."""
    return (
        f"{number(rides_per_s, digits=2)} rides/s"
        if rides_per_s >= 1
        else f"{number(1 / rides_per_s, digits=2)} s/ride"
    )


def failed_so_far(n: int) -> str:
    """How many rides could not be measured."""
    return f"{count(n)} failed"


def so_far(done: int, of: int, failed: int, left_s: float | None) -> str:
    """How far an audit is, as a line.

    Parameters
    ----------
    done, of : rides, and how many there are to measure
    failed : how many of those done could not be measured
    left_s : time that the others will take; ``None`` where nobody knows, or nothing is left [s]

    Returns
    -------
    The line.
    """
    if not done:
        return f"measuring {counted(of, 'ride')} …"
    left = f", about {duration(left_s)} left" if left_s is not None else ""
    return f"{count(done)} of {counted(of, 'ride')} done{f', {failed_so_far(failed)}' if failed else ''}{left}"
