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
