"""Rides that cannot be compared as they were asked for."""

from collections.abc import Sequence

from ridelog.errors import UsageError, printable


def no_group(text: str) -> UsageError:
    """A group without its name or its path."""
    return UsageError(
        f"--group {text}: is not a name and a path", hint="write --group NAME=PATH, as --group strong=rides/strong"
    )


def no_name(name: str, longest: int) -> UsageError:
    """A group that is called what no table can show."""
    shown = name if len(name) <= longest else f"{name[:20]}…"
    return UsageError(
        f"--group {printable(shown)}: is no name: it has control characters, or more than {longest} letters",
        hint="call the group what its rides were ridden with, as strong or winter tyres",
    )


def one_group(names: Sequence[str]) -> UsageError:
    """Fewer than two groups."""
    what = f"there is one group only, {names[0]}, and a comparison takes two" if names else "there is no group"
    return UsageError(what, hint="give each set-up a group: --group off=rides/off --group strong=rides/strong")


def nowhere(name: str, path: str) -> UsageError:
    """A path of a group at which nothing lies."""
    return UsageError(
        f"--group {name}={path}: there is nothing at {path}",
        hint="a path is a folder of rides, a file of a ride, or a store: STORE?bike=NAME&from=2026-03-01",
    )


def no_log(path: str) -> UsageError:
    """A file that nobody would take for a log by its name."""
    hint = "name a log, or the folder of rides with its bike.toml in it"
    return UsageError(f"{path}: is no log: GPX, FIT or delimited text", hint=hint)


def no_ride_left(name: str, reasons: Sequence[str]) -> UsageError:
    """A group without any ride that was measured; ``reasons`` say why each of its files or rides could not be."""
    if not reasons:
        return UsageError(
            f"group {name}: holds no ride", hint="check its path, or the bike, group and days that it asks of the store"
        )
    more = f" (and {len(reasons) - 1} more)" if len(reasons) > 1 else ""
    what = f"nothing in it could be measured: {reasons[0]}{more}"
    return UsageError(f"group {name}: {what}", hint="measure one alone: ridelog measure says more")


def in_two_groups(ride: str, first: str, second: str) -> UsageError:
    """The same recordings in two groups.

    Parameters
    ----------
    ride : its name
    first, second : names of the groups

    Returns
    -------
    The error.
    """
    what = f"the ride {ride} is in the group {first} and in the group {second}"
    return UsageError(what, hint="comparing a ride with itself tells nothing: take it out of one of them")


def unknown_key(path: str, key: str, known: Sequence[str]) -> UsageError:
    """A key that no query of a store has.

    Parameters
    ----------
    path : the store and the query
    key : that is unknown
    known : those that there are

    Returns
    -------
    The error.
    """
    return UsageError(f"{path}: asks for {key}, which is not known", hint=f"a store is asked by {', '.join(known)}")


def no_date(path: str, key: str, text: str) -> UsageError:
    """What was given as a date is none.

    Parameters
    ----------
    path : the store and the query
    key : "from" or "to"
    text : as given

    Returns
    -------
    The error.
    """
    hint = "write 2026-03-01, or with the time 2026-03-01T08:00Z"
    return UsageError(f"{path}: {key}={text}: is not a date", hint=hint)


def unused_bike(path: str) -> UsageError:
    """A bike file beside rides that have their own."""
    return UsageError(
        f"--bike {path}: no ride takes it, because each has the bike file of its folder or of its store",
        hint="leave --bike out, or take the bike.toml out of the folders",
    )


def nothing_recovered() -> UsageError:
    """No ride of those to plan from tells what came back."""
    return UsageError(
        "no ride tells what share was recovered, so there is nothing to plan from",
        hint="give a ride whose log shows current into the battery",
    )


def without_rides(option: str) -> UsageError:
    """Something that is said of rides, and no ride."""
    return UsageError(f"{option}: goes with the files of rides so far", hint="name them too, or leave it out")


def no_difference(text: str) -> str:
    """What is to be told is no number from 0.01 to 100."""
    return f"{text!r} is no difference: write percentage points from 0.01 to 100, as --difference 1"
