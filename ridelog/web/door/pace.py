"""Whoever asks much faster than a page does waits for each answer, before anything is done about it.

Requests that are refused cost a millisecond each; some hundreds a second from one computer make those of others wait
for their turn on the processor. Such requests are laid aside, without a thread, until their sender's turn comes: a
token bucket for each address (RFC 2697, 3, of bytes; from memory), in debt where more was asked for than came in.
"""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from typing import Any

from ridelog.lazy import dataclass
from ridelog.web.door.attempts import THIS_COMPUTER, network
from ridelog.web.door.origin import sender_of


@dataclass(frozen=True)
class Pace:
    """How fast one address is answered; this computer itself at once.

    Attributes
    ----------
    n_at_once : requests without any wait; a page begins with some fifty [1]
    per_s : and on and on; a page that waits for a ride asks once a second [1/s]
    longest_s : of a wait [s]
    most_addresses : remembered; those that asked last stay [1]
    """

    n_at_once: float = 200.0
    per_s: float = 20.0
    longest_s: float = 5.0
    most_addresses: int = 10_000


DEFAULT_PACE = Pace()


class Paces:
    """Counts requests by address.

    Parameters
    ----------
    pace : how fast one address is answered
    clock : seconds that never go back
    """

    def __init__(self, pace: Pace = DEFAULT_PACE, clock: Callable[[], float] = time.monotonic) -> None:
        self._pace, self._clock = pace, clock
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()  # requests without a wait, and as of when

    def wait_s(self, address: str) -> float:
        """How long a request of this address has to wait [s]; it counts."""
        if address == THIS_COMPUTER:
            return 0.0
        pace, now_s, name = self._pace, self._clock(), network(address)
        left, then_s = self._left.pop(name, (pace.n_at_once, now_s))
        left = min(pace.n_at_once, left + (now_s - then_s) * pace.per_s) - 1.0
        self._left[name] = (max(left, -pace.longest_s * pace.per_s), now_s)
        while len(self._left) > pace.most_addresses:
            self._left.popitem(last=False)
        return min(max(0.0, -left / pace.per_s), pace.longest_s)


class Aside:
    """Lays connections aside whose request has to wait, between a server of waitress and its threads.

    Parameters
    ----------
    paces : how long
    begin : has a request of a connection answered
    clock : seconds that never go back
    """

    def __init__(self, paces: Paces, begin: Callable[[Any], None], clock: Callable[[], float] = time.monotonic) -> None:
        self._paces, self._begin, self._clock = paces, begin, clock
        self._lock = threading.Lock()
        self._waiting: list[tuple[float, Any]] = []

    def take(self, channel: Any) -> None:
        """Answer a connection's next request now or later."""
        with self._lock:
            wait_s = self._paces.wait_s(sent_by(channel))
            if wait_s > 0:
                self._waiting.append((self._clock() + wait_s, channel))
                return
        self._begin(channel)

    def look(self) -> None:
        """Answer what has waited long enough, and let go what nobody waits for any more."""
        now_s = self._clock()
        with self._lock:
            due = [channel for due_s, channel in self._waiting if due_s <= now_s or not channel.connected]
            self._waiting = [each for each in self._waiting if each[0] > now_s and each[1].connected]
        for channel in due:
            self._begin(channel)


def sent_by(channel: Any) -> str:
    """The address that the next request of a connection comes from, as `sender_of` has it."""
    headers = channel.requests[0].headers
    return sender_of(str(channel.addr[0]), headers.get("X_FORWARDED_FOR", ""))
