"""The sample fleet, audited when somebody first asks for it: the page says how far that is until it stands."""

import threading
from collections.abc import Callable
from pathlib import Path

from flask import Flask

from ridelog.errors import RidelogError
from ridelog.fleet.audit import Progress, audit, default_store
from ridelog.fleet.store.store import open_store
from ridelog.report.audits import audit_page
from ridelog.report.sheet import sheet, text
from ridelog.tell import page as words
from ridelog.web.ids import FLEET_PATH

LOOK_AGAIN_S = 1  # between two looks of a browser that waits

Fleet = Callable[[], Path]  # makes a fleet where there is none, and says where it is


class _ClosedError(Exception):
    """The server ends; nobody waits for the fleet any more."""


class FleetPage:
    """The page of one fleet.

    Parameters
    ----------
    fleet : gives the folder that holds its bikes
    """

    def __init__(self, fleet: Fleet) -> None:
        self._fleet = fleet
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None
        self._closed = False
        self._shown = sheet(words.FLEET_TITLE, [f"<h1>{text(words.FLEET_BEGINS)}</h1>"], again_s=LOOK_AGAIN_S)

    def show(self) -> str:
        """The audit where it is done, else how far it is; the first call begins it."""
        with self._lock:
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, daemon=True, name="fleet")
                self._thread.start()
        return self._shown

    def close(self) -> None:
        """Break the work off."""
        self._closed = True

    def _work(self) -> None:
        try:
            folder = self._fleet()
            store = open_store(default_store([folder]), create=True)
            self._shown = audit_page(audit([folder], store, told=self._told))
        except RidelogError as error:
            self._shown = sheet(words.FLEET_TITLE, [f"<p>{text(line)}</p>" for line in error.lines()])
        except OSError as error:
            self._shown = sheet(words.FLEET_TITLE, [f"<p>{text(words.no_fleet(str(error)))}</p>"])
        except _ClosedError:
            pass
        except Exception as error:  # noqa: BLE001  (or a browser would look again for ever)
            self._shown = sheet(
                words.FLEET_TITLE, [f"<p>{text(words.no_fleet(f'{type(error).__name__}: {error}'))}</p>"]
            )

    def _told(self, progress: Progress) -> None:
        if self._closed:
            raise _ClosedError
        far = words.fleet_so_far(progress.done, progress.of)
        self._shown = sheet(words.FLEET_TITLE, [f"<h1>{text(far)}</h1>"], again_s=LOOK_AGAIN_S)


def add_fleet(server: Flask, fleet: FleetPage) -> None:
    """Answer to the fleet's path."""
    server.add_url_rule(FLEET_PATH, "fleet", fleet.show)
