"""Documents, comparisons and plans that the page cannot make, or no longer has."""

from ridelog.errors import RidelogError, UsageError
from ridelog.tell.numbers import plain

NOT_KEPT = "What this address led to is no longer kept, or never was: ask for it once more."
NOT_YOURS = "Only the browser in which a ride's files were given can have a report of it made."
NO_ANSWER = "This ride has no answer yet that a report could tell of."
TOO_MANY = "Some of what you asked for is still being made: wait for it, or cancel it."
NO_SUCH_FILE = "There is no such file: go back to the page that led here.\n"


def took_too_long(longest_s: float) -> RidelogError:
    """Work that the page does not wait for any longer."""
    what = f"this took longer than {plain(longest_s)} s and was ended"
    return RidelogError(what, hint="choose fewer rides, or use the command line, which has no such limit")


def broke_off() -> RidelogError:
    """Work whose process ended without a result."""
    what = "this took more memory than the page gives to one work, or broke off, and was ended"
    return RidelogError(what, hint="choose fewer rides, or use the command line, which has no such limit")


def ride_of_two(name: str) -> UsageError:
    """A ride that was chosen, and is no longer there."""
    return UsageError(f"the ride {name} is no longer kept", hint="choose among the rides that are listed")


def no_name(place: int) -> UsageError:
    """A group with rides and without a name that can stand in a table; ``place`` : which of them."""
    what = f"group {place} has no name, or one that is longer than 40 letters or has = ? / or \\ in it"
    return UsageError(what, hint="call it by its setting, for example weak or strong")


def same_name(name: str) -> UsageError:
    """Two groups of one name."""
    return UsageError(f"two groups are called {name}", hint="give each group a name of its own")


def too_few_groups() -> UsageError:
    """Rides in one group, or in none."""
    return UsageError("rides are in fewer than two groups", hint="put each ride into one of two groups or more")


def no_ride_chosen() -> UsageError:
    """A plan without rides."""
    return UsageError("no ride is chosen", hint="choose the rides of the route so far; one is enough to begin with")


def no_points() -> UsageError:
    """What is to be told is no number of points."""
    what = "the smallest difference worth knowing must be a number from 0.01 to 100"
    return UsageError(what, hint="write it in percentage points, for example 1.5")
