"""The orders of all visitors: taken in, made beside the page, kept within bounds, found by their tokens."""

import json
import secrets
import shutil
import threading
from collections import OrderedDict
from pathlib import Path
from typing import Any

from ridelog.errors import RidelogError
from ridelog.lazy import dataclass
from ridelog.tell.refusals.page import orders as refusals
from ridelog.web.jobs.process import Run, Stopped, Tell, TooLongError, messages_of
from ridelog.web.jobs.workshop import Progress, Workshop
from ridelog.web.orders.order import Far, Order, Wanted


@dataclass(frozen=True)
class OrderBounds:
    """How much is kept.

    Attributes
    ----------
    most_waiting_each : orders of one visitor that are not done [1]
    most, most_each : of all visitors and of one; the oldest go first [1]
    most_bytes : of all files together; the newest stays in any case [byte]
    """

    most_waiting_each: int = 4
    most: int = 300
    most_each: int = 40
    most_bytes: int = 2_000_000_000


DEFAULT_ORDER_BOUNDS = OrderBounds()


class Orders:
    """Orders by token.

    Parameters
    ----------
    workshop : where they wait for their turn
    folder : that takes their files, and goes with the page
    run : how they are made
    bounds : how much is kept
    """

    def __init__(
        self, workshop: Workshop, folder: Path, run: Run = messages_of, bounds: OrderBounds = DEFAULT_ORDER_BOUNDS
    ) -> None:
        self._workshop, self._run, self._bounds = workshop, run, bounds
        self._lock = threading.RLock()
        self._orders: OrderedDict[str, Order] = OrderedDict()
        self._folder = folder

    def takes(self, visitor: str) -> bool:
        """Whether another order of this visitor may wait."""
        with self._lock:
            waiting = [each for each in self._orders.values() if each.visitor == visitor and each.state == "waiting"]
            return len(waiting) < self._bounds.most_waiting_each

    def new_folder(self) -> Path:
        """An empty folder for an order; files that it reads may be put into ``given`` in it."""
        folder = self._folder / secrets.token_hex(12)
        (folder / "given").mkdir(parents=True)
        return folder

    @staticmethod
    def drop_folder(folder: Path) -> None:
        """Remove one of `Orders.new_folder` that no order took."""
        shutil.rmtree(folder, ignore_errors=True)

    def place(self, visitor: str, turn: str, wanted: Wanted, folder: Path) -> Order:
        """Take an order in.

        Parameters
        ----------
        visitor : who asks
        turn : whose turn it takes
        wanted : what is to be made
        folder : of `Orders.new_folder`

        Returns
        -------
        The order, which waits.
        """
        order = Order(secrets.token_urlsafe(18), visitor, turn, wanted, folder)
        with self._lock:
            self._orders[order.token] = order
            self._begin(order)
            self._bound(order)
        return order

    def get(self, kind: str, token: str) -> Order | None:
        """The order of an address; work that was given up while nobody looked is taken up again."""
        with self._lock:
            order = self._orders.get(token)
            if order is None or order.wanted.kind != kind:
                return None
            if order.state == "waiting" and self._workshop.progress(order.job) is None:
                self._begin(order)
            return order

    def progress(self, order: Order) -> Progress | None:
        """How far it is in the line; ``None`` where nothing is under way."""
        return self._workshop.progress(order.job)

    def stop(self, order: Order) -> None:
        """Give it up, until it is asked for again."""
        with self._lock:
            if order.state == "waiting":
                self._workshop.stop(order.job)
                order.state, order.job, order.far = "stopped", None, None

    def again(self, order: Order) -> None:
        """Make one that was given up, or refused, once more."""
        with self._lock:
            if order.state in ("stopped", "refused"):
                order.state, order.lines = "waiting", ()
                self._begin(order)

    # ---- work ----

    def _begin(self, order: Order) -> None:
        order.far = None
        job: list[str | None] = [None]

        def hear(message: bytes) -> None:
            if (far := Far.heard(message)) is not None:
                order.far = far

        def work(stopped: Stopped) -> tuple[dict[str, Any], tuple[str, ...]] | None:
            return self._made(order, stopped, hear)

        def done(came: tuple[dict[str, Any], tuple[str, ...]] | None) -> None:
            with self._lock:
                if order.job != job[0] or came is None:
                    return
                order.told, order.lines = came
                order.state, order.job = "refused" if order.lines else "done", None
                if not order.lines:
                    shutil.rmtree(order.given_folder, ignore_errors=True)
                self._bound(order)

        job[0] = order.job = self._workshop.take_in(order.turn, work, done)

    def _made(self, order: Order, stopped: Stopped, hear: Tell) -> tuple[dict[str, Any], tuple[str, ...]] | None:
        """What the work tells, or the lines that say why it cannot be done; ``None`` where nobody waits any more."""
        wanted = order.wanted
        shutil.rmtree(order.made_folder, ignore_errors=True)
        try:
            order.made_folder.mkdir()  # whose parent is gone where the page has ended
            messages = self._run(wanted.make, (*wanted.given, order.made_folder), stopped, wanted.limits, hear)
            if messages is None:
                return None
            told = json.loads(messages[0])
            lines = tuple(map(str, told.pop("lines", ())))
            names = {path.name for path in order.made_folder.iterdir() if path.is_file()}
            told["files"] = [name for name in told.get("files", ()) if name in names]
        except TooLongError:
            return {}, tuple(refusals.took_too_long(wanted.limits.longest_s).lines())
        except RidelogError as error:
            return {}, tuple(error.lines())
        except (EOFError, OSError, ValueError, TypeError, KeyError, IndexError, AttributeError):  # ended, or nonsense
            return {}, tuple(refusals.broke_off().lines())
        return told, lines

    def _bound(self, newest: Order) -> None:
        """Let the oldest go where there are too many, or they are too large."""
        bounds = self._bounds
        own = [each for each in self._orders.values() if each.visitor == newest.visitor]
        for order in own[: max(len(own) - bounds.most_each, 0)]:
            self._forget(order)
        for order in list(self._orders.values())[: max(len(self._orders) - bounds.most, 0)]:
            self._forget(order)
        sizes = {order.token: order.size_bytes() for order in self._orders.values()}
        for order in list(self._orders.values()):
            if order is newest or sum(sizes.values()) <= bounds.most_bytes:
                break
            del sizes[order.token]
            self._forget(order)

    def _forget(self, order: Order) -> None:
        self._workshop.stop(order.job)
        del self._orders[order.token]
        shutil.rmtree(order.folder, ignore_errors=True)
