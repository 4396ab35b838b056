"""Why the times of a file's samples are not believed."""

from ridelog.errors import InputError
from ridelog.tell.numbers import as_logged, count, number

_DAY_S = 86_400.0


def at_sample(n: int) -> str:
    """A place in a file without lines; samples are counted from 1."""
    return f"sample {n}"


def no_times(name: str) -> InputError:
    """No sample has a time."""
    return InputError(name, "holds no sample that has a time")


def many_without_time(name: str, place: str, n_lost: int, n_all: int, sample: str) -> InputError:
    """More samples without a time than are put up with.

    Parameters
    ----------
    name, place : of the file, and of the first such sample
    n_lost, n_all : such samples, and all of them
    sample : what one is called

    Returns
    -------
    error
    """
    what = f"{count(n_lost)} of {count(n_all)} {sample}s have no time that can be read"
    return InputError(name, what, place=place)


def clock_leaps(name: str, place: str, leap_s: float, sample: str) -> InputError:
    """Parts of the file that are no one ride.

    Parameters
    ----------
    name, place : of the file, and of the sample behind the leap
    leap_s : either way [s]
    sample : what one is called

    Returns
    -------
    error
    """
    what = f"the clock leaps by {number(leap_s / _DAY_S)} days"
    return InputError(name, what, place=place, hint=f"leave out the {sample}s before the clock was set")


def clock_starts_again(name: str, place: str, from_s: float, to_s: float) -> InputError:
    """A clock that falls back, by about an hour perhaps.

    Parameters
    ----------
    name, place : of the file, and of the first sample of the new count
    from_s, to_s : what the clock shows before and there [s]

    Returns
    -------
    error
    """
    what = f"the clock starts again (from {as_logged(from_s)} s to {as_logged(to_s)} s)"
    hint = "did the device start anew there? split the log at that line, and measure the parts as rides"
    if abs(to_s - from_s + 3600.0) <= 60.0:
        hint = (
            "did summer time end there? add 1 h to the times from that line on, or let the device log UTC; "
            f"if not: {hint}"
        )
    return InputError(name, what, place=place, hint=hint)


def not_increasing(name: str, place: str, n_lost: int, n_all: int, sample: str) -> InputError:
    """Times that stand still or go back all over the file.

    Parameters
    ----------
    name, place : of the file, and of the first such sample
    n_lost, n_all : such samples, and all of them
    sample : what one is called

    Returns
    -------
    error
    """
    what = f"the time does not increase in {count(n_lost)} of {count(n_all)} {sample}s"
    hint = "is this the right column for the time? `ridelog columns FILE` shows how it was understood"
    return InputError(name, what, place=place, hint=hint)
