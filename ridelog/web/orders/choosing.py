"""Which rides can be chosen, and what of a form's fields was chosen: by ids that are looked up, never by paths."""

import os
import shutil
import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from datetime import datetime
from pathlib import Path

from ridelog.compare.groups import on_its_bike
from ridelog.compare.places import Query, midnight
from ridelog.errors import RidelogError
from ridelog.fleet.folders import BIKE_FILE, RideFiles, find_rides
from ridelog.lazy import dataclass
from ridelog.tell.numbers import Dial
from ridelog.tell.pages import asking as words
from ridelog.tell.pages.clocks import dials, dials_by
from ridelog.tell.refusals.page import orders as refusals
from ridelog.uncertain.quantity import Quantity
from ridelog.web.callbacks.ride import Rides
from ridelog.web.jobs.measuring import Task
from ridelog.web.kept.kept import Kept, UnderwayError
from ridelog.web.orders.groups import ChosenGroup, StagedRide
from ridelog.web.tray.tray import Tray, TrayRide
from ridelog.web.tray.visitor import visitor

CAMPAIGN_FOLDER = "campaign"
LONGEST_NAME = 40
NOT_IN_NAMES = frozenset("=?/\\")


@dataclass(frozen=True)
class Offer:
    """A ride that can be chosen.

    ``key`` : as a form calls it · ``start``, ``recovered_pct`` : where they are known · ``group`` : that it suits ·
    ``clocks`` : that tell when it began
    """

    key: str
    name: str
    source: str
    bike: str = ""
    start: datetime | None = None
    recovered_pct: Quantity | None = None
    group: str = ""
    clocks: Mapping[str, Dial] = field(default_factory=dict)


class Campaign:
    """The sample campaign: a folder of rides for each setting, looked into when somebody first asks.

    Parameters
    ----------
    folder : that holds the folders
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._rides: dict[str, tuple[str, RideFiles]] | None = None  # key -> group and ride

    @property
    def groups(self) -> list[str]:
        """Names of its folders."""
        return sorted((path.parent.name for path in self.folder.glob(f"*/{BIKE_FILE}")), reverse=True)

    def rides(self) -> Mapping[str, tuple[str, RideFiles]]:
        """Its rides by key, each with the group it is of; none where they cannot be looked into."""
        with self._lock:
            if self._rides is None:
                self._rides = dict(self._found())
            return self._rides

    def _found(self) -> Iterator[tuple[str, tuple[str, RideFiles]]]:
        for group in self.groups:
            try:
                found = find_rides([self.folder / group])
            except (RidelogError, OSError):
                continue
            for n, ride in enumerate(found.rides, start=1):
                yield f"{CAMPAIGN_FOLDER}.{group}.{n}", (group, on_its_bike(ride))

    def all_of(self, group: str) -> set[str]:
        """Keys of the rides of one of its folders."""
        return {key for key, (name, _) in self.rides().items() if name == group}


def campaign_in(samples: Path | None) -> Campaign | None:
    """The sample campaign beside the sample rides; ``None`` without one."""
    folder = None if samples is None else samples / CAMPAIGN_FOLDER
    return Campaign(folder) if folder is not None and any(folder.glob(f"*/{BIKE_FILE}")) else None


def offers(rides: Rides, campaign: Campaign | None) -> tuple[list[Offer], int]:
    """The rides that whoever asks can choose: their own, then those of the sample campaign.

    Parameters
    ----------
    rides : where they are found
    campaign : of the samples

    Returns
    -------
    offers : in order
    left_out : rides of their own that are not measured, or were refused
    """
    found, left_out = [], 0
    with rides.trays.tray(visitor()) as tray:
        for ride in tray.rides:
            shown = rides.store.get(ride.token) if ride.state == "done" else None
            if shown is None or shown.answer is None:
                left_out += 1
                continue
            answer = shown.answer
            share = answer.energy.recovered_pct or answer.charge.recovered_pct
            used = answer.bike.name or ""
            found.append(
                Offer(ride.token, shown.title, words.YOURS, used, answer.ride.start, share, clocks=dials(answer))
            )
    for key, (group, files) in campaign.rides().items() if campaign is not None else ():
        starts = [look.start for look in files.looks if look.start is not None]
        name = f"{group}, {files.name}"
        start = min(starts, default=None)
        clocks = {} if start is None else dials_by(start)
        found.append(Offer(key, name, words.CAMPAIGN, files.bike, start, group=group, clocks=clocks))
    return found, left_out


@dataclass(frozen=True)
class StoreOffer:
    """What of a store can be chosen: its address, and the names of its bikes and groups."""

    address: str
    bikes: tuple[str, ...]
    groups: tuple[str, ...]

    @classmethod
    def of(cls, kept: Kept | None) -> "StoreOffer | None":
        """That of the page's store; ``None`` where it has none, or none that can be asked now."""
        if kept is None or not kept.is_there:
            return None
        try:
            rides = kept.listed().rides
            address = kept.store().address
        except (UnderwayError, RidelogError, OSError):
            return None
        groups = sorted(rides["group"].dropna().unique()) if len(rides) else []
        return cls(address, tuple(sorted(rides["bike"].unique())), tuple(groups)) if len(rides) else None

    def query(self, letter: str, fields: Mapping[str, str]) -> Query | None:
        """The rides that a form asks for in one group; ``None`` for none.

        Parameters
        ----------
        letter : of the group
        fields : of the form
        """
        bike, group = fields.get(f"bike-{letter}", ""), fields.get(f"group-{letter}", "")
        if bike != words.ANY and bike not in self.bikes:
            return None
        return Query(
            self.address,
            () if bike == words.ANY else (bike,),
            (group,) if group in self.groups else (),
            day_of(fields.get(f"from-{letter}", "")),
            day_of(fields.get(f"to-{letter}", ""), later=1),  # all of that day
        )


def day_of(given: str, *, later: int = 0) -> datetime | None:
    """A day as a date field gives it, or so many days later; ``None`` for none, and beyond the last that there is."""
    try:
        return midnight(given, days_later=later)
    except (ValueError, OverflowError):
        return None


@dataclass(frozen=True)
class Chosen:
    """What somebody chose: names of groups, and in which of them each ride is.

    ``names`` : by letter · ``of_ride`` : key of a ride -> letter · ``of_store`` : letter -> rides of a store
    """

    names: Mapping[str, str]
    of_ride: Mapping[str, str]
    of_store: Mapping[str, Query] = field(default_factory=dict)

    @classmethod
    def read(cls, fields: Mapping[str, str], offered: Sequence[Offer], store: StoreOffer | None = None) -> "Chosen":
        """What the fields of a form say, of rides that are offered; anything else in them is passed over.

        Parameters
        ----------
        fields : of the form
        offered : rides
        store : of which rides can be asked for

        Returns
        -------
        What was chosen.
        """
        names = {letter: fields.get(f"name-{letter}", "").strip() for letter in words.LETTERS}
        asked = {offer.key: fields.get(f"ride-{offer.key}", "") for offer in offered}
        queries = {letter: store.query(letter, fields) for letter in words.LETTERS} if store is not None else {}
        return cls(
            names,
            {key: letter for key, letter in asked.items() if letter in words.LETTERS},
            {letter: query for letter, query in queries.items() if query is not None},
        )

    @classmethod
    def of_campaign(cls, campaign: Campaign) -> "Chosen":
        """All rides of the sample campaign, a group each setting."""
        letters = dict(zip(campaign.groups, words.LETTERS, strict=False))
        of_ride = {key: letters[group] for key, (group, _) in campaign.rides().items() if group in letters}
        return cls({letter: group for group, letter in letters.items()}, of_ride)

    def used(self) -> list[str]:
        """Letters of the groups that hold rides."""
        return [letter for letter in words.LETTERS if letter in self.of_ride.values() or letter in self.of_store]

    def named(self) -> dict[str, str]:
        """Name of each group that holds rides.

        Raises
        ------
        UsageError : one has no name, or one that cannot be a group's, or two have the same
        """
        found: dict[str, str] = {}
        for place, letter in enumerate(self.used(), start=1):
            name = self.names.get(letter) or letter
            if len(name) > LONGEST_NAME or not name.isprintable() or NOT_IN_NAMES & set(name):
                raise refusals.no_name(place)
            if name in found.values():
                raise refusals.same_name(name)
            found[letter] = name
        return found


def groups_of(chosen: Chosen, rides: Rides, campaign: Campaign | None, folder: Path) -> tuple[ChosenGroup, ...]:
    """The groups that somebody chose, the files of their own rides put where no change of theirs reaches them.

    Parameters
    ----------
    chosen : of the rides that are offered
    rides : where they are found
    campaign : of the samples
    folder : that takes the files

    Returns
    -------
    Groups in the order of their letters.

    Raises
    ------
    UsageError : a name that cannot be a group's, or a ride that is gone
    """
    found = []
    for letter, name in chosen.named().items():
        keys = [key for key, of in chosen.of_ride.items() if of == letter]
        folders, some = _of_campaign(keys, campaign)
        own = [key for key in keys if campaign is None or key not in campaign.rides()]
        queries = (chosen.of_store[letter],) if letter in chosen.of_store else ()
        found.append(ChosenGroup(name, folders, some, tuple(staged(key, rides, folder) for key in own), queries))
    return tuple(found)


def _of_campaign(keys: Sequence[str], campaign: Campaign | None) -> tuple[tuple[Path, ...], tuple[RideFiles, ...]]:
    """Whole folders where all of their rides were chosen, as a command would name them, and the rides of the others."""
    if campaign is None:
        return (), ()
    whole = [group for group in campaign.groups if campaign.all_of(group) <= set(keys)]
    there = campaign.rides()
    some = [there[key][1] for key in keys if key in there and there[key][0] not in whole]
    return tuple(campaign.folder / group for group in whole), tuple(some)


def staged(token: str, rides: Rides, folder: Path) -> StagedRide:
    """A ride of whoever asks, with its files.

    Parameters
    ----------
    token : of the ride
    rides : where it is found
    folder : that takes the files

    Returns
    -------
    The ride, as a comparison takes it.

    Raises
    ------
    UsageError : it is not there any more
    """
    task, title = task_of(token, rides, folder)
    texts = [path for name, path in task.files if name.lower().endswith(".toml")]
    logs = tuple(path for name, path in task.files if not name.lower().endswith(".toml"))
    shown = rides.store.get(token)
    corrected = shown is not None and any(each.header in task.corrections for each in shown.columns)
    maps = [path for path in texts if path.parent.name == "columns"]
    if corrected and shown is not None:  # as it was understood in the end
        understood = texts[0].parent.parent / "understood.toml" if texts else logs[0].parent / "understood.toml"
        understood.write_text("\n".join(each.map_toml or "" for each in shown.columns), encoding="utf-8")
        maps = [understood]
    bikes = [path for path in texts if path.parent.name == "bike"]
    return StagedRide(title, logs, bikes[0] if bikes else None, maps[0] if maps else None)


def task_of(token: str, rides: Rides, folder: Path) -> tuple[Task, str]:
    """The files of a ride of whoever asks, linked into a folder of their own, and the ride's title.

    Parameters
    ----------
    token : of the ride
    rides : where it is found
    folder : that takes the files

    Returns
    -------
    task : files by their names, and what was corrected
    title : of the ride

    Raises
    ------
    UsageError : it is not there any more
    """
    with rides.trays.tray(visitor()) as tray:
        ride, shown = tray.ride(token), rides.store.get(token)
        if ride is None or shown is None:
            raise refusals.ride_of_two(token[:6])
        place = folder / str(sum(1 for _ in folder.iterdir()))
        return _linked(tray, ride, place), shown.title


def _linked(tray: Tray, ride: TrayRide, place: Path) -> Task:
    files = []
    for n, key in enumerate(ride.files):
        kept = tray.files[key]
        path = place / str(n) / (kept.name if kept.name not in (".", "..") else "file")
        path.parent.mkdir(parents=True)
        _link(kept.path, path)
        files.append((kept.name, path))
    for role, said in (("bike", ride.bike), ("columns", ride.columns)):
        if said is not None:
            path = place / role / "said.toml"
            path.parent.mkdir(parents=True)
            path.write_text(said.text, encoding="utf-8", newline="")
            files.append((said.name, path))
    return Task(tuple(files), dict(tray.corrections))


def _link(there: Path, here: Path) -> None:
    """The same file at another place, which stays when the first one goes; a copy where the disk has no such links."""
    try:
        os.link(there, here)
    except OSError:
        shutil.copyfile(there, here)
