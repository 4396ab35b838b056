"""A visitor's ride measured once more, with all that a store keeps of it, and put there."""

import hashlib
from typing import TYPE_CHECKING, BinaryIO

from ridelog.answer.ride import Answer
from ridelog.fleet.folders import key_of
from ridelog.fleet.store.store import Store
from ridelog.lazy import dataclass
from ridelog.web.jobs.measuring import Given, measure_given
from ridelog.web.rides import Columns

if TYPE_CHECKING:
    from ridelog.recording import Ride


@dataclass(frozen=True)
class Place:
    """Where a ride is kept, what it and its bike are called there, and what it is compared as."""

    store: Store
    bike: str
    name: str
    group: str | None = None


def keep_given(given: Given, place: Place) -> tuple[Answer, tuple[Columns, ...]]:
    """Measure as `measure_given` does, and keep the ride; it replaces one that was made of the same files.

    Parameters
    ----------
    given : what the visitor gave
    place : where it is kept

    Returns
    -------
    The answer, and how each log's columns were understood.

    Raises
    ------
    RidelogError : the files cannot be read, or the store cannot be written
    """
    logs = [_sha256(content) for _, content in given.logs]
    bike_file, column_map = (None if file is None else _sha256(file[1]) for file in (given.bike, given.columns))
    texts = [each for each in (bike_file, column_map) if each is not None]
    said = [hashlib.sha256(text.encode()).hexdigest() for text in given.corrections.values()]

    def kept(ride: "Ride") -> Answer:
        from ridelog import measure
        from ridelog.fleet.beside import beside, coasting_beside
        from ridelog.fleet.store.measured import MeasuredRide

        answer = measure(ride)
        extra = {
            **beside(answer),
            **coasting_beside(ride),
            "recordings": key_of(logs),
            "bike_file": bike_file,
            "column_map": column_map,
        }
        key = key_of([*logs, *texts, *said])
        place.store.write(MeasuredRide(key, place.bike, place.name, place.group, answer, extra))
        return answer

    return measure_given(given, kept)


def _sha256(content: BinaryIO) -> str:
    digest = hashlib.sha256()
    content.seek(0)
    while chunk := content.read(1 << 20):
        digest.update(chunk)
    content.seek(0)
    return digest.hexdigest()
