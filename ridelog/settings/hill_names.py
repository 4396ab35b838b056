"""What a rider calls the hills of a store: `NAME` beside its tables.

::

    [hill]
    3f2a91c0 = "Mill Lane"      # the identifier without its direction, as an audit's JSON has it
"""

from collections.abc import MutableMapping
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError

from ridelog.destination import written_whole
from ridelog.errors import HillNamesError
from ridelog.settings.toml_edit import edited
from ridelog.settings.toml_files import Section, line_of, read_toml
from ridelog.tell.refusals import settings as refusals

NAME = "hills.toml"


class HillNames(Section):
    """Names by identifier."""

    hill: dict[str, str] = Field(default_factory=dict)


def read_hill_names(path: Path) -> dict[str, str]:
    """Names of hills by identifier; none where there is no such file.

    Raises
    ------
    HillNamesError : not readable, not TOML, or a name that is no text
    """
    if not path.exists():
        return {}
    label = str(path)
    text, data = read_toml(path, label, HillNamesError, option=NAME, form=lambda _: refusals.ONE_HILL_A_LINE)
    try:
        return HillNames.model_validate(data).hill
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        keys = ".".join(str(part) for part in first["loc"])
        line = line_of(text, list(first["loc"]))
        if first["type"] == "extra_forbidden":
            raise refusals.unknown_key(HillNamesError, label, keys, line=line, known=["hill"]) from error
        wrong = refusals.wrong_value(keys, first["input"], refusals.allowed(first))
        raise refusals.not_allowed(HillNamesError, label, wrong, line=line) from error


def write_hill_name(path: Path, road: str, name: str) -> None:
    """Give a hill a name; what else stands in the file stays as it is.

    Parameters
    ----------
    path : of the file, which is made where there is none
    road : the hill's identifier without its direction
    name : what it is called; by its number again where empty

    Raises
    ------
    HillNamesError : what is there is no such file, or written in a form that a name cannot be set in
    RidelogError : it cannot be written
    """
    read_hill_names(path)

    def change(tables: MutableMapping[str, Any]) -> None:
        names = tables.setdefault("hill", {})
        if name:
            names[road] = name
        else:
            names.pop(road, None)

    written = edited(path.read_bytes().decode("utf-8") if path.exists() else "", change)
    if written is None:
        raise refusals.cannot_name_hill(str(path), road)
    with written_whole(str(path)) as stream:
        stream.write(written)
