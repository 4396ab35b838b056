"""A fair line: whoever took most of the time already waits for the others. One thread at a time may use it.

Visitors are served by the time that was spent on them, as in fair queueing of packets (Goyal, Vin, Cheng 1996,
start-time fair queueing; from memory): who comes anew begins with the time of whoever was served last, so that neither
staying away nor having come first is an advantage.
"""

from collections import deque
from typing import Generic, TypeVar

Item = TypeVar("Item")
EXPECTED_S = 1.0  # what a ride is thought to take until it has been measured


class Line(Generic[Item]):
    """Visitors take turns by the time spent on them; of one visitor the first comes first.

    Parameters
    ----------
    most : how many wait at most, of all visitors together [1]
    most_each : of one visitor [1]
    """

    def __init__(self, most: int, most_each: int) -> None:
        self._most = most
        self._most_each = most_each
        self._visitors: dict[str, deque[Item]] = {}
        self._spent_s: dict[str, float] = {}
        self._now_s = 0.0

    def __len__(self) -> int:
        return sum(map(len, self._visitors.values()))

    def takes(self, visitor: str) -> bool:
        """Whether another item of this visitor may wait at all."""
        return len(self._visitors.get(visitor, ())) < self._most_each

    def put(self, visitor: str, item: Item) -> list[Item]:
        """Let an item wait; returns what may wait no longer: the item itself, or the last of whoever has most.

        Parameters
        ----------
        visitor : whose it is
        item : what waits

        Returns
        -------
        One item where the line was full, else none.
        """
        if visitor not in self._visitors:
            self._spent_s[visitor] = max(self._spent_s.get(visitor, 0.0), self._now_s)
        own = self._visitors.setdefault(visitor, deque())
        own.append(item)
        if len(own) > self._most_each:
            return [own.pop()]
        if len(self) <= self._most:
            return []
        longest = max(self._visitors.values(), key=len)
        last = (longest if len(longest) > len(own) else own).pop()
        self._forget()
        return [last]

    def take(self) -> Item | None:
        """The next item; ``None`` where nobody waits. What it took is told by `charge`."""
        if not self._visitors:
            return None
        visitor = min(self._visitors, key=lambda each: self._spent_s[each])
        self._now_s = self._spent_s[visitor]
        self._spent_s[visitor] += EXPECTED_S
        item = self._visitors[visitor].popleft()
        self._visitors[visitor] = self._visitors.pop(visitor)  # behind those of whom as much was taken
        self._forget()
        return item

    def charge(self, visitor: str, seconds: float) -> None:
        """What an item of this visitor took in the end, for the visitor's next turn [s]."""
        if visitor in self._spent_s:
            self._spent_s[visitor] += seconds - EXPECTED_S

    def drop(self, item: Item) -> None:
        """Let an item wait no longer; nothing happens where it does not wait."""
        for own in self._visitors.values():
            if item in own:
                own.remove(item)
        self._forget()

    def ahead(self, item: Item) -> int | None:
        """How many are taken before this one if nobody comes meanwhile; ``None`` where it does not wait."""
        if not any(item in own for own in self._visitors.values()):
            return None
        visitors = {name: list(own) for name, own in self._visitors.items()}
        spent_s = dict(self._spent_s)
        for n_taken in range(len(self)):
            visitor = min(visitors, key=lambda each: spent_s[each])
            if visitors[visitor].pop(0) == item:
                return n_taken
            spent_s[visitor] += EXPECTED_S
            own = visitors.pop(visitor)
            if own:
                visitors[visitor] = own
        return None

    def _forget(self) -> None:
        """Nothing is kept of who has nothing here and would begin anew as well."""
        for name in [name for name, own in self._visitors.items() if not own]:
            del self._visitors[name]
        for name in [name for name, spent_s in self._spent_s.items() if spent_s <= self._now_s]:
            if name not in self._visitors:
                del self._spent_s[name]
