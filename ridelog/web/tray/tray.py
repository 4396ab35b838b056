"""One visitor's tray: files, the rides they make, what was taken out, and what was said of bike and columns."""

import secrets
from collections.abc import Callable, Sequence
from dataclasses import field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from ridelog.answer.coastdown import CoastDown
from ridelog.errors import RidelogError
from ridelog.fleet.look import Look
from ridelog.lazy import dataclass
from ridelog.settings.manifest import RideEntry
from ridelog.uncertain.quantity import Quantity
from ridelog.web.jobs.workshop import Progress
from ridelog.web.rides import ShownRide
from ridelog.web.tray.changes import Change, Figures
from ridelog.web.tray.grouping import Group, KeptFile, Why, grouped

if TYPE_CHECKING:
    from ridelog.fleet.learning import Teaching
    from ridelog.web.tray.drop import Drop

RideState = Literal["waiting", "done", "refused", "stopped"]


@dataclass(frozen=True)
class Text:
    """A small file of the visitor's: a bike file or a column map."""

    name: str
    text: str


@dataclass
class TrayRide:
    """One ride of the tray.

    Attributes
    ----------
    token : by which it is found, and its address
    files : keys of its files
    why : these are one ride
    bike, columns : what it is measured with
    state, job : how far it is
    title : of a sample ride that the visitor took over
    sharper, sharper_job : what would be captured if the mass were entered, worked out beside it
    chosen, before : what the visitor chose and is not measured yet, and the numbers before it
    changes : what earlier choices changed, the latest last
    """

    token: str
    files: tuple[str, ...]
    why: Why
    bike: Text | None = None
    columns: Text | None = None
    state: RideState = "waiting"
    job: str | None = None
    title: str | None = None
    sharper: Quantity | None = None
    sharper_job: str | None = None
    chosen: tuple[str, ...] = ()
    before: Figures | None = None
    changes: tuple[Change, ...] = ()


@dataclass
class Coasting:
    """What the coasting of a ride tells, once that is worked out.

    Attributes
    ----------
    of : token of the ride that coasts
    only : numbers of the stretches that are fitted; all that fit together where ``None``
    job : how far it is; ``None`` once it is done
    told : the coast-down, or why there is none
    """

    of: str
    only: tuple[int, ...] | None = None
    job: str | None = None
    told: CoastDown | RidelogError | None = None


@dataclass(frozen=True)
class Gone:
    """A ride that went with files that were taken out, as it was."""

    ride: TrayRide
    files: tuple[str, ...]
    shown: ShownRide | None


@dataclass
class Tray:
    """All that one visitor gave.

    Attributes
    ----------
    folder : of its files
    turn : whose turn its rides take when they wait
    files : by key, in the order in which they were given
    unseen, look_job : keys of files that are being looked into, and the job
    drops : what was given with them, each with its number
    removed, gone : what was taken out last, and can be put back, and the rides that went with it
    by_hand : key of a file -> what the visitor put it in
    rides : in the order of their first files
    bike : of rides to come
    homes : bike files by the folders of bikes that were given
    corrections : column maps by the header of a log
    coasting : by the token of the ride for whose bike it was asked, also of a sample's
    learned : what the rides of a bike in the store teach, by the token of the ride for whose bike it was asked
    complaints : why files of the last drop are not used, and of those before that are being looked into
    n_drops, arrived : how often files were given, and the ride that the last of them led to
    n_stopped : how often they had been given when all of it was stopped
    revision : changes with all that is shown
    far : how far the rides that wait were when somebody asked
    asked_s : when it was asked for last [s]
    is_used : somebody gave it anything, and not only looked
    expects : whether something that was drawn before it was known is still being worked out; ``None`` where nothing is
    n_giving : folders into which files of its visitor are being written [1]
    """

    folder: Path
    turn: str
    files: dict[str, KeptFile] = field(default_factory=dict)
    unseen: tuple[str, ...] = ()
    look_job: str | None = None
    drops: tuple[tuple[int, "Drop"], ...] = ()
    removed: tuple[KeptFile, ...] = ()
    gone: tuple[Gone, ...] = ()
    coasting: dict[str, Coasting] = field(default_factory=dict)
    learned: dict[str, "Teaching"] = field(default_factory=dict)
    complaints: tuple[str, ...] = ()
    by_hand: dict[str, str] = field(default_factory=dict)
    rides: list[TrayRide] = field(default_factory=list)
    bike: Text | None = None
    homes: dict[str, Text] = field(default_factory=dict)
    corrections: dict[str, str] = field(default_factory=dict)
    n_drops: int = 0
    n_stopped: int = 0
    arrived: tuple[int, str | None] = (0, None)
    revision: int = 0
    far: list[tuple[str, Progress | None]] = field(default_factory=list)
    asked_s: float = 0.0
    is_used: bool = False
    expects: Callable[[], bool] | None = None
    n_giving: int = 0

    @property
    def n_files(self) -> int:
        """Files that are kept, those of samples among them [1]."""
        return len(self.files) + len(self.removed)

    @property
    def size_bytes(self) -> int:
        """Of all files that are kept [byte]."""
        return sum(file.size_bytes for file in (*self.files.values(), *self.removed) if file.own)

    def ride(self, token: str | None) -> TrayRide | None:
        """The ride of a token."""
        return next((ride for ride in self.rides if ride.token == token), None)

    def ride_of(self, key: str) -> TrayRide | None:
        """The ride that a file is of."""
        return next((ride for ride in self.rides if key in ride.files), None)

    def called(self, ride: TrayRide) -> str | None:
        """The name that a manifest gives a ride, or the folder that it has to itself; ``None`` without either."""
        of_it = [self.files[key] for key in ride.files if key in self.files]
        entry, there = self.entry_of(ride), {(file.home, file.below) for file in of_it}
        if entry is not None and entry.name is not None:
            return entry.name
        if len(there) != 1 or not of_it[0].below:
            return None
        alone = all(file.key in ride.files for file in self.files.values() if {(file.home, file.below)} == there)
        return of_it[0].below if alone else None

    def entry_of(self, ride: TrayRide) -> RideEntry | None:
        """What a manifest says of all files of a ride."""
        entries = [self.files[key].entry for key in ride.files if key in self.files]
        return entries[0] if entries and all(each == entries[0] for each in entries) else None

    def home_of(self, ride: TrayRide) -> str | None:
        """What the folder of a ride's bike is called; ``None`` where it was given in none."""
        homes = {self.files[key].home for key in ride.files if key in self.files}
        home = homes.pop() if len(homes) == 1 else ""
        return home.rpartition("/")[2] or None

    def seen(self, looks: Sequence[Look]) -> dict[str, KeptFile]:
        """Take down what looks showed; returns the files that were there already and go, by the key of their like."""
        known = {file.look.sha256: key for key, file in self.files.items() if file.look is not None and file.own}
        again = {}
        for key, look in zip(self.unseen, looks, strict=True):
            if look.sha256 and look.sha256 in known:
                again[known[look.sha256]] = self.files.pop(key)
            elif key in self.files:
                self.files[key] = replace(self.files[key], look=look)
                known[look.sha256] = key
        self.unseen, self.look_job = (), None
        return again

    def regroup(self) -> list[TrayRide]:
        """Make rides of the files; returns those whose files changed."""
        kept = {*self.files, *(file.key for file in self.removed)}
        self.by_hand = {key: label for key, label in self.by_hand.items() if key in kept}
        files = [file for file in self.files.values() if file.key not in self.unseen]
        old, rides, changed = list(self.rides), [], []
        for group in grouped(files, self.by_hand):
            bike = self.homes.get(self.files[group.keys[0]].home, self.bike)
            ride = _take_over(old, group) or TrayRide(secrets.token_urlsafe(18), (), group.why, bike=bike)
            if set(ride.files) != set(group.keys):
                changed.append(ride)
            ride.files, ride.why = group.keys, group.why
            rides.append(ride)
        self.rides = rides
        self.revision += 1
        return changed


def _take_over(old: list[TrayRide], group: Group) -> TrayRide | None:
    """The ride of before that has most files of the group, which is no other's any more."""
    best = max(old, key=lambda ride: len({*ride.files} & {*group.keys}), default=None)
    if best is None or not {*best.files} & {*group.keys}:
        return None
    old.remove(best)
    return best
