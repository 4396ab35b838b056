"""Data that were to be read back and are no answer."""

from typing import Any

from ridelog.errors import AnswerError

_LONGEST = 40


def _shown(data: Any) -> str:
    text = repr(data)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"


def no_schema() -> AnswerError:
    """Not even a key that says which schema it is."""
    return AnswerError("answer", "is no JSON of ridelog: it has no key schema")


def schema_is_no_number(schema: Any) -> AnswerError:
    """A schema is a whole number."""
    return AnswerError("answer", f"is no JSON of ridelog: schema is {_shown(schema)}, not a number")


def newer_schema(schema: int, known: int) -> AnswerError:
    """Written by a later ridelog."""
    what = f"has schema {schema}, and this ridelog reads {known} at most"
    return AnswerError("answer", what, hint="a newer ridelog reads it")


def older_schema(schema: int) -> AnswerError:
    """Written by an earlier ridelog."""
    what = f"has schema {schema}, which ridelog no longer reads"
    return AnswerError("answer", what, hint="measure the ride again from its logs")


def missing(key: str, place: str) -> AnswerError:
    """A key that must be there."""
    return AnswerError("answer", f"{key} is missing", place=place or None)


def unfit(place: str, data: Any, wanted: str) -> AnswerError:
    """A value of another kind than its key takes.

    Parameters
    ----------
    place : where in the answer
    data : what stands there
    wanted : what should

    Returns
    -------
    The error.
    """
    return AnswerError("answer", f"{_shown(data)} is not {wanted}", place=place or None)
