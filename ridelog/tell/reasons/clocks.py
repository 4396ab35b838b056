"""How the columns of time were read: elapsed, since 1970 or wall time, in which unit, and in which order a date."""

from typing import Literal

from ridelog.tell.numbers import as_logged, fixed

ANOTHER_TELLS = "not used: another column tells the time"
NOT_USED = "not used"
SINGLE_VALUE = "elapsed time; a single value shows no unit, seconds are taken"

YEAR_FIRST = "the year comes first"
FULL_STOPS = "with full stops the day comes first"
SAME_NUMBER = "day and month are the same number"
FIRST_CHANGES = "the first number changes within the log, the second does not"
SECOND_CHANGES = "the second number changes within the log, the first does not"


def rows_counted(step_s: float) -> str:
    """A column of time beside a map that says how far the rows are apart."""
    return f"not used: the map says that the rows are {as_logged(step_s)} s apart"


def elapsed_in(unit: str) -> str:
    """Elapsed time whose unit is stated."""
    return f"elapsed time in {unit}"


def since_1970(unit: str) -> str:
    """A count from 1970."""
    return f"{unit} since 1970-01-01 (UTC)"


def seconds_by_steps(step: float) -> str:
    """Elapsed time whose steps can be nothing but seconds."""
    rate = fixed(1000 / step, 0)
    return (
        f"elapsed time; no unit is stated, steps of {as_logged(step)} are seconds "
        f"(as ms the log would hold {rate} samples a second)"
    )


def unit_by_whole_steps(step: float, unit: str) -> str:
    """Elapsed time whose steps are whole thousandths or millionths of a second."""
    return f"elapsed time; no unit is stated, whole steps of {as_logged(step)} are {unit}"


def iso_time(*, zoned: bool) -> str:
    """Wall time in the standard's form."""
    return "wall time, ISO 8601" + (" with zone" if zoned else "")


def wall_time(order: str) -> str:
    """Wall time in another form, with what is known of the order of its date."""
    return f"wall time, {order}"


def date_and_time(order: str) -> str:
    """A date and a time of day in two columns."""
    return f"date and time of day, {order}"


def no_date(form: str) -> str:
    """A time of day alone."""
    return f"{form}, no date"


def gives_start(why: str) -> str:
    """A coarse column beside a finer one."""
    return f"{why}; gives the start, the finer column the steps"


def number_reaches(which: Literal["first", "second"], largest: float) -> str:
    """A number of the date that is too large for a month."""
    return f"the {which} number reaches {fixed(largest, 0)}"


def order_by_map(order: str) -> str:
    """The order of a date, stated."""
    return f"{order} as the map says"


def order_because(order: str, why: str) -> str:
    """The order of a date, found."""
    return f"{order}: {why}"
