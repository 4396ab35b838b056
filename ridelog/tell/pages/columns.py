"""What the page says of the columns of a log, where they are shown and where they are corrected."""

from collections.abc import Sequence

from ridelog.tell.numbers import as_logged, counted

LEAD = "Is a column something else? Choose what it is; every log with the same header is then read so, at once."
COLUMN, QUANTITY, UNIT, SIGN = "Column", "holds", "in", "counted"
STEP = "Rows are apart by, s"
LEFT_OUT = "nothing: leave it out"
AS_WRITTEN, TURNED = "as it is written", "the other way round"
READ_SO = "Read it so"
CORRECTED = "You corrected columns of logs with this header."
BACK = "Read them as they were understood"
NO_COLUMN = "Choose a column, and what it holds."
NO_STEP = "Write how many seconds there are from row to row, as a number."
BELOW = "Answer it below, by choosing from the lists."
AS_MAP = "Or by a column map"
VALUES = "values"  # the head of the column of small pictures
NO_VALUE = "empty"

# what an answer needs: its name, the channels any of which gives it, and what is missing without them
NEEDS: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("battery current", ("current_a", "power_w"), "nothing can be said of what came back"),
    (
        "battery voltage",
        ("voltage_v", "power_w"),
        "charge is known in Ah, energy in Wh is not",
    ),
    (
        "speed",
        ("speed_mps", "wheel_speed_rpm", "wheel_revolutions", "distance_m", "latitude_deg"),
        "nothing is known of braking, nor of the use per kilometre",
    ),
    (
        "height",
        ("altitude_m",),
        "there are no hills, and what braking had available is not known: give the ride's track (GPX, FIT) as well",
    ),
)
NEED_TITLE = "What the answer rests on"
MASS = "total mass"
MASS_ASSUMED = "assumed; entered under “The bike”, it sharpens what was captured"
MASS_ENTERED = "entered"


def first_cells(cells: Sequence[str]) -> str:
    """What stands in a column that holds no numbers."""
    return ", ".join(cells) if cells else NO_VALUE


def reach(low: float, high: float) -> str:
    """Between which numbers a column lies, as written, in the rows that are shown."""
    return as_logged(low) if low == high else f"{as_logged(low)} to {as_logged(high)}"


def picture(reached: str) -> str:
    """The picture of a column, for those who do not see it."""
    return f"values from {reached}"


def found_in(header: str, name: str) -> str:
    """The column that gives something."""
    return f"“{header}” of {name}"


def missing(without: str) -> str:
    """What is missing."""
    return f"missing: {without}"


def same_header(n: int) -> str:
    """That other logs of a ride have the header of the one that is shown."""
    has, are = ("has", "is") if n == 1 else ("have", "are")
    return f"{counted(n, 'more file')} of this ride {has} the same header, and {are} read the same way."


def more_headers(n: int) -> str:
    """That there are logs with still other headers."""
    return f"Files with {counted(n, 'other header')} are not shown: answer these first, or give fewer files at once."


def preview_note(n_rows: int) -> str:
    """What the small pictures show."""
    return f"The small pictures show {counted(n_rows, 'row')} of the log, evenly spaced, as written."


def may_be_voltage(header: str, reached: str, unit: str) -> str:
    """A column that behaves as the battery's voltage does, where none is known.

    Parameters
    ----------
    header : of the column
    reached : between which numbers it lies
    unit : in which these would be volts

    Returns
    -------
    Sentences.
    """
    return (
        f"“{header}” may be the battery's voltage: it lies at {reached}, which would be {unit}, and it moves with the "
        f"current. If it is, press “{READ_SO}”."
    )


def asks_for_voltage(header: str) -> str:
    """That a column may be the voltage, beneath an answer that lacks it."""
    return f"Energy in Wh is not known, as no column is said to be the battery's voltage; “{header}” may be it. "


LOOK_AT_IT = "Look at it"


def may_be_time(headers: Sequence[str]) -> str:
    """Columns that rise from row to row in a log without a time."""
    names = ", ".join(f"“{header}”" for header in headers)
    verb = "rises" if len(headers) == 1 else "rise"
    return (
        f"{names} {verb} from row to row. Is it the time? Then choose its unit as well. If it only counts the rows, "
        "say how far they are apart."
    )
