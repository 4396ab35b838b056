"""The sample rides: folders with an ``about.toml`` beside the logs."""

from pathlib import Path

from ridelog.errors import InputError
from ridelog.lazy import dataclass
from ridelog.settings.toml_files import read_toml
from ridelog.tell.refusals import commands as refusals
from ridelog.tell.refusals.settings import SAMPLE_KEYS


@dataclass(frozen=True)
class Sample:
    """One sample ride as the page offers it; ``files`` and ``bike`` are paths."""

    slug: str
    title: str
    sentence: str
    files: tuple[Path, ...]
    bike: Path | None
    order: float


def list_samples(folder: Path | None) -> tuple[Sample, ...]:
    """The sample rides below ``folder`` in their order; none where there is no such folder.

    Raises
    ------
    InputError : an ``about.toml`` that is not TOML, lacks a key or names a file that is not there
    """
    if folder is None or not folder.is_dir():
        return ()
    found = [_read(about) for about in sorted(folder.glob("*/about.toml"))]
    return tuple(sorted(found, key=lambda sample: (sample.order, sample.slug)))


def _read(about: Path) -> Sample:
    _, data = read_toml(
        about,
        str(about),
        InputError,
        option="a sample ride",
        form=lambda _: SAMPLE_KEYS,
    )
    try:
        files = tuple(about.parent / str(name) for name in data["files"])
        bike = about.parent / str(data["bike"]) if data.get("bike") else None
        sample = Sample(
            about.parent.name,
            str(data["title"]),
            str(data.get("sentence", "")),
            files,
            bike,
            float(data.get("order", 1000)),
        )
    except (KeyError, TypeError, ValueError) as error:
        raise refusals.no_sample_ride(str(about), str(error)) from error
    for path in (*files, *([bike] if bike else [])):
        if not path.is_file():
            raise refusals.sample_file_missing(str(about), path.name)
    return sample
