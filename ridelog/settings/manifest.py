"""The manifest of a bike's folder: which files are one ride, where time and folder do not say it.

::

    [[ride]]
    files = ["monday/log.csv", "monday/track.gpx"]   # from the folder of the manifest
    name = "to work"                                  # optional
    group = "regen strong"                            # optional: what it is compared as
"""

from collections.abc import Iterable
from pathlib import Path

from pydantic import Field, ValidationError

from ridelog.errors import ManifestError
from ridelog.settings.toml_files import Section, line_of, read_toml
from ridelog.tell.refusals import settings as refusals

NAME = "rides.toml"


class RideEntry(Section):
    """One ride of the manifest."""

    files: tuple[str, ...] = Field(min_length=1, strict=False)
    name: str | None = Field(default=None, max_length=200)
    group: str | None = Field(default=None, max_length=200)


class Manifest(Section):
    """The whole manifest."""

    ride: tuple[RideEntry, ...] = Field(default=(), strict=False)


def read_manifest(path: Path, name: str | None = None) -> Manifest:
    """Read a manifest; ``name`` is what messages call it, its path where ``None``.

    Raises
    ------
    ManifestError : not readable, not TOML, an unknown key, a value that is not allowed, or a file in two rides
    """
    label = name or str(path)
    text, data = read_toml(path, label, ManifestError, option=NAME, form=lambda _: refusals.ONE_RIDE_A_TABLE)
    try:
        manifest = Manifest.model_validate(data)
    except ValidationError as error:
        complaints = error.errors(include_url=False)
        first = next((one for one in complaints if one["type"] == "extra_forbidden"), complaints[0])  # a slip in a name
        line = line_of(text, list(first["loc"]))
        keys = ".".join(str(part) for part in first["loc"] if not isinstance(part, int))
        if first["type"] == "extra_forbidden":
            known = list((Manifest if len(first["loc"]) == 1 else RideEntry).model_fields)
            raise refusals.unknown_key(ManifestError, label, keys, line=line, known=known) from error
        if first["type"] == "missing":
            raise refusals.no_files(label, line=line) from error
        wrong = refusals.wrong_value(keys, first["input"], refusals.allowed(first))
        raise refusals.not_allowed(ManifestError, label, wrong, line=line) from error
    twice = _first_repeated(name for entry in manifest.ride for name in entry.files)
    if twice is not None:
        raise refusals.in_two_rides(label, twice)
    return manifest


def _first_repeated(names: Iterable[str]) -> str | None:
    """The first name that was met before; each is looked for once, however many there are."""
    met: set[str] = set()
    for name in names:
        if name in met:
            return name
        met.add(name)
    return None
