"""What the page says of the drag that coasting shows."""

from ridelog.tell.numbers import plain
from ridelog.tell.pages.bike import label

TITLE = "Drag area and rolling, from coasting"
LEAD = (
    "Where a ride rolls freely, with motor, pedals and brakes at rest, its slowing shows the drag of this bike: best "
    "on a calm day, on one road both ways."
)
FROM = "Coasting of"
FIND, FIT = "Look for coasting", "Fit the chosen stretches"
LOOKING = "Looking for coasting …"
USED = "In the fit"
NOTHING_OFFERED = "Nothing is offered: this is known less surely than without a measurement."
NOTHING_CHOSEN = "Choose the stretches that are to be fitted."


def stretch(number: int, text: str) -> str:
    """A stretch that can be chosen, for those who do not see the table; counted from 1."""
    return f"Stretch {number}, {text}"


def take(values: dict[str, float]) -> str:
    """The button that takes over what was measured.

    Parameters
    ----------
    values : by key of [road], each limit behind its value

    Returns
    -------
    A few words.
    """
    parts: list[str] = []
    for key, value in values.items():
        if "_limit" in key:
            parts[-1] += f" ± {plain(value, 2)}"
        else:
            parts.append(f"{label(f'road.{key}').split(',')[0]} {plain(value, 3)}")
    return f"Take over {', '.join(parts)}"


def taken(name: str) -> str:
    """What is noted behind values that were taken over."""
    return f"by the coasting of {name}"


def chosen(values: dict[str, float], name: str) -> str:
    """What was chosen, before what it changed."""
    return f"{take(values).removeprefix('Take over ')}, {taken(name)}"
