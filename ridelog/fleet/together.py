"""What many rides tell together, said once: from the store's catalogue, as long as nothing has changed since."""

import contextlib
import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from importlib import import_module
from pathlib import Path

from ridelog.errors import AnswerError
from ridelog.fleet.record import Audit
from ridelog.fleet.store.store import Store
from ridelog.fleet.task import Failure
from ridelog.fleet.versions import code_digest
from ridelog.lazy import dataclass
from ridelog.settings.hill_names import NAME as HILL_NAMES
from ridelog.settings.hill_names import read_hill_names

# By name: none is used here, and statistics are imported where they are used, for few commands need them.
_STATISTICS = (
    "ridelog.fleet.summary",
    "ridelog.fleet.store.merging",
    "shapely",
    "statsmodels.stats.meta_analysis",
    "statsmodels.stats.multitest",
)


@dataclass(frozen=True)
class Called:
    """One ride: its key, and what it is called."""

    key: str
    bike: str
    name: str
    group: str | None


@dataclass(frozen=True)
class Beside:
    """What an audit says beside what rides tell: how many were measured now and before, and what could not be."""

    measured: int
    unchanged: int
    failed: tuple[Failure, ...]


def _nothing() -> None:
    """Nothing is to be done before."""


def load_statistics() -> None:
    """Load the libraries by which rides are merged and looked at together: more than a second of the processor."""
    with contextlib.suppress(ImportError):  # told where they are used
        for name in _STATISTICS:
            import_module(name)


def together(store: Store, rides: Sequence[Called], beside: Beside, *, before: Callable[[], None] = _nothing) -> Audit:
    """What rides tell together; from the catalogue where nothing has changed since it was said.

    Parameters
    ----------
    store : that holds the rides
    rides : that are looked at
    beside : what else the audit says
    before : done where it is to be said anew

    Returns
    -------
    The audit.

    Raises
    ------
    StoreError : the store cannot be read or written
    HillNamesError : the names of its hills cannot be read
    """
    digest = _digest(store, rides)
    return with_hill_names(_said(store, rides, beside, digest, before), hill_names(store))


def _said(store: Store, rides: Sequence[Called], beside: Beside, digest: str, before: Callable[[], None]) -> Audit:
    """The audit, in which hills have numbers alone: a name that is given moves nothing else."""
    if store.catalogue is not None and (text := store.catalogue.report(digest)) is not None:
        with contextlib.suppress(AnswerError, ValueError):
            kept = Audit.read(json.loads(text))
            return replace(kept, measured=beside.measured, unchanged=beside.unchanged, failed=beside.failed)
    before()
    from ridelog.fleet.summary import audit_of  # statistics take a second to load

    keys, state = sorted({ride.key for ride in rides}), store.state()
    result = audit_of(store, keys, (beside.measured, beside.unchanged), beside.failed)
    if store.catalogue is not None and store.state() == state:  # else it may lack a ride that was being kept anew
        store.catalogue.keep_report(digest, json.dumps(result.kept()))
    return result


def with_hill_names(audit: Audit, names: Mapping[str, str]) -> Audit:
    """The same audit, with hills called as a rider does, where one gave them a name.

    Parameters
    ----------
    audit : in which hills have numbers
    names : by a hill's identifier without its direction

    Returns
    -------
    The audit.
    """
    hills = []
    for hill in audit.hills:
        own = names.get(hill.id.removesuffix(f"-{hill.direction}"))
        hills.append(hill if own is None else replace(hill, name=f"{own}, {hill.direction}"))
    return replace(audit, hills=tuple(hills))


def hill_names(store: Store) -> Mapping[str, str]:
    """What the hills of a store are called, by a hill's identifier without its direction.

    Raises
    ------
    HillNamesError : the names cannot be read
    """
    return read_hill_names(Path(store.address) / HILL_NAMES) if store.local else {}


def audit_of_store(store: Store) -> Audit:
    """What all rides of a store tell together, and which could not be measured when they were tried last.

    Raises
    ------
    StoreError : the store cannot be read
    HillNamesError : the names of its hills cannot be read
    """
    named = store.answers(columns=["key", "bike", "name", "group"])
    rides = [
        Called(key, bike, name, group if isinstance(group, str) else None)
        for key, bike, name, group in named.itertuples(index=False)
    ]
    return together(store, rides, Beside(0, len(rides), tuple(_failed(store, {ride.key for ride in rides}))))


def _failed(store: Store, held: set[str]) -> Iterable[Failure]:
    """Rides that could not be measured."""
    attempts = {} if store.catalogue is None else store.catalogue.attempts()
    failed = [
        Failure(last.paths.partition("\n")[0], str(last.reason), last.hint)
        for key, last in attempts.items()
        if last.status == "failed" and key not in held
    ]
    return sorted(failed, key=lambda failure: failure.path)


def _digest(store: Store, rides: Iterable[Called]) -> str:
    """Of all that an audit depends on: the rides and their names, the version of each, and ours."""
    held = store.keys()
    told_of = sorted(f"{ride.key}\0{held.get(ride.key, '')}\0{ride.bike}\0{ride.name}\0{ride.group}" for ride in rides)
    return hashlib.sha256("\n".join([code_digest(), *told_of]).encode()).hexdigest()
