"""What the page says of the files that were given and of the rides that they make."""

from collections.abc import Sequence
from datetime import datetime

from ridelog.tell import page
from ridelog.tell.numbers import counted
from ridelog.tell.times import from_to

LOOKING = "Looking into the files …"
WHY = {
    "alone": "",
    "overlap": "One ride, because the times of these files overlap.",
    "no-wall-time": "One ride, because these files were given together and not all of them state the time of day.",
    "no-zone": "One ride: given together, one with the battery and one with the track; one states no time zone.",
    "by-hand": "You put it together like this.",
    "several-fit": "It states no time of day and fits several of the rides given with it: say which.",
}
STATES = {"stopped": "not measured", "refused": "could not be measured"}
ROLES = {
    (True, True): "battery and track",
    (True, False): "battery",
    (False, True): "track",
    (False, False): "not clear what it holds",
}
ALONE = "a ride by itself"
YOURS = "Your rides"
ONLY_THIS = "This ride was shared with you: to enter a bike or correct a column, give its files to the page yourself."
MEASURING = "is being measured …"
MOVE, REMOVE, UNDO, MEASURE = "Put it with …", "Take out", "Put it back", "Measure it"
BY_RULE = "Let the times decide"
STOP, REMOVE_RIDE = "Stop", "Take all of them out"
JOIN = "Put them together"
KEEP_THEM = "Keep them in the store"
TOOK_OVER = "of a sample ride"


def measuring(n_rides: int, *, working: bool, n_ahead: int) -> str:
    """What is under way.

    Parameters
    ----------
    n_rides : of the visitor that are not measured yet
    working : one of them is being measured
    n_ahead : of others, before the first of them

    Returns
    -------
    A sentence.
    """
    if not working:
        return page.waiting(n_ahead)
    return page.MEASURING if n_rides == 1 else f"Reading and measuring; {counted(n_rides, 'ride')} to go …"


def when(start: datetime | None, end: datetime | None) -> str:
    """When a file was recorded."""
    if start is None or end is None:
        return "no time of day"
    return from_to(start, end)


def role(*, electrical: bool, track: bool, refused: bool) -> str:
    """What a file was taken for.

    Parameters
    ----------
    electrical, track : what a look into it showed
    refused : it could not be looked into

    Returns
    -------
    A few words.
    """
    return "cannot be read" if refused else ROLES[electrical, track]


def removed(names: Sequence[str]) -> str:
    """What was taken out."""
    return f"{', '.join(names)} {'was' if len(names) == 1 else 'were'} taken out."


def waits(n_ahead: int) -> str:
    """A ride that waits for its turn."""
    return "waits for its turn" if n_ahead < 1 else f"waits; {counted(n_ahead, 'ride')} before it"


def stop(name: str) -> str:
    """The button that gives up measuring a ride, for those who do not see it."""
    return f"Stop measuring {name}"


def not_used(cause: str) -> str:
    """A file of the last ones given that is left out."""
    return f"Not used: {cause}"


def may_be_one(log: str, track: str) -> str:
    """A log and a track that were given apart, of which one states no time zone."""
    return f"{log} and {track} last as long, and one of them states no time zone: are they one ride?"


def no_logs(names: Sequence[str]) -> str:
    """Files of a folder that are passed over."""
    some = ", ".join(names[:3]) + (", …" if len(names) > 3 else "")
    return (
        f"{counted(len(names), 'file')} of the folder that {'is no log' if len(names) == 1 else 'are no logs'} ({some})"
    )


def with_other_bike(title: str) -> str:
    """A sample ride that the visitor measured with another bike."""
    return f"{title}, with your bike"


def came_back(share: str, interval: str | None) -> str:
    """The answer of a ride in a few words."""
    return f"{share}{f' ({interval})' if interval else ''} came back"


def n_files(n: int) -> str:
    """How many files a ride has."""
    return counted(n, "file")


def with_ride(name: str) -> str:
    """A choice: put a file to another ride."""
    return f"with {name}"


def move(name: str) -> str:
    """A choice of the ride that a file is put to, for those who do not see it."""
    return f"Put {name} with another ride"


def remove(name: str) -> str:
    """The button that takes a file out, for those who do not see it."""
    return f"Take {name} out"
