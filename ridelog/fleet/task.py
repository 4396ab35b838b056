"""One ride measured and kept: the task that goes to a process, or to a worker on another machine.

It takes paths and gives back a few words: the ride itself goes from the worker to the store.
"""

from dataclasses import field

from ridelog.budget import within
from ridelog.errors import InputError, RidelogError
from ridelog.fleet.folders import RideFiles
from ridelog.fleet.store.store import Store
from ridelog.lazy import dataclass
from ridelog.tell.refusals import folders


@dataclass(frozen=True)
class Task:
    """A ride to measure.

    Attributes
    ----------
    ride : its files
    store : that keeps it
    """

    ride: RideFiles
    store: Store


@dataclass(frozen=True)
class Failure:
    """Why a ride, or a file, is not in the answer.

    Attributes
    ----------
    path : of the file, or of the first of the ride's
    reason, hint : what is wrong with it and what to do
    again : it may go better another time: its process was ended, by whatever
    """

    path: str
    reason: str
    hint: str | None = None
    again: bool = field(default=False, compare=False)

    @classmethod
    def of(cls, error: RidelogError, path: str) -> "Failure":
        """The words of an error, at its own file where it names one."""
        if not isinstance(error, InputError):
            return cls(path, error.message, error.hint)
        return cls(error.source, error.what if error.place is None else f"{error.place}: {error.what}", error.hint)


def measured(task: Task) -> Failure | None:
    """Measure a ride and write it to the store.

    Parameters
    ----------
    task : of a ride whose files this process can read, and a store that it can write to

    Returns
    -------
    Why it cannot be measured; ``None`` where it was.

    Raises
    ------
    StoreError : the store cannot be written
    """
    from ridelog import load_ride, measure
    from ridelog.fleet.beside import beside, coasting_beside
    from ridelog.fleet.store.measured import MeasuredRide

    files = task.ride
    try:
        with within():
            ride = load_ride(
                [str(path) for path in files.paths],
                bike=None if files.bike_file is None else str(files.bike_file.path),
                columns=None if files.column_map is None else str(files.column_map.path),
            )
            answer = measure(ride)
            extra = {
                **beside(answer),
                **coasting_beside(ride),
                "recordings": files.recordings_key,
                "bike_file": None if files.bike_file is None else files.bike_file.sha256,
                "column_map": None if files.column_map is None else files.column_map.sha256,
            }
    except RidelogError as error:
        return Failure.of(error, str(files.paths[0]))
    except Exception as error:  # noqa: BLE001  (one bad ride never stops an audit)
        return Failure.of(folders.own_fault(str(files.paths[0]), f"{type(error).__name__}: {error}"), "")
    task.store.write(MeasuredRide(files.key, files.bike, files.name, files.group, answer, extra))
    return None
