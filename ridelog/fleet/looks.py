"""Looks at files that were taken before, as the catalogue of a store keeps them."""

from datetime import datetime
from pathlib import Path

from ridelog.fleet.look import Look
from ridelog.fleet.store.catalogue import Catalogue
from ridelog.fleet.store.catalogue import Look as Kept
from ridelog.recording import Role

_OFFERS: dict[tuple[bool, bool], Role | None] = {
    (True, True): "both", (True, False): "electrical", (False, True): "track", (False, False): None,
}  # fmt: skip


class KeptLooks:
    """Looks by path, size and time of change; new ones are written by `KeptLooks.save`.

    A look that failed is not kept: a file may have been cut because it was still being copied.

    Parameters
    ----------
    catalogue : of a store on this computer
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._kept = catalogue.looks()
        self._new: list[Kept] = []

    def look(self, path: Path, size: int, mtime_ns: int) -> Look | None:
        """The look at a file that has not changed since.

        Parameters
        ----------
        path : of the file
        size, mtime_ns : its size and the time of its last change [byte, ns]

        Returns
        -------
        ``None`` without one.
        """
        kept = self._kept.get(_name(path))
        if kept is None or (kept.size, kept.mtime_ns) != (size, mtime_ns):
            return None
        role = kept.role
        return Look(
            path,
            kept.sha256,
            None if kept.start is None else datetime.fromisoformat(kept.start),
            None if kept.end is None else datetime.fromisoformat(kept.end),
            kept.clock == "local",
            electrical=role in ("electrical", "both"),
            track=role in ("track", "both"),
        )

    def keep(self, look: Look, size: int, mtime_ns: int) -> None:
        """Keep a look.

        Parameters
        ----------
        look : at a file
        size, mtime_ns : as it was when it was looked at [byte, ns]
        """
        if look.error is not None:
            return
        self._new.append(
            Kept(
                _name(look.path), size, mtime_ns, look.sha256,
                role=_OFFERS[look.electrical, look.track],
                start=None if look.start is None else look.start.isoformat(),
                end=None if look.end is None else look.end.isoformat(),
                clock="local" if look.local else None,
            )
        )  # fmt: skip

    def save(self) -> None:
        """Write what is new.

        Raises
        ------
        StoreError : the catalogue cannot be written
        """
        self._catalogue.remember(self._new)
        self._new = []


def _name(path: Path) -> str:
    return str(path.absolute())
