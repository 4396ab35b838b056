"""Stores that cannot be opened, read or written."""

from ridelog.errors import StoreError
from ridelog.tell.refusals.commands import what_next

_IN_ORDER = "is the address right, and may you read and write there?"


def not_there(address: str) -> StoreError:
    """No folder, or one that holds nothing."""
    return StoreError(f"{address}: there is no store", hint="is the address right? `ridelog audit FOLDER` makes one")


def not_a_store(address: str) -> StoreError:
    """A folder that holds something else."""
    what = f"{address}: is no store of ridelog, and other files are in it"
    return StoreError(
        what,
        hint="name a store that `ridelog audit FOLDER` made, or for a new one a folder that is empty or not there yet",
    )


def not_a_folder(address: str) -> StoreError:
    """A file where a folder is wanted."""
    return StoreError(f"{address}: is a file, and a store is a folder", hint="name a folder that is not there yet")


def damaged_head(address: str, file: str) -> StoreError:
    """A file that says what a store is, and cannot be read."""
    what = f"{address}: {file} does not say which schema the store has"
    return StoreError(what, hint='a file that holds {"schema": 1} says it')


def newer_schema(address: str, schema: int, known: int) -> StoreError:
    """Written by a later ridelog.

    Parameters
    ----------
    address : of the store
    schema : that it has
    known : the newest that this ridelog reads

    Returns
    -------
    The error.
    """
    what = f"{address}: the store has schema {schema}, and this ridelog reads {known} at most"
    return StoreError(what, hint="a newer ridelog reads it")


def package_missing(address: str, package: str, extra: str | None) -> StoreError:
    """An address for which a package must be installed.

    Parameters
    ----------
    address : of the store
    package : that is missing
    extra : of ridelog, that brings it; ``None`` where none does

    Returns
    -------
    The error.
    """
    hint = f"pip install {package}" if extra is None else f"pip install 'ridelog[{extra}]'"
    return StoreError(f"{address}: needs the package {package}, which is not installed", hint=hint)


def unknown_address(address: str) -> StoreError:
    """An address of a kind that nothing knows."""
    what = f"{address}: is an address of a kind that is not known"
    return StoreError(what, hint="a store is a folder, or an address such as s3://bucket/rides, gs:// or az://")


def cannot_be(what: str, address: str, error: Exception, *, kept: bool = False) -> StoreError:
    """What the system, or the library for an address, says.

    Parameters
    ----------
    what : is not possible: "read" or "written"
    address : of the store, or of a file in it
    error : of the system or the library
    kept : something stood there before, and stands there still

    Returns
    -------
    The error.
    """
    code = error.errno if isinstance(error, OSError) else None
    strerror = error.strerror if isinstance(error, OSError) else None
    cause = " ".join((strerror or str(error) or type(error).__name__).split())
    whole = "; what it held is still there" if what == "written" and kept else ""
    hint = what_next(code) or _IN_ORDER
    return StoreError(f"{address}: cannot be {what}: {cause[:1].lower()}{cause[1:]}{whole}", hint=hint)


def damaged(path: str) -> StoreError:
    """A file of a store that is none of its kind."""
    hint = "take it away, and measure its ride again from the logs"
    return StoreError(f"{path}: cannot be read: it is damaged, or no Parquet file", hint=hint)


def no_such_ride(address: str, key: str) -> StoreError:
    """A key under which nothing is kept."""
    return StoreError(f"{address}: holds no ride {key}")


def no_series(address: str, key: str) -> StoreError:
    """A ride that was kept without its series."""
    hint = "measure the ride again from its logs"
    return StoreError(f"{address}: holds no series of the ride {key}", hint=hint)


def no_such_column(name: str, table: str) -> StoreError:
    """A column that a table does not have."""
    return StoreError(f"{table}: has no column {name}", hint="STORE.md in the store names them all")


def no_moment(name: str, said: object) -> StoreError:
    """A bound of a span that is no time, or has no zone."""
    return StoreError(
        f"{name}: {said!r} is no time with a zone", hint="one is datetime(2026, 3, 14, tzinfo=timezone.utc)"
    )


def no_name() -> StoreError:
    """An address that is empty."""
    return StoreError("store: an empty name was given", hint="name a folder, or an address such as s3://bucket/rides")


def name_too_long(bike: str, n_bytes: int, most: int) -> StoreError:
    """A bike whose name no folder can have.

    Parameters
    ----------
    bike : its name
    n_bytes : that the folder's name would have
    most : that it may have

    Returns
    -------
    The error.
    """
    what = f"the bike {bike[:20]}… has a name of {n_bytes} bytes as a folder, and {most} are possible"
    return StoreError(what, hint="give it a shorter name in its bike file")


def never_still(address: str) -> StoreError:
    """A store whose files others take away each time that it is read."""
    return StoreError(f"{address}: its files change faster than they are read", hint="try again when nobody writes it")


def being_merged(address: str) -> StoreError:
    """A store that another process merges for longer than one waits."""
    return StoreError(f"{address}: another ridelog is putting its files together", hint="try again in a minute")
