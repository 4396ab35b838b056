"""What the pages are called, and what stands above and below all of them."""

PAGES = "Pages"
MEASURE = "Measure"
RIDES = "Rides"
COMPARE = "Compare"
PLAN = "Plan"
FLEET = "Fleet"
HELP = "Help"
SKIP = "Skip to the content"
LINE = "How much energy regenerative braking really gave back, from the ride's own logs"
KEPT_HERE = (
    "Everything is measured on this computer; nothing leaves it. Your files and rides are held until you stop the "
    "program."
)
KEPT_THERE = (
    "Everything is read and measured on the computer that runs this page, whose owner can see it; it is sent to nobody "
    "but you and those who have a ride's address. The files that you give and their rides are held until the program "
    "is stopped there, or they make room for newer ones."
)
STORED = "Rides that you keep stay in the store."


def window(title: str) -> str:
    """What the window of a page with this title is called."""
    return f"{title} · ridelog"


def kept(*, by_others: bool, in_store: bool = False) -> str:
    """Where files are read, and how long they are held.

    Parameters
    ----------
    by_others : who reads this may sit elsewhere
    in_store : visitors' rides can be kept in a store, which outlives the program

    Returns
    -------
    Some sentences.
    """
    told = KEPT_THERE if by_others else KEPT_HERE
    return f"{told} {STORED}" if in_store else told
