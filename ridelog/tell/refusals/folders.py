"""Files in folders of rides that cannot be measured, and why: for the list that an audit ends with."""

from ridelog.errors import InputError, RidelogError, UsageError

_ALONE = "measure it alone: ridelog measure says more"


def no_folder(path: str) -> UsageError:
    """What was given as a folder is none."""
    return UsageError(f"{path}: is no folder", hint="ridelog audit takes folders; ridelog measure takes files")


def nothing_there(path: str) -> UsageError:
    """A folder without any ride."""
    hint = "put a bike.toml into the folder of each bike, and its rides below it"
    return UsageError(f"{path}: holds no ride: no GPX, FIT or delimited log lies in it", hint=hint)


def of_a_store(path: str) -> UsageError:
    """A folder that holds what was measured, not what was recorded."""
    hint = "name the folder of the bikes, and this one as --store"
    return UsageError(f"{path}: is a store of measured rides, not a folder of recordings", hint=hint)


def of_no_bike(path: str) -> InputError:
    """A recording beside the folders of bikes."""
    return InputError(path, "lies in no bike's folder", hint="put a bike.toml into the folder of its bike")


def whose_ride(path: str, n_rides: int) -> InputError:
    """A recording without wall time in a folder of several rides."""
    what = f"states no wall time, and there are {n_rides} rides in its folder"
    return InputError(path, what, hint="give each ride a folder of its own, or name its files in a rides.toml")


def not_there(path: str, manifest: str) -> InputError:
    """A file that the manifest names."""
    return InputError(path, f"{manifest} names it, and it is not there", hint="is the name spelled right?")


def no_log(path: str, manifest: str) -> InputError:
    """A folder, or a file elsewhere or of another kind, that the manifest names."""
    what = f"{manifest} names it, and it is no log in that folder"
    return InputError(path, what, hint=f"name logs in the folder of {manifest}, or below")


def of_file(path: str, error: RidelogError) -> InputError:
    """What is wrong with a file, at that file."""
    return error if isinstance(error, InputError) else InputError(path, error.message, hint=error.hint)


def unreadable(path: str, reason: str) -> InputError:
    """What the system says of a file or folder."""
    return InputError(path, reason.lower(), hint="may you read it?")


def ended(path: str) -> InputError:
    """The process that measured a ride was ended."""
    return InputError(path, "ended the process that measured it, or the system did", hint=_ALONE)


def own_fault(path: str, error: str) -> InputError:
    """A fault of ridelog or of a library."""
    return InputError(path, f"made ridelog fail where it should not: {error}", hint=_ALONE)
