"""Bike files and column maps that cannot be read or edited."""

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from ridelog.errors import BikeFileError, ColumnMapError, HillNamesError, InputError, ManifestError
from ridelog.tell.numbers import count, plain

Refused = TypeVar("Refused", bound=InputError)

_LONGEST = 60
# the words of the library that checks such files are those of a programmer
_ALLOWED = {
    "bool_type": "true or false is allowed",
    "string_type": "text in quotation marks is allowed",
    "tuple_type": "tables are allowed, each headed [[{section}]] on a line of its own",
    "model_type": "a table is allowed, headed [{section}] on a line of its own",
}
_LIST = 'a list of texts is allowed, as ["a.csv", "b.gpx"]'
ONE_KEY_A_LINE = "one `key = value` a line under a [section]"
ONE_MAP_KEY_A_LINE = "one `key = value` a line under [log] or [[column]]"
ONE_HILL_A_LINE = '3f2a91c0 = "Mill Lane" under [hill], a line for each hill'
ONE_RIDE_A_TABLE = 'files = ["log.csv", "track.gpx"] under a [[ride]] for each ride'
COLUMNS_IN_TWO_WAYS = "column = [ … ] and [[column]] cannot stand in one file: write all columns in one of the two ways"
TOO_DEEP = "a number or a list in it is longer or deeper than can be read"
SAMPLE_KEYS = 'title = "…" and files = ["…"], a line each'


def line_place(line: int | None) -> str | None:
    """Where in the file, if that was found."""
    return f"line {line}" if line else None


def no_name(error: type[Refused], option: str) -> Refused:
    """An empty name of such a file."""
    return error(option, "an empty name was given", hint="is a variable of the command line not set?")


def cannot_open(error: type[Refused], label: str, reason: str, option: str) -> Refused:
    """What the system says.

    Parameters
    ----------
    error : the kind of error to give
    label : what the file is called
    reason : what the system says
    option : that takes such a file

    Returns
    -------
    The error.
    """
    return error(label, reason.lower(), hint=f"{option} takes a TOML file; is the name spelled right?")


def not_utf8(error: type[Refused], label: str, at_byte: int) -> Refused:
    """Text in another encoding.

    Parameters
    ----------
    error : the kind of error to give
    label : what the file is called
    at_byte : where

    Returns
    -------
    The error.
    """
    return error(label, "is not UTF-8 text", place=f"byte {at_byte}", hint="save it as UTF-8 in a text editor")


def larger_than_by_hand(error: type[Refused], label: str, largest_bytes: int) -> Refused:
    """A file that is none of those that people write.

    Parameters
    ----------
    error : the kind of error to give
    label : what the file is called
    largest_bytes : how much it may hold [byte]

    Returns
    -------
    The error.
    """
    most = count(largest_bytes // 1000)
    return error(label, f"is larger than {most} kB, which no such file is", hint="is it the file that you meant?")


def line_too_long(error: type[Refused], label: str, line: int, longest: int) -> Refused:
    """A line that nobody writes.

    Parameters
    ----------
    error : the kind of error to give
    label : what the file is called
    line : which
    longest : how many characters it may have

    Returns
    -------
    The error.
    """
    told = f"has a line of more than {count(longest)} characters"
    return error(label, told, place=line_place(line), hint="is it the file that you meant?")


def not_toml(error: type[Refused], label: str, cause: str, form: str) -> Refused:
    """Text that is not TOML.

    Parameters
    ----------
    error : the kind of error to give
    label : what the file is called
    cause : what the system says
    form : how such a file is written

    Returns
    -------
    The error.
    """
    return error(label, f"is not TOML: {cause}", hint=form)


def unknown_key(error: type[Refused], label: str, key: str, *, line: int | None, known: Sequence[str]) -> Refused:
    """A key that such a file does not have.

    Parameters
    ----------
    error : the kind of error to give
    label : what the file is called
    key : with its section
    line : where it stands; ``None`` where it was not found
    known : the keys that there are

    Returns
    -------
    The error.
    """
    return error(label, f"unknown key {key}", place=line_place(line), hint=f"the keys there are {', '.join(known)}")


def swapped(
    error: type[Refused], label: str, key: str, *, line: int | None, is_map: bool, mixed: bool = False
) -> Refused:
    """A bike file given as column map, or the other way round.

    Parameters
    ----------
    error : the kind of error to give
    label : what the file is called
    key : with its section
    line : where it stands; ``None`` where it was not found
    is_map : it is, or looks like, a column map
    mixed : it holds tables of both

    Returns
    -------
    The error.
    """
    looks, taken_for = ("column map", "bike file") if is_map else ("bike file", "column map")
    option = "--columns" if is_map else "--bike"
    hint = f"this looks like a {looks}, which {option} takes; were --bike and --columns swapped?"
    if mixed:
        hint = "keep what you say of the bike and what you say of a log in two files"
    return error(label, f"[{key}] belongs in a {looks}, not in a {taken_for}", place=line_place(line), hint=hint)


def not_allowed(error: type[Refused], label: str, what: str, *, line: int | None) -> Refused:
    """A value that its key does not take.

    Parameters
    ----------
    error : the kind of error to give
    label : what the file is called
    what : key, value and what is allowed
    line : where it stands; ``None`` where it was not found

    Returns
    -------
    The error.
    """
    return error(label, what, place=line_place(line))


def in_range(low: float, high: float, *, whole: bool) -> str:
    """What a number may be.

    Parameters
    ----------
    low : the least
    high : the most
    whole : no fractions

    Returns
    -------
    The words.
    """
    return f"a {'whole ' if whole else ''}number from {plain(low)} to {plain(high)} is allowed"


def allowed(complaint: Mapping[str, Any]) -> str:
    """What a key takes, in words, from a complaint of the library that checks such files."""
    bound = complaint.get("ctx", {})
    if complaint["type"] == "less_than_equal":
        return f"at most {plain(bound['le'])} is allowed"
    if complaint["type"] == "greater_than":
        return f"more than {plain(bound['gt'])} is allowed"
    if complaint["type"] == "greater_than_equal":
        return f"at least {plain(bound['ge'])} is allowed"
    if complaint["type"] == "string_too_long":
        return f"at most {count(bound['max_length'])} characters are allowed"
    if complaint["type"] in ("tuple_type", "too_short") and len(complaint["loc"]) > 1:  # of a key, not of the tables
        return _LIST
    if (words := _ALLOWED.get(complaint["type"])) is not None:
        return words.format(section=complaint["loc"][0])
    return str(complaint["msg"]).removeprefix("Value error, ").replace("Input should be", "allowed is")


def wrong_value(key: str, value: Any, takes: str) -> str:
    """A value that a key does not take, cut where it is long, and what it takes.

    Parameters
    ----------
    key : with its section
    value : as it stands there
    takes : what is allowed

    Returns
    -------
    The words.
    """
    text = repr(value)
    shown = text if len(text) < _LONGEST else f"{text[: _LONGEST - 3]}…"
    return f"{key} = {shown}: {takes}"


def no_files(label: str, *, line: int | None) -> ManifestError:
    """A ride of a manifest that names no files."""
    return ManifestError(label, "a ride names no files", place=line_place(line), hint=ONE_RIDE_A_TABLE)


def wrong_table(key: str, takes: str) -> str:
    """A table that lacks something, or stands where none does."""
    return f"{key}: {takes.lower() if 'required' in takes else takes}"


# ---- the column map ----


def encodings() -> str:
    """What the key takes."""
    return "an encoding such as utf-8, utf-16 or latin-1 is allowed"


def zones() -> str:
    """What the key takes."""
    return 'a zone such as "Europe/Lisbon" or "UTC" is allowed'


def quantities(known: Sequence[str]) -> str:
    """What the key takes."""
    return f"allowed are {', '.join(known)}, cell voltage 1 …"


def units() -> str:
    """What the key takes."""
    return "a unit such as A, mA, V, mV, W, km/h, m/s, mph, m, km, s, ms, °C, Ah or Wh is allowed"


def unit_of_another(quantity: str, unit: str) -> str:
    """A unit that a quantity is not measured in."""
    return f"{quantity} is not measured in {unit}"


def no_such_column(label: str, header: str, files: Mapping[str, Sequence[str]]) -> ColumnMapError:
    """A header that none of the logs has.

    Parameters
    ----------
    label : what the file is called
    header : as the map has it
    files : headers by file

    Returns
    -------
    The error.
    """
    there = "; ".join(f"{file}: {', '.join(headers)}" for file, headers in files.items())
    return ColumnMapError(label, f"no log has a column headed '{header}'", hint=f"the columns are {there}")


# ---- the bike file ----


def cannot_set_keys(label: str, keys: Sequence[str]) -> BikeFileError:
    """Written in a form in which single keys cannot be set."""
    what = "is written in a form that single keys cannot be set in; nothing was changed"
    return BikeFileError(label, what, hint=f"set {'; '.join(keys)}")


def cannot_name_hill(label: str, road: str) -> HillNamesError:
    """Written in a form in which a name cannot be set."""
    what = "is written in a form that a name cannot be set in; nothing was changed"
    return HillNamesError(label, what, hint=f"below [hill], set {road}")


# ---- the manifest of rides ----


def in_two_rides(label: str, name: str) -> ManifestError:
    """One file in two rides, or twice in one."""
    return ManifestError(label, f"{name!r} stands there twice", hint="a file belongs to one ride; name it once")
