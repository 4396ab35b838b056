"""Where kept rides come from: a store that the operator names, or that of samples, measured when first asked for."""

from collections.abc import Callable, Sequence
from pathlib import Path

from ridelog.fleet.audit import audit, default_store
from ridelog.fleet.store.store import Store, open_store
from ridelog.web.jobs.process import Run, run_here
from ridelog.web.kept.kept import Found, Kept, Told

Folders = Callable[[], Sequence[Path]]  # makes them where there are none, and says where they are


def sample_rides(folders: Folders, run: Run = run_here) -> Kept:
    """The rides below some folders, kept in the first of them.

    Parameters
    ----------
    folders : that hold bikes
    run : works out beside the page's threads what all rides tell
    """

    def opened(told: Told, found: Found) -> Store:
        there = folders()
        store = open_store(default_store(there), create=True)
        found(store)
        audit(there, store, told=told)
        return store

    return Kept(opened, run=run)


def store_rides(address: str, run: Run = run_here) -> Kept:
    """The rides of a store, in which visitors can keep theirs.

    Parameters
    ----------
    address : of the store, which is made where there is none
    run : as `sample_rides` takes it

    Raises
    ------
    StoreError : it cannot be opened
    """
    store = open_store(address, create=True)

    def opened(_told: Told, found: Found) -> Store:
        found(store)  # whoever opens one of its rides first waits for this
        return store

    return Kept(opened, keeps=True, run=run)
