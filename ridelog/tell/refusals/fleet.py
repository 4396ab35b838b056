"""What keeps an audit from being done at all."""

from ridelog.errors import StoreError


def no_dask() -> StoreError:
    """A scheduler is named, and the library that speaks to it is missing."""
    return StoreError("--scheduler needs Dask, which is not installed", hint='pip install "ridelog[cluster]"')


def no_scheduler(address: str) -> StoreError:
    """Nobody answers there."""
    return StoreError(f"{address}: no Dask scheduler answers there", hint="an address is like tcp://192.168.1.7:8786")
