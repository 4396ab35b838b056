"""Which rides are compared, and in which group is each?

Rides in folders and files are measured as an audit does it, by the same task in the same processes, into a store that
is gone afterwards; rides of a store are taken as they were measured. A file that cannot be read is listed and stops
nothing.
"""

import hashlib
import json
import math
import tempfile
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import field, replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd

from ridelog.answer.plain import plain
from ridelog.answer.ride import Answer
from ridelog.arrays import Floats
from ridelog.compare.places import GroupPlace, Query
from ridelog.errors import AnswerError, StoreError
from ridelog.fleet.audit import THIS_COMPUTER, Hands, Progress
from ridelog.fleet.folders import BIKE_FILE, COLUMN_MAP, LOG_SUFFIXES, Found, RideFiles, find_rides
from ridelog.fleet.history.measured import numbers
from ridelog.fleet.look import Look, look_at
from ridelog.fleet.store.store import Store, open_store
from ridelog.fleet.task import Failure, Task
from ridelog.lazy import dataclass
from ridelog.settings.bike import read_bike
from ridelog.tell.refusals import compare as refusals
from ridelog.tell.refusals import folders as of_folders
from ridelog.there import is_folder

OF_SERIES = ["start_charge_pct", "start_voltage_v", "way_speed_mps"]
MOST_PLACES = 300  # of a way that is drawn
FIRST, IDLE_A = timedelta(seconds=60), 1.0  # of a ride, and less than that draws a cell down by a few millivolts


@dataclass(frozen=True)
class Beside:
    """A file that a ride was measured with beside its recordings; ``role`` : "bike" or "columns".

    ``name`` : empty where a store tells of it, which keeps its digest alone
    """

    name: str
    role: str
    sha256: str


@dataclass(frozen=True, eq=False)
class Way:
    """Where a ride went, at most `MOST_PLACES` of its known positions in the order of time; arrays (n,) [°]."""

    latitude_deg: Floats
    longitude_deg: Floats


@dataclass(frozen=True)
class ComparedRide:
    """One ride of a comparison.

    Attributes
    ----------
    group : its name
    name, key : of the ride; the key is that of its contents
    start : when it began, UTC; ``None`` where it states no time
    bike : name of the bike
    logger : the same for rides that share the errors of one logger: same bike, same layout of the log, same limits
    answer : what was measured, without its series
    beside : bike file and column map; rides that were kept by an earlier version do not say them
    way : that it went; ``None`` without positions
    """

    group: str
    name: str
    key: str
    start: datetime | None
    bike: str
    logger: str
    answer: Answer
    beside: tuple[Beside, ...] = ()
    way: Way | None = None


@dataclass(frozen=True, eq=False)
class Compared:
    """The rides of a comparison.

    Attributes
    ----------
    groups : their names, in the order given
    rides : by group, then by time
    table : one row a ride, in the same order, with the columns that a store has of its answers, its ``group``, and
        `OF_SERIES`: what was in the pack as it began, and the root mean square of the speed over the way
    passes : one row a hill each time that it was ridden, as a store has them
    failed : files and rides that could not be measured
    """

    groups: tuple[str, ...]
    rides: tuple[ComparedRide, ...]
    table: pd.DataFrame
    passes: pd.DataFrame
    failed: tuple[Failure, ...] = ()


def _silent(_progress: Progress) -> None:
    """Nobody watches."""


def compared(
    places: Sequence[GroupPlace],
    *,
    bike: Path | None = None,
    hands: Hands = THIS_COMPUTER,
    told: Callable[[Progress], None] = _silent,
    fewest: int = 2,
) -> Compared:
    """The rides of some groups, measured.

    Parameters
    ----------
    places : of the groups; several of one name add up
    bike : bike file of the rides in folders that hold none; without it they take that of the nearest folder above
    hands : who measures
    told : called at the beginning and with each ride that is done
    fewest : groups that it takes

    Returns
    -------
    The rides by group, and what could not be measured.

    Raises
    ------
    UsageError : too few groups, no ride in one, the same ride in two, or a bike file that no ride takes
    BikeFileError : the bike file cannot be read
    StoreError : a store cannot be read
    """
    names = tuple(dict.fromkeys(place.name for place in places))
    if len(names) < fewest:
        raise refusals.one_group(names)
    gathered = _Gathered(names)
    files = _files(places, bike, gathered, hands)
    _refuse_twice((group, ride.recordings_key, ride.name) for group, ride in files)
    for place in places:
        if isinstance(place.place, Query):
            gathered.of_store(place.name, place.place)
    _measure(files, gathered, hands, told)
    return gathered.together()


def _files(
    places: Sequence[GroupPlace], bike: Path | None, gathered: "_Gathered", hands: Hands
) -> list[tuple[str, RideFiles]]:
    """The rides that are to be measured, each with its group; those without a bike file of their own take this one.

    Without one they take that of a folder above.
    """
    own = None if bike is None else (read_bike(bike).bike.name or bike.resolve().parent.name, look_at(bike))
    rides: list[tuple[str, RideFiles]] = []
    taken = False
    for place in places:
        if isinstance(place.place, Query):
            continue
        if isinstance(place.place, tuple):
            rides += [(place.name, ride) for ride in place.place]
            continue
        found = _found(place.place, hands)
        gathered.failed += [(place.name, Failure.of(error, error.source)) for error in found.failed]
        for ride in found.rides:
            takes = own is not None and ride.bike_file is None
            taken |= takes
            rides.append(
                (place.name, replace(ride, bike=own[0], bike_file=own[1]) if own and takes else on_its_bike(ride))
            )
    if bike is not None and rides and not taken:
        raise refusals.unused_bike(str(bike))
    once: dict[tuple[str, str], tuple[str, RideFiles]] = {}
    for group, ride in rides:
        once.setdefault((group, ride.recordings_key), (group, ride))
    return list(once.values())


def _found(path: Path, hands: Hands) -> Found:
    """The rides in a folder, or the one of a file."""
    if is_folder(path):
        return find_rides([path], None, hands.look)
    if path.suffix.lower() not in LOG_SUFFIXES:
        raise refusals.no_log(str(path))
    look: Look = look_at(path)
    if look.error is not None:
        return Found((), (of_folders.of_file(str(path), look.error),))
    return Found((RideFiles(path.resolve().parent.name or "bike", path.name, (look,)),))


def on_its_bike(ride: RideFiles) -> RideFiles:
    """A ride with its bike file, or that of the nearest folder above which holds one, and the column map beside it.

    Set-ups of one bike lie in folders within its own: rides/bike.toml, rides/weak, rides/strong.
    """
    above = ride.looks[0].path.resolve().parents
    home = next((folder for folder in above if (folder / BIKE_FILE).is_file()), None)
    if ride.bike_file is not None or home is None:
        return ride
    name = read_bike(home / BIKE_FILE).bike.name or home.name
    column_map = look_at(home / COLUMN_MAP) if (home / COLUMN_MAP).is_file() else ride.column_map
    return replace(ride, bike=name, bike_file=look_at(home / BIKE_FILE), column_map=column_map)


def _refuse_twice(rides: Iterable[tuple[str, str, str]]) -> None:
    """Raise where the same recordings, by their digest, are in two groups."""
    first: dict[str, tuple[str, str]] = {}
    for group, recordings, name in rides:
        other, called = first.setdefault(recordings, (group, name))
        if other != group:
            raise refusals.in_two_groups(called, other, group)


def _measure(
    files: Sequence[tuple[str, RideFiles]],
    gathered: "_Gathered",
    hands: Hands,
    told: Callable[[Progress], None],
) -> None:
    """Measure rides into a store that is gone afterwards."""
    if not files:
        return
    with tempfile.TemporaryDirectory(prefix="ridelog-") as folder:
        store = open_store(folder, create=True, tidy=False)
        of_key = {ride.key: group for group, ride in files}
        told(Progress(0, len(files), 0))
        n_failed = 0
        for done, (task, failure) in enumerate(hands.measure([Task(ride, store) for _, ride in files]), start=1):
            if failure is not None:
                gathered.failed.append((of_key[task.ride.key], failure))
                n_failed += 1
            told(Progress(done, len(files), n_failed))
        gathered.beside |= {ride.key: _beside(ride) for _, ride in files}
        gathered.take(store, of_key, store.answers(), store.hills())


def _beside(ride: RideFiles) -> tuple[Beside, ...]:
    """What a ride is measured with beside its recordings."""
    looks = (("bike", ride.bike_file), ("columns", ride.column_map))
    return tuple(Beside(look.path.name, role, look.sha256) for role, look in looks if look is not None)


def _kept_beside(row: Mapping[Hashable, object]) -> tuple[Beside, ...]:
    """The same of a ride that was kept: their digests."""
    held = ((role, row.get(column)) for role, column in (("bike", "bike_file"), ("columns", "column_map")))
    return tuple(Beside("", role, sha256) for role, sha256 in held if isinstance(sha256, str) and sha256)


@dataclass
class _Gathered:
    """What was found of the groups so far."""

    names: tuple[str, ...]
    rides: list[ComparedRide] = field(default_factory=list)
    tables: list[pd.DataFrame] = field(default_factory=list)
    passes: list[pd.DataFrame] = field(default_factory=list)
    failed: list[tuple[str, Failure]] = field(default_factory=list)  # with the group
    beside: dict[str, tuple[Beside, ...]] = field(default_factory=dict)  # by key of the ride

    def of_store(self, group: str, query: Query) -> None:
        """Take the rides of a store that a query asks for."""
        store = open_store(query.address)
        table = store.answers(bikes=query.bikes or None, since=query.since, until=query.until)
        if query.groups:
            table = table[table["group"].isin(query.groups)]
        passes = store.hills(bikes=query.bikes or None, since=query.since, until=query.until)
        self.take(store, dict.fromkeys(table["key"], group), table, passes)

    def take(self, store: Store, of_key: Mapping[str, str], table: pd.DataFrame, passes: pd.DataFrame) -> None:
        """Take measured rides of a store, each into its group."""
        kept, of_each = [], []
        for row in table.to_dict("records"):
            key = str(row["key"])
            if key not in of_key:
                continue
            try:
                answer = store.answer(key)
            except AnswerError as error:
                self.failed.append((of_key[key], Failure.of(error, str(row["name"]))))
                continue
            kept.append(key)
            logger = logger_of(str(row["bike"]), row["log_layout"] or None, answer, key)
            start = answer.ride.start
            bike, given = str(row["bike"]), self.beside.get(key) or _kept_beside(row)
            numbers_of_it, way = of_series(store, key)
            of_each.append(numbers_of_it)
            self.rides.append(ComparedRide(of_key[key], str(row["name"]), key, start, bike, logger, answer, given, way))
        told = pd.DataFrame(of_each, index=kept, columns=OF_SERIES, dtype=float)
        rows = table[table["key"].isin(kept)]
        beside = told.loc[rows["key"]].set_axis(rows.index)
        self.tables.append(rows.assign(group=rows["key"].map(of_key), **{name: beside[name] for name in OF_SERIES}))
        self.passes.append(passes[passes["key"].isin(kept)])

    def together(self) -> Compared:
        """All of them, each ride once."""
        table = pd.concat(self.tables, ignore_index=True) if self.tables else pd.DataFrame({"key": [], "group": []})
        recordings = table["recordings"].fillna(table["key"]) if "recordings" in table else table["key"]
        _refuse_twice(zip(table["group"], recordings, table.get("name", ()), strict=False))
        table = table[~recordings.duplicated()]
        for name in self.names:
            if not (table["group"] == name).any():
                reasons = [f"{failure.path}: {failure.reason}" for group, failure in self.failed if group == name]
                raise refusals.no_ride_left(name, reasons)
        kept = set(table["key"])
        rides = list({ride.key: ride for ride in reversed(self.rides) if ride.key in kept}.values())
        rides.sort(key=lambda ride: (self.names.index(ride.group), ride.start is None, str(ride.start), ride.key))
        passes = pd.concat(self.passes, ignore_index=True).drop_duplicates(["key", "id", "start_s"])
        passes = passes[passes["key"].isin(kept)].reset_index(drop=True)
        rows = table.drop_duplicates("key").set_index("key", drop=False).loc[[ride.key for ride in rides]]
        failed = tuple(sorted((failure for _, failure in self.failed), key=lambda failure: failure.path))
        return Compared(self.names, tuple(rides), rows.reset_index(drop=True), passes, failed)


def of_series(store: Store, key: str) -> tuple[tuple[float, float, float], Way | None]:
    """What a comparison needs of a ride's series, see `OF_SERIES`, and the way that it went; NaN where it is not known.

    Parameters
    ----------
    store : that holds the ride
    key : of the ride

    Returns
    -------
    numbers : state of charge as the ride began [%], voltage with little current then [V], speed over the way [m/s]
    way : ``None`` without positions
    """
    try:
        series = store.series(key)
    except StoreError:  # kept without
        return (math.nan, math.nan, math.nan), None
    first = series[series.index < series.index[0] + FIRST] if len(series) else series
    charge_pct = numbers(first, "state_of_charge_pct")
    volts = numbers(first, "voltage_v")[np.abs(numbers(first, "current_a")) < IDLE_A]
    known, volts = charge_pct[np.isfinite(charge_pct)], volts[np.isfinite(volts)]
    told = (
        float(known[0]) if len(known) else math.nan,
        float(np.median(volts)) if len(volts) else math.nan,
        way_speed_mps(numbers(series, "elapsed_s"), numbers(series, "speed_mps")),
    )
    return told, _way(series)


def _way(series: pd.DataFrame) -> Way | None:
    latitude, longitude = numbers(series, "latitude_deg"), numbers(series, "longitude_deg")
    known = np.flatnonzero(np.isfinite(latitude) & np.isfinite(longitude))
    if not len(known):
        return None
    kept = known[np.unique(np.linspace(0, len(known) - 1, MOST_PLACES).round().astype(int))]
    return Way(latitude[kept], longitude[kept])


def way_speed_mps(time_s: Floats, speed_mps: Floats) -> float:
    """The root mean square of the speed over the way, by which air takes; NaN where nothing was ridden.

    Parameters
    ----------
    time_s, speed_mps : of a ride, shape (n,) [s], [m/s]; steps at whose ends the speed is not known are left out

    Returns
    -------
    Speed [m/s].
    """
    steps_s = np.diff(time_s)
    moved_m, squares = (
        float(np.nansum(steps_s * (speed_mps[1:] ** power + speed_mps[:-1] ** power) / 2)) for power in (1, 3)
    )
    return math.sqrt(squares / moved_m) if moved_m > 0 else math.nan


def logger_of(bike: str, layout: str | None, answer: Answer, key: str) -> str:
    """What rides have in common that were logged by one logger, as far as that can be told.

    Parameters
    ----------
    bike : its name
    layout : digest of the columns and units of the log; ``None`` without a log
    answer : for what the bike file says of the sensor
    key : of the ride, which without a log has its errors to itself

    Returns
    -------
    The name of the bike and a digest.
    """
    if layout is None:
        return f"{bike} {key[:8]}"
    stated = json.dumps(plain(answer.bike.sensor), sort_keys=True)
    return f"{bike} {hashlib.sha256(f'{layout} {stated}'.encode()).hexdigest()[:8]}"
