"""Where the rides of trays are measured: beside the page, once more as if the mass were known, and for coasting."""

import secrets
import shutil
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from ridelog.answer.coastdown import CoastDown
from ridelog.errors import RidelogError
from ridelog.fleet.look import Look
from ridelog.lazy import dataclass
from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.apart import measured_here, refused
from ridelog.web.jobs.measuring import Measure, Task
from ridelog.web.jobs.process import Run, run_here
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore, ShownRide
from ridelog.web.tray.changes import MOST_KEPT, Change, figures_of
from ridelog.web.tray.sharper import captured_if_entered, with_mass
from ridelog.web.tray.tray import Coasting, Text, Tray, TrayRide

Stopped = Callable[[], bool]
Coasted = CoastDown | RidelogError | None  # what coasting tells, or why it cannot be asked; none where nobody waits
T = TypeVar("T")
Work = Callable[[Stopped], T]
Failed = Callable[[Task, RidelogError], T]


def _coasts_nowhere(_task: Task, _only: Sequence[int] | None, _stopped: Stopped) -> Coasted:
    return None


def _otherwise_here(task: Task, stopped: Stopped, measure: Measure) -> ShownRide | None:
    return measured_here(task, stopped, measure=measure)


@dataclass(frozen=True)
class Hands:
    """How files are read: into rides, at a glance, for coasting (perhaps some stretches only); documents made; and
    files read into rides by another measure than the usual one.
    """

    measured: Callable[[Task, Stopped], ShownRide | None]
    looked: Callable[[Sequence[Path], Stopped], list[Look] | None]
    coasted: Callable[[Task, Sequence[int] | None, Stopped], Coasted] = _coasts_nowhere
    made: Run = run_here
    otherwise: Callable[[Task, Stopped, Measure], ShownRide | None] = _otherwise_here


@dataclass(frozen=True)
class Given:
    """Files of a ride, and the texts that belong to them."""

    files: tuple[tuple[str, Path], ...]
    texts: tuple[Text, ...] = ()


def given_of(tray: Tray, ride: TrayRide, bike: Text | None) -> Given:
    """The files of a ride.

    Parameters
    ----------
    tray, ride : which
    bike : that it is measured with

    Returns
    -------
    Files and texts.
    """
    files = tuple((tray.files[key].name, tray.files[key].path) for key in ride.files)
    return Given(files, tuple(said for said in (bike, ride.columns) if said is not None))


class Bench:
    """Measures the rides of trays.

    Parameters
    ----------
    store : of measured rides
    workshop : where files are read
    hands : how
    lock : of all trays
    folder : where texts lie while they are measured; no tray's, which may come and go at the same moment
    """

    def __init__(self, store: RideStore, workshop: Workshop, hands: Hands, lock: threading.RLock, folder: Path) -> None:
        self.store, self.workshop, self.hands, self.lock, self._folder = store, workshop, hands, lock, folder

    def work(self, tray: Tray, given: Given, do: Callable[[Task, Stopped], T], failed: Failed[T]) -> Work[T]:
        """Do something with files as they are now; texts lie beside them only while that is done.

        Parameters
        ----------
        tray : of who wants it
        given : files and texts
        do : with them
        failed : gives what comes of it where it cannot be begun

        Returns
        -------
        The work, for a workshop.
        """
        folder, corrections = self._folder / secrets.token_hex(12), dict(tray.corrections)

        def work(stopped: Stopped) -> T:
            try:
                folder.mkdir()  # whose parent is gone where the page has ended
                written = [(said.name, folder / f"{place}.toml") for place, said in enumerate(given.texts)]
                for said, (_, path) in zip(given.texts, written, strict=True):
                    path.write_text(said.text, encoding="utf-8", newline="")
                return do(Task((*given.files, *written), corrections), stopped)
            except OSError as error:  # the system gives no process, no memory for one, or no place
                cause = refusals.no_process(error.strerror or str(error))
                return failed(Task(given.files, corrections), cause)
            finally:
                shutil.rmtree(folder, ignore_errors=True)

        return work

    def measure(self, tray: Tray, ride: TrayRide, chosen: str | None = None) -> None:
        """Have a ride measured, from the beginning.

        Parameters
        ----------
        tray, ride : which
        chosen : by the visitor, so that it is told what it changed
        """
        self.workshop.stop(ride.job)
        self.workshop.stop(ride.sharper_job)
        if chosen is not None:
            there = self.store.get(ride.token)
            if not ride.chosen and there is not None:
                ride.before = figures_of(there.answer)
            ride.chosen = (*ride.chosen, chosen)
        ride.state, ride.sharper, ride.sharper_job = "waiting", None, None
        work = self.work(tray, given_of(tray, ride, ride.bike), self.hands.measured, refused)

        def done(shown: ShownRide | None) -> None:
            with self.lock:
                if ride.job != job[0] or shown is None:
                    return
                shown = replace(shown, title=ride.title or tray.called(ride) or shown.title)
                _note_change(ride, shown)
                self.store.put(shown, ride.token)
                ride.job, ride.state = None, "refused" if shown.answer is None else "done"
                tray.revision += 1
                self._sharpen(tray, ride, shown)

        job = [""]
        job[0] = ride.job = self.workshop.take_in(tray.turn, work, done)
        tray.revision += 1

    def ride_with(self, tray: Tray, chosen: TrayRide | None, bike: Text, because: str | None) -> None:
        """Measure a ride, and all that had the same bike, with another bike file.

        Parameters
        ----------
        tray : of the rides
        chosen : which; all where ``None``
        bike : the bike file
        because : what the visitor changed in it, so that it is told what it changed
        """
        before = None if chosen is None else chosen.bike
        if chosen is None or chosen.bike == tray.bike:
            tray.bike = bike
        tray.homes = {home: bike if chosen is None or text == before else text for home, text in tray.homes.items()}
        for ride in tray.rides:
            if chosen is None or ride is chosen or (ride.bike == before and ride.title is None):
                ride.bike = bike
                self.measure(tray, ride, because)

    def _sharpen(self, tray: Tray, ride: TrayRide, shown: ShownRide) -> None:
        """Measure once more as if the mass were entered, to say what that would give."""
        text = with_mass(shown.answer, ride.bike)
        if text is None:
            return
        work = self.work(tray, given_of(tray, ride, text), self.hands.measured, refused)

        def done(other: ShownRide | None) -> None:
            with self.lock:
                if ride.job is None and other is not None:
                    ride.sharper = captured_if_entered(other.answer)
                    tray.revision += 1

        ride.sharper_job = self.workshop.take_in(tray.turn, work, done)

    def coast(self, tray: Tray, token: str, given: Given, coasting: Coasting) -> None:
        """Have the coasting of a ride fitted.

        Parameters
        ----------
        tray : of who asks
        token : of the ride for whose bike it is asked
        given : files of the ride that coasts
        coasting : which it is, and what of it
        """
        if (before := tray.coasting.get(token)) is not None:
            self.workshop.stop(before.job)

        def do(task: Task, stopped: Stopped) -> Coasted:
            return self.hands.coasted(task, coasting.only, stopped)

        work = self.work(tray, given, do, lambda _task, error: error)

        def done(told: Coasted) -> None:
            with self.lock:
                if tray.coasting.get(token) is coasting:
                    coasting.job, coasting.told = None, told
                    tray.revision += 1

        tray.coasting[token] = coasting
        coasting.job = self.workshop.take_in(tray.turn, work, done)
        tray.revision += 1

    def revive(self, tray: Tray) -> None:
        """Take in again what was given up while nobody looked."""
        for ride in tray.rides:
            lost = ride.state == "waiting" and self.workshop.progress(ride.job) is None
            if lost or (ride.state == "done" and self.store.get(ride.token) is None):
                self.measure(tray, ride)
            if ride.sharper_job is not None:
                self.workshop.progress(ride.sharper_job)  # somebody still asks
        for token, coasting in list(tray.coasting.items()):
            if coasting.job is not None and self.workshop.progress(coasting.job) is None:
                del tray.coasting[token]  # nobody asked for so long that it was given up

    def give_up(self, ride: TrayRide) -> None:
        """Measure a ride no longer."""
        self.workshop.stop(ride.job)
        self.workshop.stop(ride.sharper_job)

    def stop(self, ride: TrayRide) -> None:
        """Measure a ride no more until it is asked for."""
        self.give_up(ride)
        ride.state, ride.job = "stopped", None

    def jobs(self, tray: Tray) -> list[str | None]:
        """All that is under way for a tray."""
        rides = [job for ride in tray.rides for job in (ride.job, ride.sharper_job)]
        return [tray.look_job, *rides, *(coasting.job for coasting in tray.coasting.values())]


def _note_change(ride: TrayRide, shown: ShownRide) -> None:
    """Say what was changed by what the visitor chose."""
    if ride.chosen:
        change = Change("; ".join(dict.fromkeys(ride.chosen)), ride.before, figures_of(shown.answer))
        ride.changes = (*ride.changes, change)[-MOST_KEPT:]
        ride.chosen, ride.before = (), None
