"""Many bikes, many rides: find them, measure what is new, and say what all of them together tell.

A ride is measured once: its key is that of its contents, and a ride whose key the store holds is not measured again,
unless a version measured it that would have answered differently (`ridelog.fleet.versions`). A ride that could not be
measured is not tried again as long as its files and ridelog are the same; it is listed all the same. Where a bike file
has changed, the rides are measured anew by it, and what the earlier one made of them leaves the store. Names are no
part of a key: a bike, ride or group that is called otherwise, or files that were moved, are noted without measuring.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from threading import Thread
from typing import Any, Literal

from ridelog import __version__
from ridelog.fleet.folders import Found, RideFiles, find_rides
from ridelog.fleet.look import Look, look_at
from ridelog.fleet.looks import KeptLooks
from ridelog.fleet.record import Audit
from ridelog.fleet.store.catalogue import Attempt
from ridelog.fleet.store.store import Store
from ridelog.fleet.task import Failure, Task
from ridelog.fleet.together import Beside, Called, load_statistics, together
from ridelog.fleet.versions import answers_alike
from ridelog.fleet.workers import FEWEST_LARGE, FEWEST_SHARED, n_cores, on_cluster, on_processes, spread
from ridelog.lazy import dataclass

STORE_NAME = "ridelog-store"  # in the first folder, where nobody names another


@dataclass(frozen=True)
class Progress:
    """How far an audit is: rides done of those to measure, and how many of these could not be."""

    done: int
    of: int
    failed: int


def _silent(_progress: Progress) -> None:
    """Nobody watches."""


@dataclass(frozen=True)
class Hands:
    """Who measures: so many processes of this computer (all its cores by default), or a Dask scheduler."""

    workers: int | None = None
    scheduler: str | None = None

    def look(self, paths: Sequence[Path]) -> Iterator[Look]:
        """Look at files."""
        return self.spread(look_at, paths)

    def spread(self, work: Callable[[Any], Any], given: Sequence[Any]) -> Iterator[Any]:
        """Do small work, on this computer in any case."""
        return spread(work, given, self.workers or n_cores())

    def merge(self, work: Callable[[Any], Any], given: Sequence[Any]) -> Iterator[Any]:
        """Merge parts of a store, on this computer in any case."""
        return spread(work, given, self.workers or n_cores(), fewest=FEWEST_LARGE, at_once=1)

    def measure(self, tasks: Sequence[Task]) -> Iterator[tuple[Task, Failure | None]]:
        """Measure rides; each task as it is done."""
        if not tasks:
            return iter(())
        if self.scheduler is not None:
            return on_cluster(tasks, self.scheduler)
        return on_processes(tasks, self.workers or n_cores())


THIS_COMPUTER = Hands()


def default_store(folders: Sequence[str | Path]) -> str:
    """Where the rides of some folders are kept if nobody says it: in a folder of the first."""
    return str(Path(folders[0]) / STORE_NAME)


def audit(
    folders: Sequence[str | Path],
    store: Store,
    *,
    hands: Hands = THIS_COMPUTER,
    told: Callable[[Progress], None] = _silent,
) -> Audit:
    """Measure all rides below some folders that the store does not hold yet, and look at all of them together.

    Parameters
    ----------
    folders : see `ridelog.fleet.folders.find_rides`
    store : that keeps the rides
    hands : who measures
    told : called at the beginning and with each ride that is done

    Returns
    -------
    What was measured, what failed, what each bike's rides tell and what stands out.

    Raises
    ------
    UsageError : not a folder, or no ride in one
    StoreError : the store cannot be read or written
    """
    loading = _Loading()
    found = _found(folders, store, hands, loading)
    new, failed = _to_measure(found, store)
    if new:
        loading.begin()
        store.tidy()
    told(Progress(0, len(new), 0))
    n_failed = 0
    tasks = [Task(ride, store) for ride in new]
    for done, (task, failure) in enumerate(hands.measure(tasks), start=1):
        _note(store, task.ride, failure)
        if failure is not None:
            failed.append(failure)
            n_failed += 1
        told(Progress(done, len(new), n_failed))
    loading.wait()
    if new:
        store.merge(hands.merge)
        _drop_superseded(store, found)
    listed = (*(Failure.of(error, error.source) for error in found.failed), *failed)
    n_measured = len(new) - n_failed
    counts = n_measured, len(found.rides) - n_measured - len(failed)
    return _together(store, found, counts, sorted(listed, key=lambda failure: failure.path), hands)


class _Loading:
    """What all rides are looked at with is loaded in this process while others begin, since these use one core then."""

    def __init__(self) -> None:
        self._thread: Thread | None = None

    def begin(self) -> None:
        """Begin to load, unless that was done."""
        if self._thread is None:
            self._thread = Thread(target=load_statistics, name="loading")
            self._thread.start()

    def wait(self) -> None:
        """Let it be loaded, where that was begun."""
        if self._thread is not None:
            self._thread.join()


def _found(folders: Sequence[str | Path], store: Store, hands: Hands, loading: _Loading) -> Found:
    def look(paths: Sequence[Path]) -> Iterator[Look]:
        if len(paths) >= FEWEST_SHARED:  # fewer are looked at by this process
            loading.begin()
        return hands.look(paths)

    kept = None if store.catalogue is None else KeptLooks(store.catalogue)
    found = find_rides([Path(folder) for folder in folders], kept, look)
    if kept is not None:
        kept.save()
    return found


def _to_measure(found: Found, store: Store) -> tuple[list[RideFiles], list[Failure]]:
    """Rides that are to be measured, and why others could not be, the last time."""
    held = store.keys()
    attempts = {} if store.catalogue is None else store.catalogue.attempts()
    _note_moved(store, found, attempts)
    new, failed = [], []
    for ride in found.rides:
        if (version := held.get(ride.key)) is not None and answers_alike(version):
            continue
        last = attempts.get(ride.key)
        if last is not None and last.status == "failed" and last.version == __version__:
            failed.append(Failure(str(ride.paths[0]), str(last.reason), last.hint))
        else:
            new.append(ride)
    return new, failed


def _note(store: Store, ride: RideFiles, failure: Failure | None) -> None:
    """Note what became of a ride, where the store keeps a catalogue."""
    if store.catalogue is None or (failure is not None and failure.again):
        return
    paths = _lines(ride)
    now = datetime.now(UTC).isoformat(timespec="seconds")
    reason, hint = (None, None) if failure is None else (failure.reason, failure.hint)
    status: Literal["measured", "failed"] = "measured" if failure is None else "failed"
    store.catalogue.note([Attempt(ride.key, paths, ride.bike, ride.name, status, reason, hint, __version__, now)])


def _lines(ride: RideFiles) -> str:
    """The paths of a ride, a line each."""
    return "\n".join(str(path) for path in ride.paths)


def _by_key(found: Found) -> dict[str, list[RideFiles]]:
    """The rides of each key: several where the same files lie with two bikes."""
    rides: dict[str, list[RideFiles]] = {}
    for ride in found.rides:
        rides.setdefault(ride.key, []).append(ride)
    return rides


def _note_moved(store: Store, found: Found, attempts: Mapping[str, Attempt]) -> None:
    """Note rides that lie elsewhere now, or are called otherwise, in the catalogue."""
    moved = []
    for key, rides in _by_key(found).items():
        last = attempts.get(key)
        told = [(_lines(ride), ride.bike, ride.name) for ride in rides]
        if last is not None and (last.paths, last.bike, last.name) not in told:
            paths, bike, name = told[0]
            moved.append(replace(last, paths=paths, bike=bike, name=name))
    if moved and store.catalogue is not None:
        store.catalogue.note(moved)


def _rename(store: Store, found: Found) -> None:
    """Call the rides in the store what they are called now."""
    from ridelog.fleet.store.measured import Names

    rides = _by_key(found)
    kept = store.answers(columns=["key", "bike", "name", "group"])
    names = {}
    for key, bike, name, group in kept[kept["key"].isin(rides)].itertuples(index=False):
        told = [Names(ride.bike, ride.name, ride.group) for ride in rides[key]]
        if Names(bike, name, group if isinstance(group, str) else None) not in told:
            names[key] = told[0]
    store.rename(names)


def _drop_superseded(store: Store, found: Found) -> None:
    """Let go what an earlier bike file made of recordings that were measured by another one since."""
    kept = store.answers(columns=["key", "recordings"])
    current = {ride.key for ride in found.rides}
    anew = set(kept["recordings"][kept["key"].isin(current)])
    store.remove(*kept["key"][kept["recordings"].isin(anew) & ~kept["key"].isin(current)])


def _together(store: Store, found: Found, counts: tuple[int, int], failed: Sequence[Failure], hands: Hands) -> Audit:
    """What all rides tell; from the catalogue where nothing has changed since it was said."""
    held = store.keys()
    rides = [Called(ride.key, ride.bike, ride.name, ride.group) for ride in found.rides if ride.key in held]

    def before() -> None:
        _rename(store, found)
        store.merge(hands.merge)  # also what an audit left that was ended, or was renamed

    return together(store, rides, Beside(*counts, tuple(failed)), before=before)
