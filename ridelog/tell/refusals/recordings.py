"""Recordings of which nothing can be made, and rides without any."""

from ridelog.errors import InputError, UsageError
from ridelog.lazy import dataclass
from ridelog.tell.numbers import count, counted, fixed, plain


def no_sample(name: str) -> InputError:
    """Nothing was read from it."""
    return InputError(name, "holds no sample that could be used")


def no_value(name: str) -> InputError:
    """Samples, and no value among them."""
    return InputError(name, "holds no value that could be used")


def times_not_increasing(name: str) -> InputError:
    """What an importer must have seen to."""
    return InputError(name, "sample times do not increase")


@dataclass(frozen=True)
class Impossible:
    """Values of a channel outside of what it can be: the first of them, and how many of how many."""

    channel: str
    unit: str
    first: float
    first_s: float
    low: float
    high: float
    n_bad: int
    n_known: int


def impossible_values(name: str, found: Impossible) -> InputError:
    """A channel that was misunderstood, or holds something else."""
    first = f"{found.channel} = {plain(found.first, 6)} {found.unit} at {fixed(found.first_s, 3)} s"
    allowed = f"{plain(found.low, 6)}..{plain(found.high, 6)} {found.unit}"
    return InputError(
        name,
        f"{first} is outside {allowed}, and so are {count(found.n_bad)} of {counted(found.n_known, 'value')}",
        hint="is the unit or the column right? `ridelog columns FILE` shows how it was understood",
    )


def no_recording() -> UsageError:
    """A ride of nothing."""
    return UsageError("no recording was given", hint="name at least the log that holds battery current")


def one_file_for_a_list() -> UsageError:
    """A single file where a list is taken."""
    return UsageError("load_ride takes a list of files", hint='write load_ride(["controller.csv", "track.gpx"])')
