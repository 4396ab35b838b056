"""What a visitor gave at once: recordings, perhaps a bike file, a column map and a manifest, and the ride in view."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from pathlib import PurePosixPath
from typing import Any

from ridelog.errors import InputError, ManifestError
from ridelog.lazy import dataclass
from ridelog.settings.manifest import NAME as MANIFEST
from ridelog.settings.manifest import RideEntry, read_manifest
from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.measuring import NamedPath
from ridelog.web.tray.tray import Text


@dataclass(frozen=True)
class Drop:
    """What a visitor gave at once.

    Attributes
    ----------
    recordings : names, with the folders below the bike's where there are such, and paths
    bike, columns : texts among them
    on : the ride that was in view
    complaints : why others among them are not used
    home : folder of the bike that all of it is of; empty where there is none
    listed : what a manifest among them says of a ride, by the names of its recordings
    among_others : other bikes were given at the same time, so that what comes later may be of any of them
    """

    recordings: tuple[NamedPath, ...]
    bike: Text | None = None
    columns: Text | None = None
    on: str | None = None
    complaints: tuple[str, ...] = ()
    home: str = ""
    listed: Mapping[str, RideEntry] = field(default_factory=dict)
    among_others: bool = False


def drop_of(
    files: Sequence[NamedPath],
    is_map: Callable[[str, Any], bool],
    on: str | None,
    check: Callable[[Text], None] = lambda _bike: None,
) -> Drop:
    """Files told apart; one that cannot be used does not keep the recordings out. Of two bike files neither is used.

    Parameters
    ----------
    files : names, with folders where they lay in some, and paths
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
    listed, wrong = _listed(files)
    recordings: list[NamedPath] = []
    texts: dict[bool, Text] = {}
    doubled: set[bool] = set()
    for place, path in files:
        name = PurePosixPath(place).name
        if not name.lower().endswith(".toml"):
            recordings.append((place, path))
            continue
        try:
            if name != MANIFEST:
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
    return Drop(tuple(recordings), texts.get(False), texts.get(True), on, complaints, listed=listed)


def _listed(files: Sequence[NamedPath]) -> tuple[Mapping[str, RideEntry], list[InputError]]:
    """What manifests among files say, by the places of the recordings, and what is wrong with them."""
    there = {place for place, _ in files}
    found: dict[str, RideEntry] = {}
    wrong: list[InputError] = []
    for place, path in files:
        folder = PurePosixPath(place).parent
        if PurePosixPath(place).name != MANIFEST:
            continue
        try:
            for entry in read_manifest(path, MANIFEST).ride:
                places = [str(folder / name) for name in entry.files]
                if there.issuperset(places):  # a folder may come in parts
                    found |= dict.fromkeys(places, entry)
        except ManifestError as error:
            wrong.append(error)
    return found, wrong
