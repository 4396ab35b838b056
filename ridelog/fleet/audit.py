"""Many bikes, many rides: find them, measure what is new, and say what all of them together tell.

A ride is measured once: its key is that of its contents, and a ride whose key the store holds is not measured again,
unless a version measured it that would have answered differently (`ridelog.fleet.versions`). A ride that could not be
measured is not tried again as long as its files and ridelog are the same; it is listed all the same. Where a bike file
has changed, the rides are measured anew by it, and what the earlier one made of them leaves the store.
"""

import contextlib
import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from ridelog import __version__
from ridelog.errors import AnswerError
from ridelog.fleet.folders import Found, RideFiles, find_rides
from ridelog.fleet.looks import KeptLooks
from ridelog.fleet.record import Audit
from ridelog.fleet.store.catalogue import Attempt
from ridelog.fleet.store.store import Store
from ridelog.fleet.task import Failure, Task
from ridelog.fleet.versions import answers_alike
from ridelog.fleet.workers import n_cores, on_cluster, on_processes
from ridelog.settings.hill_names import NAME as HILL_NAMES

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
    found = _found(folders, store)
    new, failed = _to_measure(found, store)
    if new:
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
    if new:
        _drop_superseded(store, found)
    listed = (*(Failure.of(error, error.source) for error in found.failed), *failed)
    n_measured = len(new) - n_failed
    counts = n_measured, len(found.rides) - n_measured - len(failed)
    return _together(store, found, counts, sorted(listed, key=lambda failure: failure.path))


def _found(folders: Sequence[str | Path], store: Store) -> Found:
    looks = None if store.catalogue is None else KeptLooks(store.catalogue)
    found = find_rides([Path(folder) for folder in folders], looks)
    if looks is not None:
        looks.save()
    return found


def _to_measure(found: Found, store: Store) -> tuple[list[RideFiles], list[Failure]]:
    """Rides that are to be measured, and why others could not be, the last time."""
    held = store.keys()
    attempts = {} if store.catalogue is None else store.catalogue.attempts()
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
    paths = "\n".join(str(path) for path in ride.paths)
    now = datetime.now(UTC).isoformat(timespec="seconds")
    reason, hint = (None, None) if failure is None else (failure.reason, failure.hint)
    status: Literal["measured", "failed"] = "measured" if failure is None else "failed"
    store.catalogue.note([Attempt(ride.key, paths, ride.bike, ride.name, status, reason, hint, __version__, now)])


def _drop_superseded(store: Store, found: Found) -> None:
    """Let go what an earlier bike file made of recordings that were measured by another one since."""
    kept = store.answers(columns=["key", "recordings"])
    current = {ride.key for ride in found.rides}
    anew = set(kept["recordings"][kept["key"].isin(current)])
    for key, recordings in zip(kept["key"], kept["recordings"], strict=True):
        if recordings in anew and key not in current:
            store.remove(key)


def _together(store: Store, found: Found, counts: tuple[int, int], failed: Sequence[Failure]) -> Audit:
    """What all rides tell; from the catalogue where nothing has changed since it was said."""
    held = store.keys()
    keys = sorted(ride.key for ride in found.rides if ride.key in held)
    if store.catalogue is None:
        return _looked_at(store, keys, counts, failed)
    names = Path(store.address, HILL_NAMES)
    told_names = names.read_bytes() if names.is_file() else b""
    digest = hashlib.sha256("\n".join([__version__, *keys]).encode() + told_names).hexdigest()
    if (text := store.catalogue.report(digest)) is not None:
        with contextlib.suppress(AnswerError, ValueError):
            return replace(Audit.read(json.loads(text)), measured=counts[0], unchanged=counts[1], failed=tuple(failed))
    result = _looked_at(store, keys, counts, failed)
    store.catalogue.keep_report(digest, json.dumps(result.kept()))
    return result


def _looked_at(store: Store, keys: Sequence[str], counts: tuple[int, int], failed: Sequence[Failure]) -> Audit:
    from ridelog.fleet.summary import audit_of  # statistics take a second to load

    return audit_of(store, keys, counts, failed)
