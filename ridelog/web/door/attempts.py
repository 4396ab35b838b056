"""How often a password may be tried: after a few wrong ones with a wait that doubles, for each address and for all.

This computer's own attempts wait seconds at most, however often others try, so that nobody can keep its owner out.
Two passwords are checked at the same time at most, one of them for this computer itself: a check is work.
"""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from ipaddress import IPv6Address, ip_address, ip_network

from ridelog.lazy import dataclass


@dataclass(frozen=True)
class Pace:
    """How long is waited after wrong passwords.

    Attributes
    ----------
    n_free : wrong passwords that cost no wait; a mistyped one happens [1]
    longest_s : the wait doubles from one second up to this [s]
    forgotten_s : after so long without a wrong password it begins anew [s]
    """

    n_free: int
    longest_s: float
    forgotten_s: float


OF_ONE = Pace(n_free=5, longest_s=900.0, forgotten_s=3600.0)  # about 100 guesses a day
OF_ALL = Pace(n_free=50, longest_s=30.0, forgotten_s=600.0)  # 2880 guesses a day, from however many addresses
OF_THIS_COMPUTER = Pace(n_free=5, longest_s=4.0, forgotten_s=60.0)
MOST_ADDRESSES = 10_000  # remembered; those that tried last stay
THIS_COMPUTER = "this computer"
ALL = "all others"
BUSY_S = 1.0  # waited where another password is being checked [s]


@dataclass
class _Wrong:
    count: int = 0
    last_s: float = 0.0


class Attempts:
    """Counts wrong passwords.

    Parameters
    ----------
    clock : seconds that never go back
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._wrong: OrderedDict[str, _Wrong] = OrderedDict()
        self._all = _Wrong()
        self._checking: set[bool] = set()  # whether for this computer itself

    def try_password(self, address: str, fits: Callable[[], bool]) -> tuple[bool, float]:
        """Check a password, unless its sender has to wait, which is told without a look at it.

        Parameters
        ----------
        address : of who sends it, or `THIS_COMPUTER`
        fits : checks it

        Returns
        -------
        Whether it is right, and how long the sender has to wait before it can be checked [s].
        """
        own, name = address == THIS_COMPUTER, network(address)
        with self._lock:
            wait_s = self._wait_s(name, own=own)
            if wait_s > 0:
                return False, wait_s
            if own in self._checking:
                return False, BUSY_S
            self._checking.add(own)
            self._count(name, own=own)  # at once: of many that come together each counts before it is checked
        right = False
        try:
            right = fits()
        finally:
            with self._lock:
                self._checking.discard(own)
                if right:
                    self._wrong.pop(name, None)
                    self._all.count -= 0 if own else 1
        return right, 0.0

    def _wait_s(self, name: str, *, own: bool) -> float:
        if own:
            return self._left_s(self._wrong.get(name), OF_THIS_COMPUTER)
        return max(self._left_s(self._wrong.get(name), OF_ONE), self._left_s(self._all, OF_ALL))

    def _left_s(self, wrong: _Wrong | None, pace: Pace) -> float:
        if wrong is None or wrong.count <= pace.n_free:
            return 0.0
        wait_s = min(2.0 ** min(wrong.count - pace.n_free - 1, 30), pace.longest_s)
        return max(0.0, wrong.last_s + wait_s - self._clock())

    def _count(self, name: str, *, own: bool) -> None:
        now_s = self._clock()
        wrong = self._wrong.setdefault(name, _Wrong())
        self._wrong.move_to_end(name)
        counted = [(wrong, OF_THIS_COMPUTER if own else OF_ONE), *([] if own else [(self._all, OF_ALL)])]
        for each, pace in counted:
            begins = now_s - each.last_s > pace.forgotten_s
            each.count, each.last_s = 1 if begins else each.count + 1, now_s
        while len(self._wrong) > MOST_ADDRESSES:
            self._wrong.popitem(last=False)


def network(address: str) -> str:
    """Whose addresses these are: of IPv6, one computer has 2⁶⁴."""
    try:
        known = ip_address(address.partition("%")[0])
    except ValueError:
        return address[:64]
    if not isinstance(known, IPv6Address):
        return str(known)
    return str(known.ipv4_mapped or ip_network((known, 64), strict=False))
