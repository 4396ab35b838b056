"""Groups of rides as somebody chose them on the page, and the rides of each as a comparison takes them."""

import shlex
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path, PurePath
from typing import Any

from ridelog.compare.groups import Compared, compared
from ridelog.compare.places import GroupPlace, Query
from ridelog.fleet.audit import Hands, Progress
from ridelog.fleet.folders import RideFiles
from ridelog.fleet.look import Look, look_at
from ridelog.fleet.task import Failure, measured
from ridelog.fleet.task import Task as FleetTask
from ridelog.lazy import dataclass
from ridelog.report.making import short_names
from ridelog.settings.bike import read_bike
from ridelog.web.jobs.process import Limits, Tell
from ridelog.web.orders.order import Far

RIDE_S = 90.0  # that a ride may take, of the time of a comparison [s]
OWN_BIKE = "bike"  # where a bike file gives no name


@dataclass(frozen=True)
class StagedRide:
    """A visitor's ride: its name, its recordings, and its bike file and column map where it has them."""

    name: str
    recordings: tuple[Path, ...]
    bike: Path | None = None
    columns: Path | None = None


@dataclass(frozen=True)
class ChosenGroup:
    """One group of rides.

    Attributes
    ----------
    name : that the visitor gave it
    folders : all rides of them
    rides : of folders of which not all were chosen
    own : the visitor's
    queries : rides of a store
    """

    name: str
    folders: tuple[Path, ...] = ()
    rides: tuple[RideFiles, ...] = ()
    own: tuple[StagedRide, ...] = ()
    queries: tuple[Query, ...] = ()


class HereAlone(Hands):
    """Rides measured one after the other where this runs: a process of the page begins no others."""

    def spread(self, work: Callable[[Any], Any], given: Sequence[Any]) -> Iterator[Any]:
        """Do small work."""
        return map(work, given)

    def measure(self, tasks: Sequence[FleetTask]) -> Iterator[tuple[FleetTask, Failure | None]]:
        """Measure rides; each task as it is done."""
        return ((task, measured(task)) for task in tasks)


def n_rides(groups: Sequence[ChosenGroup]) -> int:
    """How many rides are in the groups, folders and stores counted as ten each."""
    return sum(len(each.rides) + len(each.own) + 10 * (len(each.folders) + len(each.queries)) for each in groups)


def limits_for(n_rides: int) -> Limits:
    """What the work on so many rides may take."""
    return Limits(longest_s=300.0 + RIDE_S * n_rides)


def rides_of(groups: Sequence[ChosenGroup], tell: Tell, *, fewest: int = 2) -> Compared:
    """The rides of some groups, measured.

    Parameters
    ----------
    groups : as they were chosen
    tell : to whoever waits
    fewest : groups that it takes

    Returns
    -------
    The rides by group.

    Raises
    ------
    UsageError : too few groups, no ride in one that could be measured, the same ride in two
    StoreError : a store cannot be read
    """
    tell(Far("reading").message())

    def told(progress: Progress) -> None:
        tell(Far("measuring", progress.done, progress.of).message())

    found = compared(list(_places(groups)), hands=HereAlone(), told=told, fewest=fewest)
    tell(Far("comparing").message())
    return found


def _places(groups: Sequence[ChosenGroup]) -> Iterator[GroupPlace]:
    bikes: dict[bytes, str] = {}
    for group in groups:
        yield from (GroupPlace(group.name, folder) for folder in group.folders)
        yield from (GroupPlace(group.name, query) for query in group.queries)
        rides = (*group.rides, *(_files(ride, bikes) for ride in group.own))
        if rides:
            yield GroupPlace(group.name, rides)


def _files(ride: StagedRide, bikes: dict[bytes, str]) -> RideFiles:
    """A visitor's ride as one in folders; rides with one bike file are of one bike, whatever it is called."""
    looks = tuple(look_at(path) for path in ride.recordings)
    content = b"" if ride.bike is None else ride.bike.read_bytes()
    if content not in bikes:
        called = None if ride.bike is None else read_bike(ride.bike).bike.name
        bikes[content] = called or (f"{OWN_BIKE} {len(bikes) + 1}" if bikes else OWN_BIKE)
    return RideFiles(bikes[content], ride.name, looks, bike_file=_look(ride.bike), column_map=_look(ride.columns))


def _look(path: Path | None) -> Look | None:
    return None if path is None else look_at(path)


def _called(query: Query) -> str:
    """A query of a store, which is named by the end of its path: a document need not tell where it was made."""
    address = query.address if "://" in query.address else PurePath(query.address).name
    return replace(query, address=address).text


def command_again(groups: Sequence[ChosenGroup], options: Sequence[str], output: str) -> str | None:
    """The command that makes a document of the groups again; ``None`` where they are more than folders and stores.

    Parameters
    ----------
    groups : as they were chosen
    options : of the document's look
    output : name of its file

    Returns
    -------
    The command, to be given where the same folders lie.
    """
    if any(group.rides or group.own for group in groups):
        return None
    names = short_names([str(folder) for group in groups for folder in group.folders])
    arguments = ["ridelog", "report"]
    for group in groups:
        asked = [names[str(folder)] for folder in group.folders] + [_called(query) for query in group.queries]
        arguments += [part for place in asked for part in ("--group", f"{group.name}={place}")]
    return shlex.join([*arguments, *options, "--output", output])
