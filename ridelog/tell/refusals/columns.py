"""What the columns of a log leave open, and the errors of columns that contradict themselves."""

from collections.abc import Sequence

from ridelog.errors import ColumnQuestionError, InputError
from ridelog.tell.numbers import as_logged, count
from ridelog.tell.times import day_in_numbers

_MAP = "a MAP.toml"


# --- questions: what is open, and what to write instead where the first answer offered is wrong ---------------------


def which_of(headers: Sequence[str], quantity: str) -> str:
    """Several columns of one quantity."""
    names = " and ".join(f"'{header}'" for header in headers)
    return f"{count(len(headers))} columns may be the {quantity}: {names}"


def which_unit(header: str, units: Sequence[str]) -> str:
    """A column whose unit nothing shows."""
    return f"'{header}' states no unit, and nothing in the log shows which of {', '.join(units)} it is"


def odd_unit(header: str, stated: str, units: Sequence[str]) -> str:
    """A column that states a unit which is not known.

    Parameters
    ----------
    header, stated : of the column, and what it states as its unit
    units : those that it may be in

    Returns
    -------
    question
    """
    return f"'{header}' states “{stated}”, which is no unit known here: {' or '.join(units)}?"


def whose_power(header: str) -> str:
    """A power beside a cadence."""
    return f"'{header}' may be power of the battery or of the rider"


def which_side(header: str) -> str:
    """A current of the controller."""
    return f"'{header}' may flow on the battery's or on the motor's side of the controller"


def or_else(others: Sequence[str], *, quoted: str = "") -> str:
    """What may be written in the answer instead, in quotes or not."""
    return "or " + " or ".join(f"{quoted}{other}{quoted}" for other in others)


def answer(entries: Sequence[str], others: Sequence[str]) -> str:
    """The line of a column map that answers, and what may stand there instead as a comment in it."""
    return f"column = [{', '.join(entries)}]" + (f"  # {'; '.join(others)}" if others else "")


def with_answer(question: str, line: str) -> str:
    """A question with the line of a column map that answers it."""
    return f"{question}; answer in {_MAP}: {line}"


def unanswered(name: str, questions: Sequence[str], line: str) -> ColumnQuestionError:
    """A log that is not read before its questions are answered.

    Parameters
    ----------
    name : of the file
    questions : what is open
    line : of a column map, which answers them

    Returns
    -------
    error
    """
    return ColumnQuestionError(name, "; ".join(questions), hint=f"answer in {_MAP}, option --columns: {line}")


def time_unit_open(name: str, header: str, step: float, entry: str) -> ColumnQuestionError:
    """A column of time whose steps fit several units.

    Parameters
    ----------
    name, header : of the file and of the column
    step : from row to row, as written [1]
    entry : of a column map, which says that it is seconds

    Returns
    -------
    error : its hint is the whole line of a column map
    """
    what = f"'{header}' states no unit, and steps of {as_logged(step)} do not show whether it is s, ms or min"
    return ColumnQuestionError(name, what, hint=f"column = [{entry}]  # or ms, µs, min, h")


def date_order_open(name: str, header: str, date: Sequence[float]) -> ColumnQuestionError:
    """A date of which day and month cannot be told apart.

    Parameters
    ----------
    name, header : of the file and of the column
    date : the first one's numbers, in their order

    Returns
    -------
    error : its hint is the whole line of a column map
    """
    what = f"'{header}': which number of {day_in_numbers(date)} is the day, and which the month?"
    return ColumnQuestionError(name, what, hint='log = { date_order = "day-month-year" }  # or "month-day-year"')


# --- columns that contradict themselves ----------------------------------------------------------------------------


def cells_in_unfit_unit(name: str, header: str, unit: str, quantity: str) -> InputError:
    """The unit in the cells is none of the quantity that the words name.

    Parameters
    ----------
    name, header : of the file and of the column
    unit : in its cells
    quantity : by its words

    Returns
    -------
    error
    """
    what = f"{header}: its cells are in {unit}, in which no {quantity} is measured"
    return InputError(name, what, hint=f"say what the column holds, or use = false, in {_MAP} (--columns)")


def map_in_unfit_unit(name: str, header: str, unit: str, quantity: str) -> InputError:
    """The unit that the map says is not one of the quantity that the words name.

    Parameters
    ----------
    name, header : of the file and of the column
    unit : by the map
    quantity : by the column's words

    Returns
    -------
    error
    """
    what = f"{header}: the column map says {unit}, in which no {quantity} is measured"
    return InputError(
        name, what, hint=f"say quantity = … for that column besides, or another unit, in {_MAP} (--columns)"
    )


def header_against_cells(name: str, header: str, units: tuple[str, str], entry: str) -> InputError:
    """Header and cells state two units.

    Parameters
    ----------
    name, header : of the file and of the column
    units : the header's, and the cells'
    entry : of a column map, which takes the cells' unit

    Returns
    -------
    error
    """
    what = f"{header}: the header says {units[0]}, the rows say {units[1]}"
    return InputError(name, what, hint=f"say which in {_MAP}: column = [{entry}]")


def header_against_units_row(name: str, line: int, header: str, units: tuple[str, str]) -> InputError:
    """Header and units row state two units.

    Parameters
    ----------
    name, line : of the file, and where its header stands
    header : of the column
    units : the header's, and that of the units row

    Returns
    -------
    error
    """
    what = f"{header}: the header says {units[0]}, the units row says {units[1]}"
    hint = f"mend one of them, or say unit = … for that column in {_MAP} (option --columns)"
    return InputError(name, what, place=f"line {line}", hint=hint)
