"""What the document of a plan says around its checklist, which is that of `ridelog.tell.compare.plan`."""

from datetime import UTC, date, datetime, time

from ridelog.compare.plan import Plan
from ridelog.tell.kinds import POINTS
from ridelog.tell.numbers import Style, amount, counted
from ridelog.tell.times import day

KIND_OF_DOCUMENT = "Plan of test rides"
AGAIN = "Where the same files lie, this command makes this page again:"


def title(plan: Plan, style: Style) -> str:
    """Of the document's window and file."""
    return f"{KIND_OF_DOCUMENT}: {amount(plan.difference, POINTS, style, digits=2)}"


def dateline(plan: Plan, style: Style, dated: date | None) -> list[str]:
    """What the document is of: the rides so far, and its own date where it has one.

    Parameters
    ----------
    plan : of a campaign
    style : how numbers are written
    dated : of the document

    Returns
    -------
    Phrases.
    """
    own = [] if dated is None else [f"document of {day(datetime.combine(dated, time(12, tzinfo=UTC)))}"]
    return [
        KIND_OF_DOCUMENT,
        f"from {counted(plan.rides, 'ride', style=style)} so far" if plan.rides else "before any ride",
        f"ridelog {plan.ridelog}",
        *own,
    ]
