"""What becomes of files that a visitor gives: looked into, then rides of their own or of rides that are there.

Several drops can come before the files of the first have been looked into; each keeps what came with it.
"""

import contextlib
import secrets
from collections.abc import Mapping, Sequence
from pathlib import Path

from ridelog.fleet.look import Look
from ridelog.tell.pages import changes as words
from ridelog.web.jobs.looking import unseen
from ridelog.web.tray.bench import Bench, Stopped
from ridelog.web.tray.drop import Drop
from ridelog.web.tray.grouping import KeptFile
from ridelog.web.tray.tray import Tray, TrayRide


class Arrivals:
    """Takes in what visitors give.

    Parameters
    ----------
    bench : where it is measured
    """

    def __init__(self, bench: Bench) -> None:
        self._bench, self._workshop = bench, bench.workshop

    def take_in(self, tray: Tray, drop: Drop) -> int:
        """Take in what was given at once.

        Parameters
        ----------
        tray : whose
        drop : what

        Returns
        -------
        Number of the drop.
        """
        tray.n_drops += 1
        new = [_kept(name, path, drop) for name, path in drop.recordings]
        tray.files |= {file.key: file for file in new}
        labels = {entry.files: secrets.token_hex(4) for entry in drop.listed.values()}
        tray.by_hand |= {file.key: labels[file.entry.files] for file in new if file.entry is not None}
        tray.is_used, tray.complaints = True, (*(tray.complaints if tray.drops else ()), *drop.complaints)
        if new:
            if drop.home and drop.bike is not None:
                tray.homes[drop.home] = drop.bike
            if not drop.among_others:
                tray.bike = drop.bike or tray.bike
            tray.unseen = (*tray.unseen, *(file.key for file in new))
        if new or (tray.unseen and tray.ride(drop.on) is None):  # the ride that it is of may be among them
            tray.drops = (*tray.drops, (tray.n_drops, drop))
            self._look(tray)
        else:
            self._say(tray, drop, tray.n_drops)
        tray.revision += 1
        return tray.n_drops

    def revive(self, tray: Tray) -> None:
        """Look into files again where that was given up while nobody asked."""
        if tray.unseen and self._workshop.progress(tray.look_job) is None:
            self._look(tray)

    def _say(self, tray: Tray, drop: Drop, number: int) -> None:
        """A bike file alone: of the ride in view and those of its bike, else of all; a map: of that, or of the last."""
        if drop.bike is not None:
            self._bench.ride_with(tray, tray.ride(drop.on), drop.bike, words.bike_file(drop.bike.name))
        last = tray.ride(tray.arrived[1]) or (tray.rides[-1] if tray.rides else None)
        there = tray.ride(drop.on) or last
        if drop.columns is not None and there is not None:
            there.columns = drop.columns
            self._bench.measure(tray, there, words.column_map(drop.columns.name))
        tray.arrived = (number, None if there is None else there.token)

    def _look(self, tray: Tray) -> None:
        if tray.look_job is not None:
            self._workshop.stop(tray.look_job)
        paths = [tray.files[key].path for key in tray.unseen]

        def work(stopped: Stopped) -> list[Look] | None:
            try:
                return self._bench.hands.looked(paths, stopped)
            except OSError:  # no process is to be had: measuring says so
                return unseen(paths)

        def done(looks: list[Look] | None) -> None:
            with self._bench.lock:
                if looks is not None and [tray.files[key].path for key in tray.unseen if key in tray.files] == paths:
                    self._seen(tray, looks)

        tray.look_job = self._workshop.take_in(tray.turn, work, done)

    def _seen(self, tray: Tray, looks: Sequence[Look]) -> None:
        again = tray.seen(looks)
        discard(tuple(again.values()))
        changed = tray.regroup()
        drops, tray.drops = tray.drops, ()
        latest: dict[str, int] = {}
        for number, drop in drops:  # each with what was given with it, however soon the next came
            if not drop.recordings:
                self._say(tray, drop, number)
                waiting = [ride for ride in tray.rides if ride.state == "waiting"]
                latest |= {ride.token: number for ride in waiting}
                for ride in waiting if number <= tray.n_stopped else ():
                    self._bench.stop(ride)
                continue
            new = _rides_of(tray, drop, again)
            for ride in new:
                said = (drop.bike or ride.bike, drop.columns or ride.columns)
                if said != (ride.bike, ride.columns) and ride not in changed:
                    changed.append(ride)  # the same files once more, with a bike file or a column map
                ride.bike, ride.columns = said
            latest |= {ride.token: number for ride in new}
            tray.arrived = (number, new[0].token if new else None)
        for ride in changed:
            if latest.get(ride.token, tray.n_drops) > tray.n_stopped:
                self._bench.measure(tray, ride)
            else:
                self._bench.stop(ride)


def discard(files: Sequence[KeptFile]) -> None:
    """Remove files, and the folders in which they were given with the last of them."""
    for file in files:
        if file.own:
            file.path.unlink(missing_ok=True)
            with contextlib.suppress(OSError):  # others lie there
                file.path.parent.rmdir()
                file.path.parent.parent.rmdir()


def _rides_of(tray: Tray, drop: Drop, again: Mapping[str, KeptFile]) -> list[TrayRide]:
    """The rides that files of a drop came to, then those whose files it held once more."""
    paths = {path for _, path in drop.recordings}
    known = {key for key, file in again.items() if file.path in paths}
    new = [ride for ride in tray.rides if {tray.files[key].path for key in ride.files} & paths]
    return new + [ride for ride in tray.rides if {*ride.files} & known and ride not in new]


def _kept(place: str, path: Path, drop: Drop) -> KeptFile:
    below, _, name = place.rpartition("/")
    size_bytes, entry = path.stat().st_size, drop.listed.get(place)
    return KeptFile(secrets.token_urlsafe(9), name, path, size_bytes, home=drop.home, below=below, entry=entry)
