"""What a page says around its tables and charts."""

from collections.abc import Sequence

from ridelog.answer.ride import Answer
from ridelog.tell.kinds import CHARGE, HEIGHT, PERCENTAGE
from ridelog.tell.numbers import Style, amount, count, counted, measured
from ridelog.tell.ride import is_the_most, known_part, sign_is_open
from ridelog.tell.times import clock
from ridelog.uncertain.budget import Budget
from ridelog.uncertain.quantity import Quantity

INTERVALS = "The small numbers are 95 % intervals, where they are wider than the digits shown."
BRAKING = "Braking events"
EACH_HILL = "Each hill in numbers"
OVER_TIME = "over time"
INTERVAL = "95 % interval"
TAKE_AWAY = "Take it away"
DOWNLOADS = (
    ("answer.json", "everything, JSON"),
    ("hills.csv", "hills, CSV"),
    ("events.csv", "braking, CSV"),
    ("ledger.csv", "energy, CSV"),
    ("bands.csv", "speeds, CSV"),
    ("samples.csv", "samples, CSV"),
    ("samples.parquet", "samples, Parquet"),
)
MISSED = f"Missed is what was available at the wheel and never reached the battery. {INTERVALS}"


def with_count(title: str, n: int, style: Style) -> str:
    """A heading with how many there are of what it heads: "Notes (4)".

    Parameters
    ----------
    title : the heading
    n : how many
    style : how the number is written

    Returns
    -------
    The heading.
    """
    return f"{title} ({count(n, style)})"


def more_events(n: int, style: Style) -> str:
    """The braking events that a table leaves out."""
    return f"{count(n, style)} more: `ridelog measure --table events` lists them all."


def time_axis(style: Style) -> str:
    """What the axis of time says of its clock."""
    return "time since the start, h:mm:ss" if style.dial is None else f"time of day, {style.dial.name}"


def shown_stretch(start_s: float, end_s: float, n_samples: int, style: Style) -> str:
    """The stretch that a chart shows.

    Parameters
    ----------
    start_s, end_s : the stretch of the ride [s]
    n_samples : in it
    style : how the number is written

    Returns
    -------
    text : a sentence
    """
    decimals = 1 if end_s - start_s < 20 else 0
    start, end = (clock(each, style, decimals=decimals) for each in (start_s, end_s))
    samples = counted(n_samples, "sample", style=style)
    return f"Shown: {start} to {end}, {samples}; every peak is in the picture."


def hill_caption(*, available: bool, returned: bool, both_ways: bool) -> str:
    """Above the table of hills: what its bars are, as far as any are there.

    Parameters
    ----------
    available, returned, both_ways : whether these are known of any hill

    Returns
    -------
    Sentences.
    """
    bar = " and the bar is what reached the battery" if returned else ""
    parts = [
        f"Going down, the outline is the energy available at the wheel{bar}." if available else "",
        "Recovered both ways: what came back going down, of what the same hill took going up." if both_ways else "",
        INTERVALS,
    ]
    return " ".join(part for part in parts if part)


def how_to_look_closer(*, narrow: bool) -> str:
    """What to do with a chart of power, after what lies above zero and what below."""
    how = "Use the buttons" if narrow else "Drag over it"
    return f". {how} to look closer."


def balance(drawn: str, share: str) -> str:
    """The bar under the headline, for who does not see it."""
    return f"A bar for {drawn} drawn, of which {share} came back."


def charge_note(answer: Answer, style: Style) -> str:
    """What stands under the charge drawn."""
    drawn_ah, returned_ah = answer.charge.drawn_ah, answer.charge.returned_ah
    if returned_ah is None:
        return "drawn, at most" if drawn_ah is not None and is_the_most(answer, drawn_ah) else "drawn"
    back = amount(returned_ah.value, CHARGE, style)
    return f"one way; {back} the other" if sign_is_open(answer) else f"drawn; {back} returned"


def captured_note(answer: Answer, style: Style) -> str:
    """Of what the captured share is, and of which part of the ride."""
    return f"of the energy available from braking{known_part(answer, style)}"


def descent_note(descent_m: Quantity | None, style: Style) -> str | None:
    """What stands under the metres climbed."""
    return f"descended {amount(descent_m.value, HEIGHT, style, decimals=0)}" if descent_m else None


def no_hill(style: Style) -> str:
    """In the place of the table of hills."""
    return f"No hill on this ride climbs or falls by {amount(5, HEIGHT, style, digits=1)} or more at 2 % or more."


def returned_of_available(head: str) -> str:
    """The head of the column that shows both: "Returned of available, Wh"."""
    name, _, unit = head.partition(", ")
    return f"{name} of available, {unit}"


def of_available(text: str) -> str:
    """What was available, after what was returned."""
    return f" of {text}"


def columns_of(name: str) -> str:
    """The heading of how a log's columns were understood."""
    return f"How the columns of {name} were understood"


def understood_of(name: str) -> str:
    """The heading of a log that leaves a question open."""
    return f"How much of {name} was understood"


def map_use(why: str) -> str:
    """After the link to a column map."""
    return f" {why}: edit it, then give it together with the files."


MEASURING = "Reading and measuring …"


def waiting(n_ahead: int) -> str:
    """How many rides of others are measured before one's own."""
    if n_ahead == 0:
        return "Yours is the next ride to be measured."
    return f"{counted(n_ahead, 'ride')} will be measured before yours."


def files(names: Sequence[str]) -> str:
    """The files that a visitor gave."""
    return f"Files: {', '.join(names)}"


def budget_lead(budget: Budget, style: Style) -> str:
    """Above the budget of the recovered share."""
    share = measured(Quantity(budget.value, budget.low95, budget.high95), PERCENTAGE, style)
    return f"{share} {budget.quantity}: the bracket is the 95 % interval. This is where it comes from."


def track_title(*, known: bool) -> str:
    """The heading of the way seen from above; ``known``: where charge came back."""
    return "Where it came back" if known else "The way"
