"""What the page says of what the rides of a bike in the store teach of it."""

from collections.abc import Sequence

from ridelog.tell.pages.bike import value_in_words

TITLE = "What its rides in the store teach"
LEAD = "Rides of one bike, put together, tell what one alone cannot. Only rides of this very bike tell of it."
FROM, FIND = "Rides of", "See what they teach"
NOTHING_TO_ENTER = "None of it is for the bike file: the fields above hold as much, or more."
NOT_READY = "The rides of the store are still being measured: ask again a little later."
LISTING = "The rides of the store are being listed; what they teach can be asked then."
CHOOSE = "Choose the bike whose rides are asked."


def take(entries: Sequence[tuple[str, float]]) -> str:
    """The button that takes over what was learned; ``entries`` : by section and key."""
    return f"Take over: {', '.join(value_in_words(place, value) for place, value in entries)}"


def learned(bike: str, n_rides: int) -> str:
    """What is noted behind values that were taken over."""
    return f"learned from {n_rides} rides of {bike}"
