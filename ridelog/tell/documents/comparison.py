"""What the document of a comparison says around its tables and charts, which are those of `ridelog.tell.compare`."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time

from ridelog.compare.record import Comparison, Difference
from ridelog.tell.compare.sentences import sentences
from ridelog.tell.compare.tables import NAMES
from ridelog.tell.findings.comparison import kind_of
from ridelog.tell.numbers import Style, counted, measured, symbol
from ridelog.tell.table import capital
from ridelog.tell.times import day

KIND_OF_DOCUMENT = "Comparison"
DIFFERENCES, RIDES, FINDINGS, FILES, AGAIN = (
    "What differs",
    "Every ride",
    "Findings",
    "What this rests on",
    "Making it again",
)
DIFFERENCES_TITLE = "Differences between groups, with their intervals"
DIFFERENCES_LEGEND = (
    "Dot and thick bar: the difference and its 95 % interval. Thin line with ends: the interval that the verdict "
    "follows from, Holm's correction included. Filled: it lies on one side of zero."
)
RIDES_LEGEND = "One mark a ride, in the order of time, with its 95 % interval from what was measured."
FLOWS = "Where the energy went"
WAYS = "Where it was ridden"
BUDGET, BASIS = "How sure each difference is", "What was entered, measured and assumed"
CHANCE, NOT_CANCELLING = "By rides and by measurement", "What does not cancel"
SETTINGS_OF_RIDES, SETTINGS_OF_COMPARISON = "Of the rides", "Of the comparison"
NO_FINDINGS = "None of the comparison itself; those of its rides stand below."
CORRECTED, AS_RIDDEN, BY_HILL = "corrected", "as ridden", "hill by hill"
COMMAND = "Where the same folders, files or stores lie, this command makes this document again, to the last byte:"
KEY = "key"


def dateline(told: Comparison, dated: date | None) -> list[str]:
    """What the document is of: how many rides, of which groups, when; and its own date where it has one.

    Parameters
    ----------
    told : the comparison
    dated : of the document
    """
    starts = sorted(ride.start for ride in told.rides if ride.start is not None)
    bikes = list(dict.fromkeys(ride.bike for ride in told.rides if ride.bike))
    own = [] if dated is None else [f"document of {day(datetime.combine(dated, time(12, tzinfo=UTC)))}"]
    rides = f"{counted(len(told.rides), 'ride')} in {counted(len(told.groups), 'group')}"
    return [KIND_OF_DOCUMENT, rides, *bikes[:3], *_span(starts), *own]


def _span(starts: Sequence[datetime]) -> list[str]:
    days = list(dict.fromkeys(day(start) for start in (*starts[:1], *starts[-1:])))
    return [" to ".join(days)] if days else []


def title(told: Comparison) -> str:
    """Of the document's window and file."""
    return f"{KIND_OF_DOCUMENT}: {', '.join(group.name for group in told.groups)}"


def more_differences(n: int, style: Style) -> str:
    """That the table below has more than was said."""
    return f"{counted(n, 'more difference', style=style)} {'stands' if n == 1 else 'stand'} in the table below."


def change(told: Difference, style: Style) -> str:
    """A difference with its unit and interval: "3.17 points (2.91 to 3.43)"."""
    return measured(told.difference, kind_of(told.quantity, differs=True), style)


def scale(quantity: str, style: Style) -> str:
    """What the scale of a chart shows, with its unit."""
    return f"{NAMES[quantity]}, {symbol(kind_of(quantity), style)}"


def panel(quantity: str, style: Style) -> str:
    """What a panel of differences shows, with its unit."""
    return f"{capital(NAMES[quantity])}, {symbol(kind_of(quantity, differs=True), style)}"


def row_label(told: Difference) -> str:
    """What a row of the chart of differences is of."""
    how = [BY_HILL] if told.paired_by == "hill" else []
    how += [CORRECTED] if told.corrected else [] if how else [AS_RIDDEN]
    return f"{told.second} less {told.first}, {', '.join(how)}"


def descent_mark(number: int) -> str:
    """Short mark of a descent that groups have in common, on a map."""
    return f"▼\N{NO-BREAK SPACE}{number}"


def ways_legend(shown: int, of: int, *, hills: bool = False) -> str:
    """What the map shows: of how many rides.

    Parameters
    ----------
    shown : rides whose way is drawn
    of : rides in all
    hills : whether descents are marked

    Returns
    -------
    Sentences.
    """
    whose = f"The ways of {counted(shown, 'ride')}" + (f" of {of}" if shown < of else "")
    thick = " Thick: the descents that groups have in common, by their numbers." if hills else ""
    at = " North is up; the numbers are distances from where the first of them started."
    return f"{whose}, one over the other.{thick}{at}"


def rides_title(quantity: str) -> str:
    """Of the chart of every ride."""
    return f"What each ride gave: {NAMES[quantity]}"


def chart_description(told: Comparison, style: Style) -> str:
    """Of the chart of differences, for who does not see it."""
    return " ".join([*(one.words for one in sentences(told, style)), "The table below has the same numbers."])
