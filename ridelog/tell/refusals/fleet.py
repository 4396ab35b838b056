"""What keeps an audit from being done at all."""

from collections.abc import Sequence

from ridelog.errors import RidelogError, StoreError


def no_dask() -> StoreError:
    """A scheduler is named, and the library that speaks to it is missing."""
    return StoreError("--scheduler needs Dask, which is not installed", hint='pip install "ridelog[cluster]"')


def no_scheduler(address: str) -> StoreError:
    """Nobody answers there."""
    return StoreError(f"{address}: no Dask scheduler answers there", hint="an address is like tcp://192.168.1.7:8786")


def no_such_bike(address: str, bike: str, known: Sequence[str]) -> StoreError:
    """A bike of which a store holds no ride.

    Parameters
    ----------
    address : of the store
    bike : the name that was given
    known : the names that there are

    Returns
    -------
    The error.
    """
    there = ", ".join(known[:10]) + (" …" if len(known) > 10 else "")
    return StoreError(
        f"{address}: holds no ride of a bike named {bike!r}", hint=f"it holds those of {there or 'no bike'}"
    )


def nothing_learned(target: str) -> RidelogError:
    """Rides that taught nothing that a bike file has a key for."""
    hint = "four rides that measured a value are needed: let the bike stand for 30 s, switched on, on each"
    return RidelogError(f"{target}: not written, because the rides teach nothing that a bike file holds", hint=hint)
