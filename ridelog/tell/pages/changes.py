"""What the visitor chose, and what that changed in the answer, in words."""

from collections.abc import Sequence

from ridelog.tell.kinds import ENERGY, PERCENTAGE, Kind
from ridelog.tell.numbers import Style, measured
from ridelog.uncertain.quantity import Quantity

TITLE = "What your choices changed"
AS_UNDERSTOOD = "Columns read as they were understood"
NOTHING = "it changed nothing in the answer"
NO_ANSWER = "could not be measured"
STILL_NONE = "still, the files give no answer"
EARLIER = "Earlier choices"
FIGURES: tuple[tuple[str, str, Kind], ...] = (
    ("recovered_pct", "came back", PERCENTAGE),
    ("returned_wh", "returned", ENERGY),
    ("captured_pct", "captured", PERCENTAGE),
)


def bike_file(name: str) -> str:
    """A bike file that was given."""
    return f"{name} as the bike file"


def column_map(name: str) -> str:
    """A column map that was given."""
    return f"{name} as the column map"


def column(header: str, quantity: str | None, unit: str | None, *, turned: bool) -> str:
    """What a column of a log is now read as.

    Parameters
    ----------
    header : of the column
    quantity, unit : as it is read now; left out where ``None``
    turned : it counts the other way round

    Returns
    -------
    A few words.
    """
    if quantity is None:
        return f"“{header}” left out"
    return f"“{header}” read as {quantity}{f' in {unit}' if unit else ''}{', the other way round' if turned else ''}"


def step(step_s: str) -> str:
    """How far rows are apart."""
    return f"rows taken to be {step_s} s apart"


def values(names: Sequence[str], n_shown: int = 3) -> str:
    """Values of the bike that were changed.

    Parameters
    ----------
    names : what they are called, with what they are now
    n_shown : that are named

    Returns
    -------
    A few words.
    """
    more = f" and {len(names) - n_shown} more" if len(names) > n_shown else ""
    return f"{', '.join(names[:n_shown])}{more}" if names else "the bike file as it is"


def moved(before: Sequence[Quantity | None] | None, after: Sequence[Quantity | None] | None, style: Style) -> str:
    """What a choice changed.

    Parameters
    ----------
    before, after : values of `FIGURES`; ``None`` where the files gave no answer
    style : units and digits

    Returns
    -------
    The rest of a sentence that begins with the choice.
    """
    if after is None:
        return STILL_NONE if before is None else f"now the files {NO_ANSWER}"
    rows = []
    for place, (_, name, kind) in enumerate(FIGURES):
        now, then = after[place], None if before is None else before[place]
        told = _told(now, kind, style)
        if before is None:
            rows += [f"{name} {told}"] if now is not None else []
        elif told != _told(then, kind, style):
            rows.append(f"{name} {_told(then, kind, style)} → {told}")
    if before is None:
        return f"the files {NO_ANSWER} before; now {', '.join(rows) or 'they give an answer'}"
    return ", ".join(rows) or NOTHING


def _told(quantity: Quantity | None, kind: Kind, style: Style) -> str:
    digits = 2 if kind is PERCENTAGE else None  # as in the headline
    return "not known" if quantity is None else measured(quantity, kind, style, digits=digits)
