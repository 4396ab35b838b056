"""Rides that were taken off the list of a store: put aside in a store beside it, and back from there.

Not within its folder, where whatever belongs to no ride of its own is tidied away after an hour.
"""

from collections.abc import Sequence
from pathlib import Path

from ridelog.fleet.store.store import Store, open_store
from ridelog.lazy import dataclass

BESIDE = "-removed"  # behind the name of the store's folder


@dataclass(frozen=True)
class Removed:
    """A ride that was put aside: its key, its name, and the name of its bike."""

    key: str
    name: str
    bike: str


def remove(store: Store, key: str) -> None:
    """Put a ride aside; whatever ends it, the ride is in one of the two stores.

    Parameters
    ----------
    store : in a folder of this computer
    key : of the ride

    Raises
    ------
    RidelogError : it is not there, or cannot be moved
    """
    _move(store, open_store(_aside(store), create=True, tidy=False), key)


def put_back(store: Store, key: str) -> None:
    """Put a ride that was put aside back; parameters and errors as of `remove`."""
    _move(open_store(_aside(store)), store, key)


def removed_from(store: Store) -> Sequence[Removed]:
    """The rides that were put aside, by their start; raises `RidelogError` where they cannot be read."""
    if not _aside(store).is_dir():
        return ()
    rows = open_store(_aside(store)).answers(columns=["key", "name", "bike"]).to_dict("records")
    return [Removed(str(row["key"]), str(row["name"]), str(row["bike"])) for row in rows]


def folder_of(store: Store) -> str:
    """Where they lie, in words."""
    return str(_aside(store))


def _aside(store: Store) -> Path:
    folder = Path(store.address).absolute()
    return folder.with_name(f"{folder.name}{BESIDE}")


def _move(here: Store, there: Store, key: str) -> None:
    there.take(here.files(key))
    here.remove(key)
