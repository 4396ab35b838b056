"""How a document is to be made, and what it was made from."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import PurePath
from typing import Literal

from ridelog.lazy import dataclass
from ridelog.tell.numbers import PAGE, Style

Paper = Literal["a4", "letter"]
PAPERS: Mapping[str, str] = {"a4": "A4", "letter": "letter"}


@dataclass(frozen=True)
class GivenFile:
    """A file beside the recordings that the answer rests on: a bike file or a column map."""

    name: str
    role: str
    sha256: str


@dataclass(frozen=True)
class Making:
    """How a document is to be made.

    Attributes
    ----------
    style : units, digits and separators
    paper : that it is printed on
    with_places : whether positions may be shown
    command : by which it is made again; ``None`` where nobody knows
    given : files beside the recordings
    dated : a date to put on it; none by default, so that the same input makes the same bytes
    """

    style: Style = PAGE
    paper: Paper = "a4"
    with_places: bool = True
    command: str | None = None
    given: tuple[GivenFile, ...] = ()
    dated: date | None = None


def short_names(paths: Sequence[str]) -> dict[str, str]:
    """Each path by as little of its end as tells it from the others: a document need not tell where it was made.

    Parameters
    ----------
    paths : as they were given

    Returns
    -------
    path -> name
    """
    parts = {path: PurePath(path.replace("\\", "/")).parts for path in paths}
    names = {}
    for path, own in parts.items():
        others = [other for key, other in parts.items() if key != path]
        n = next((n for n in range(1, len(own)) if all(other[-n:] != own[-n:] for other in others)), len(own))
        names[path] = "/".join(own[-n:]).replace("//", "/")
    return names
