"""The user's own TOML files, the bike file and the column map: opened and read, and their mistakes in words."""

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, BinaryIO

from ridelog.errors import InputError

# pydantic's words for what a key takes are those of a programmer
_ALLOWED = {
    "bool_type": "true or false is allowed",
    "string_type": "text in quotation marks is allowed",
    "tuple_type": "tables are allowed, each headed [[{section}]] on a line of its own",
    "model_type": "a table is allowed, headed [{section}] on a line of its own",
}


def read_toml(
    source: str | Path | BinaryIO,
    label: str,
    error: type[InputError],
    *,
    option: str,
    form: Callable[[str], str],
) -> tuple[str, dict[str, Any]]:
    """The text of a TOML file and what it says.

    Parameters
    ----------
    source : path, or binary file opened for reading
    label : what messages call it
    error : the exception to raise
    option : the option that takes such a file, for a hint
    form : from the text to the hint that says how such a file is written

    Raises
    ------
    InputError : of the class ``error``; it cannot be opened, is not UTF-8 text, or not TOML
    """
    try:
        content = Path(source).read_bytes() if isinstance(source, (str, Path)) else source.read()
    except (OSError, ValueError) as cause:  # ValueError: a null character in the name, or a closed file
        reason = getattr(cause, "strerror", None) or str(cause)
        raise error(label, reason.lower(), hint=f"{option} takes a TOML file; is the name spelled right?") from cause
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as cause:
        hint = "save it as UTF-8 in a text editor"
        raise error(label, "is not UTF-8 text", place=f"byte {cause.start}", hint=hint) from cause
    try:
        return text, tomllib.loads(text)
    except tomllib.TOMLDecodeError as cause:
        raise error(label, f"is not TOML: {cause}", hint=form(text)) from cause


def allowed(complaint: Mapping[str, Any]) -> str:
    """What a key takes, in words, from one of pydantic's complaints."""
    if (words := _ALLOWED.get(complaint["type"])) is not None:
        return words.format(section=complaint["loc"][0])
    return str(complaint["msg"]).removeprefix("Value error, ").replace("Input should be", "allowed is")


def shown(value: Any, *, longest: int = 60) -> str:
    """A wrong value as a message repeats it, cut where it is long."""
    text = repr(value)
    return text if len(text) < longest else f"{text[: longest - 3]}…"
