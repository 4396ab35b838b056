"""The trays of all visitors: files kept within bounds, rides measured beside the page, each visitor's own alone."""

import contextlib
import secrets
import shutil
import threading
import time
import weakref
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from ridelog.web.jobs.apart import refused
from ridelog.web.jobs.folder import made_folder
from ridelog.web.jobs.measuring import Task
from ridelog.web.jobs.workshop import Progress, Workshop
from ridelog.web.rides import RideStore, ShownRide
from ridelog.web.tray.arrivals import Arrivals, discard
from ridelog.web.tray.bench import Bench, Given, Hands, Stopped, given_of
from ridelog.web.tray.bounds import DEFAULT_BOUNDS, Bounds, to_give_up
from ridelog.web.tray.changes import Figures
from ridelog.web.tray.drop import Drop, drop_of
from ridelog.web.tray.grouping import KeptFile
from ridelog.web.tray.tray import Coasting, Gone, Text, Tray, TrayRide

__all__ = ["Bounds", "Drop", "Hands", "Trays", "drop_of"]

Do = Callable[[Task, Stopped], ShownRide | None]


class Trays:
    """Trays by visitor.

    Parameters
    ----------
    store : of measured rides
    workshop : where files are read
    hands : how
    bounds : how much is kept
    """

    def __init__(self, store: RideStore, workshop: Workshop, hands: Hands, bounds: Bounds = DEFAULT_BOUNDS) -> None:
        self.store, self.workshop, self.hands, self.bounds = store, workshop, hands, bounds
        self._lock = threading.RLock()
        self._trays: dict[str, Tray] = {}
        self._folder, remove = made_folder()
        self._remove = weakref.finalize(self, remove)
        texts = self._folder / "texts"
        texts.mkdir()
        self._bench = Bench(store, workshop, hands, self._lock, texts)
        self._arrivals = Arrivals(self._bench)

    @property
    def folder(self) -> Path:
        """Where files of visitors lie until the program ends."""
        return self._folder

    @contextmanager
    def tray(self, visitor: str, turn: str | None = None) -> Iterator[Tray]:
        """A visitor's tray while it is looked at; where there is none, a new one, which is kept once it is used."""
        with self._lock:
            known = self._trays.get(visitor)
            tray = known or Tray(self._folder / secrets.token_hex(12), visitor)
            tray.turn, tray.asked_s, n_before = turn or tray.turn, time.monotonic(), tray.n_files
            yield tray
            if tray.is_used:
                self._trays[visitor] = tray
            if tray.n_files > n_before or (known is None and tray.is_used):
                self._bound(tray)

    @contextmanager
    def giving(self, visitor: str) -> Iterator[Path]:
        """An empty folder for files that are given at once; meanwhile the tray gives way to no other.

        What was put there goes where an error ends it, and the folder with the last file.
        """
        with self.tray(visitor) as tray:
            folder = tray.folder / secrets.token_hex(8)
            folder.mkdir(parents=True)
            tray.is_used = True
            tray.n_giving += 1
        try:
            yield folder
        except BaseException:
            shutil.rmtree(folder, ignore_errors=True)
            raise
        finally:
            with self._lock:
                tray.n_giving -= 1
            with contextlib.suppress(OSError):  # files lie there
                folder.rmdir()

    def has_room(self, visitor: str, n_files: int, size_bytes: int) -> bool:
        """Whether more files may be kept as well.

        Parameters
        ----------
        visitor : whose they are
        n_files, size_bytes : how many, and their size together [1], [byte]

        Returns
        -------
        Whether there is room.
        """
        with self.tray(visitor) as tray:
            bounds = self.bounds
            return tray.n_files + n_files <= bounds.most_files and tray.size_bytes + size_bytes <= bounds.most_bytes

    def give(self, visitor: str, drop: Drop) -> int:
        """Keep files, look into them, and have the rides that they make measured; returns the number of the drop."""
        with self.tray(visitor) as tray:
            return self._arrivals.take_in(tray, drop)

    def revive(self, tray: Tray) -> None:
        """Take in again what was given up while nobody looked."""
        self._arrivals.revive(tray)
        self._bench.revive(tray)

    def progress(self, ride: TrayRide) -> Progress | None:
        """How far a ride is; ``None`` where nothing is under way."""
        return self.workshop.progress(ride.job)

    # ---- what a visitor does ----

    def remove(self, visitor: str, key: str) -> None:
        """Take a file out; it can be put back until something else is taken out."""
        with self.tray(visitor) as tray:
            self._take_out(tray, [key])

    def remove_ride(self, visitor: str, token: str) -> None:
        """Take all files of a ride out; they can be put back until something else is taken out."""
        with self.tray(visitor) as tray:
            if (ride := tray.ride(token)) is not None:
                self._take_out(tray, ride.files)

    def _take_out(self, tray: Tray, keys: Sequence[str]) -> None:
        known = [key for key in keys if key in tray.files and key not in tray.unseen]
        if not known:
            return
        discard(tray.removed)
        tray.removed = tuple(tray.files.pop(key) for key in known)
        before = list(tray.rides)
        shown = {ride.token: self.store.get(ride.token) for ride in before}
        files = {ride.token: ride.files for ride in before}
        self._regroup(tray)
        left = {ride.token for ride in tray.rides}
        gone = [ride for ride in before if ride.token not in left]
        tray.gone = tuple(Gone(ride, files[ride.token], shown[ride.token]) for ride in gone)

    def undo(self, visitor: str) -> None:
        """Put back what was taken out last: rides that went with it have the address and the answer that they had."""
        with self.tray(visitor) as tray:
            tray.files |= {file.key: file for file in tray.removed}
            for gone in tray.gone:
                gone.ride.files = gone.files
                tray.rides.append(gone.ride)
                if gone.shown is not None:
                    self.store.put(gone.shown, gone.ride.token)
                elif gone.ride.state != "stopped":
                    gone.ride.state = "waiting"  # it is measured when it is asked for
            tray.removed, tray.gone = (), ()
            self._regroup(tray)

    def put_with(self, visitor: str, key: str, token: str | None) -> None:
        """Put a file to a ride, whatever its time says.

        Parameters
        ----------
        visitor : whose it is
        key : of the file
        token : of the ride; by itself where ``None``
        """
        with self.tray(visitor) as tray:
            ride = tray.ride(token)
            if key not in tray.files or (token is not None and ride is None):
                return
            label = secrets.token_hex(4)
            if (left := tray.ride_of(key)) is not None:
                tray.by_hand |= {other: f"left {label}" for other in left.files if left.why == "by-hand"}
            tray.by_hand |= dict.fromkeys((key, *(ride.files if ride is not None else ())), label)
            tray.rides.sort(key=lambda each: each is not ride)  # it stays itself, at its address
            self._regroup(tray)

    def by_itself_again(self, visitor: str, token: str) -> None:
        """Let the rule decide once more on the files of a ride."""
        with self.tray(visitor) as tray:
            if (ride := tray.ride(token)) is not None:
                for key in ride.files:
                    tray.by_hand.pop(key, None)
                self._regroup(tray)

    def stop(self, visitor: str, token: str | None = None) -> None:
        """Measure a ride no more until it is asked for.

        Parameters
        ----------
        visitor : whose it is
        token : of the ride; all where ``None``, those of files among them that are being looked into
        """
        with self.tray(visitor) as tray:
            if token is None:
                tray.n_stopped = tray.n_drops
            for ride in tray.rides:
                if ride.state == "waiting" and token in (None, ride.token):
                    self._bench.stop(ride)
            tray.revision += 1

    def again(self, visitor: str, token: str) -> None:
        """Measure a ride once more."""
        with self.tray(visitor) as tray:
            if (ride := tray.ride(token)) is not None:
                self._bench.measure(tray, ride)

    def set_bike(self, visitor: str, token: str | None, bike: Text, chosen: str | None = None) -> None:
        """Measure a ride, and all that had the same bike, with another bike file.

        Parameters
        ----------
        visitor : whose it is
        token : of the ride; of all rides where ``None``
        bike : the bike file
        chosen : what the visitor changed in it
        """
        with self.tray(visitor) as tray:
            self._bench.ride_with(tray, tray.ride(token), bike, chosen)

    def take_sample(
        self,
        visitor: str,
        title: str,
        files: Sequence[Path],
        bike: Text,
        because: tuple[str, Figures | None] | None = None,
    ) -> str:
        """Make a ride of the visitor's own of a sample's files, with another bike.

        Parameters
        ----------
        visitor : whose it will be
        title : of the ride
        files : of the sample
        bike : the bike file
        because : what the visitor changed in it, and the numbers before

        Returns
        -------
        Token of the ride.
        """
        with self.tray(visitor) as tray:
            tray.is_used = True
            self._make_room(tray, len(files))
            label = secrets.token_hex(4)
            new = [
                KeptFile(secrets.token_urlsafe(9), path.name, path, path.stat().st_size, own=False) for path in files
            ]
            tray.files |= {file.key: file for file in new}
            tray.by_hand |= {file.key: label for file in new}
            (ride,) = tray.regroup()
            ride.bike, ride.title = bike, title
            if because is not None:
                ride.chosen, ride.before = (because[0],), because[1]
            self._bench.measure(tray, ride)
            return ride.token

    def coast(self, visitor: str, token: str, coasting: Coasting, sample: Given | None = None) -> bool:
        """Have the coasting of a ride fitted; returns whether it is a ride that the visitor may ask for.

        Parameters
        ----------
        visitor : who asks
        token : of the ride for whose bike it is asked
        coasting : which ride coasts, and what of it is fitted
        sample : files and bike file of it, where it is a sample's

        Returns
        -------
        Whether it is under way.
        """
        with self.tray(visitor) as tray:
            ride, given = tray.ride(coasting.of), sample
            if ride is not None:
                given = given_of(tray, ride, ride.bike)
            if given is None:
                return False
            tray.is_used = True
            self._bench.coast(tray, token, given, coasting)
            return True

    def have_done(self, visitor: str, token: str, do: Do, done: Callable[[ShownRide | None], None]) -> str | None:
        """Have something else done with the files of a ride.

        Parameters
        ----------
        visitor : who wants it
        token : of the ride
        do : with its files
        done : told what came of it, unless nobody waits any more

        Returns
        -------
        Key of the job; ``None`` where it is no ride of the visitor's.
        """
        with self.tray(visitor) as tray:
            if (ride := tray.ride(token)) is None:
                return None
            work = self._bench.work(tray, given_of(tray, ride, ride.bike), do, refused)
            return self.workshop.take_in(tray.turn, work, done)

    def correct(self, visitor: str, header: str, column_map: str | None, chosen: str) -> None:
        """Read all logs with this header as a column map says, from now on.

        Parameters
        ----------
        visitor : whose logs
        header : that they have in common
        column_map : as TOML; as they are understood without one where ``None``
        chosen : what the visitor chose, in words
        """
        with self.tray(visitor) as tray:
            tray.corrections.pop(header, None)
            if column_map is not None:
                tray.corrections[header] = column_map
                while len(tray.corrections) > self.bounds.most_corrections:
                    del tray.corrections[next(iter(tray.corrections))]
            for ride in tray.rides:
                shown = self.store.get(ride.token)
                if shown is None or shown.has_header(header):
                    self._bench.measure(tray, ride, chosen)

    def close(self) -> None:
        """Give all work up, and remove all files."""
        self.workshop.close()
        self._remove()

    def _regroup(self, tray: Tray) -> None:
        left = {ride.token: ride for ride in tray.rides}
        for ride in tray.regroup():
            self._bench.measure(tray, ride)
        for token in left.keys() - {ride.token for ride in tray.rides}:
            self._bench.give_up(left[token])
            tray.coasting.pop(token, None)
            tray.learned.pop(token, None)
            self.store.drop(token)

    def _make_room(self, tray: Tray, n_files: int) -> None:
        """Give up the rides that were made of samples longest ago while they are too many."""
        taken = [ride for ride in tray.rides if ride.title is not None]
        while taken and n_files + sum(len(ride.files) for ride in taken) > self.bounds.most_of_samples:
            for key in taken.pop(0).files:
                del tray.files[key]
        self._regroup(tray)

    def _bound(self, spared: Tray) -> None:
        """Give up trays while all of them together are too many or too large."""
        names = {id(tray): name for name, tray in self._trays.items()}
        for tray in to_give_up(self._trays.values(), spared, self.bounds):
            del self._trays[names[id(tray)]]
            for job in self._bench.jobs(tray):
                self.workshop.stop(job)
            shutil.rmtree(tray.folder, ignore_errors=True)
