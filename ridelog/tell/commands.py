"""What commands say beside their data."""

from collections.abc import Sequence


def interrupted() -> str:
    """The user ended it."""
    return "interrupted"


def written(target: str, keys: Sequence[str] = ()) -> str:
    """What was put where."""
    return f"wrote {', '.join(keys)} to {target}" if keys else f"wrote {target}"


def stranger(header: str, columns: str) -> str:
    """A header of the map that the logs do not have."""
    return f"note: no column here is headed {header!r}, as {columns} has it"


def under_way(what: str) -> str:
    """What a command is doing."""
    return f"{what} …"


def address(host: str, port: int) -> str:
    """Where the page is; an address of IPv6 stands in brackets."""
    shown = f"[{host}]" if ":" in host else host
    return f"ridelog: http://{shown}:{port}/"
