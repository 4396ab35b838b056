"""What a visitor gave at once: recordings, perhaps a bike file and a column map, and the ride that was in view."""

from collections.abc import Callable, Sequence
from typing import Any

from ridelog.errors import InputError
from ridelog.lazy import dataclass
from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.measuring import NamedPath
from ridelog.web.tray.tray import Text


@dataclass(frozen=True)
class Drop:
    """What a visitor gave at once.

    Attributes
    ----------
    recordings : names and paths
    bike, columns : texts among them
    on : the ride that was in view
    complaints : why others among them are not used
    """

    recordings: tuple[NamedPath, ...]
    bike: Text | None = None
    columns: Text | None = None
    on: str | None = None
    complaints: tuple[str, ...] = ()


def drop_of(
    files: Sequence[NamedPath],
    is_map: Callable[[str, Any], bool],
    on: str | None,
    check: Callable[[Text], None] = lambda _bike: None,
) -> Drop:
    """Files told apart; one that cannot be used does not keep the recordings out. Of two bike files neither is used.

    Parameters
    ----------
    files : names and paths
    is_map : whether a TOML file is a column map
    on : the ride that was in view
    check : raises an `InputError` for a bike file that cannot be used

    Returns
    -------
    The drop.

    Raises
    ------
    InputError : without recordings, where any of the texts cannot be used
    """
    recordings: list[NamedPath] = []
    texts: dict[bool, Text] = {}
    doubled: set[bool] = set()
    wrong: list[InputError] = []
    for name, path in files:
        if not name.lower().endswith(".toml"):
            recordings.append((name, path))
            continue
        try:
            with path.open("rb") as stream:
                column_map = is_map(name, stream)
            if column_map in texts:
                doubled.add(column_map)
                raise refusals.second_table(name, texts[column_map].name, is_map=column_map)
            text = Text(name, path.read_text(encoding="utf-8-sig"))
            if not column_map:
                check(text)
            texts[column_map] = text
        except InputError as error:
            wrong.append(error)
        path.unlink()
    if wrong and not recordings:
        raise wrong[0]
    texts = {kind: text for kind, text in texts.items() if kind not in doubled}
    complaints = tuple("\n".join(error.lines()) for error in wrong)
    return Drop(tuple(recordings), texts.get(False), texts.get(True), on, complaints)
