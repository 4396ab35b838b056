"""What a list says of each ride: its headline and its profile; made once, as each takes an answer and a series."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import field

from ridelog.lazy import dataclass
from ridelog.tell.numbers import Dial

MOST = 2000  # a card is 3 kB


@dataclass(frozen=True)
class Card:
    """The headline as text, the profile as SVG, and the clocks that can tell when the ride began, by their names."""

    headline: str
    spark: str
    clocks: Mapping[str, Dial] = field(default_factory=dict)


class Cards:
    """Cards by key; the one that was looked at longest ago goes first.

    Parameters
    ----------
    most : are held
    """

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._cards: OrderedDict[str, Card] = OrderedDict()

    def get(self, key: str, make: Callable[[], Card]) -> Card:
        """The card of a key.

        Parameters
        ----------
        key : of what it tells, with whatever may change that
        make : makes it

        Returns
        -------
        Card.
        """
        with self._lock:
            if key in self._cards:
                self._cards.move_to_end(key)
                return self._cards[key]
        card = make()
        with self._lock:
            self._cards[key] = card
            while len(self._cards) > self._most:
                self._cards.popitem(last=False)
        return card
