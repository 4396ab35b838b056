"""The rides that the page holds for its visitors: bounded, shared by threads, found by a random token."""

import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field

from ridelog.answer.ride import Answer
from ridelog.recording import ColumnReading

KEPT_COLUMNS = (
    "elapsed_s",
    "power_w",
    "current_a",
    "distance_m",
    "altitude_m",
    "smooth_altitude_m",
    "regen_mask",
    "braking_mask",
    "east_m",
    "north_m",
)


@dataclass(frozen=True)
class Columns:
    """How the columns of one log were understood, and the column map that says so, where there is one."""

    name: str
    readings: tuple[ColumnReading, ...]
    questions: tuple[str, ...] = ()
    map_toml: str | None = None


@dataclass(frozen=True)
class ShownRide:
    """What one visitor looks at: an answer, or why there is none.

    ``error_lines`` is empty exactly where ``answer`` is there.
    """

    title: str
    answer: Answer | None = None
    error_lines: tuple[str, ...] = ()
    columns: tuple[Columns, ...] = ()
    sample: str | None = None
    files: tuple[str, ...] = ()
    size_bytes: int = field(default=0, repr=False)


def shown_ride(
    answer: Answer,
    *,
    title: str,
    columns: tuple[Columns, ...] = (),
    sample: str | None = None,
    files: tuple[str, ...] = (),
) -> ShownRide:
    """An answer ready to be kept: its series cut down to what the page draws.

    Parameters
    ----------
    answer : of the ride
    title : shown above it
    columns : how each log's columns were understood
    sample : name of the sample ride
    files : names of the visitor's files

    Returns
    -------
    Ride to be kept, with the size of its series.
    """
    series = answer.series[[name for name in KEPT_COLUMNS if name in answer.series]]
    slim = Answer(**{**vars(answer), "series": series})
    size = int(series.memory_usage().sum())
    return ShownRide(title, slim, columns=columns, sample=sample, files=files, size_bytes=size)


class RideStore:
    """Answers by token. When full, the one that was looked at longest ago goes; sample rides stay.

    Parameters
    ----------
    most_rides : how many are held at most, beside the sample rides
    most_bytes : size of all their series together at most (the newest is held in any case) [bytes]
    """

    def __init__(self, *, most_rides: int = 40, most_bytes: int = 600_000_000) -> None:
        self._most_rides = most_rides
        self._most_bytes = most_bytes
        self._lock = threading.Lock()
        self._rides: OrderedDict[str, ShownRide] = OrderedDict()
        self._samples: dict[str, ShownRide] = {}
        self._sample_tokens: dict[str, str] = {}
        self._making = threading.Lock()

    def put(self, shown: ShownRide) -> str:
        """Hold a ride; returns its token."""
        token = secrets.token_urlsafe(18)
        with self._lock:
            self._rides[token] = shown
            while len(self._rides) > 1 and (
                len(self._rides) > self._most_rides
                or sum(each.size_bytes for each in self._rides.values()) > self._most_bytes
            ):
                self._rides.popitem(last=False)
        return token

    def get(self, token: object) -> ShownRide | None:
        """The ride of a token; ``None`` for a token that is unknown or has been given up."""
        with self._lock:
            if not isinstance(token, str):
                return None
            if token in self._rides:
                self._rides.move_to_end(token)
                return self._rides[token]
            return self._samples.get(token)

    def sample(self, name: str, make: Callable[[], ShownRide]) -> str:
        """Token of a sample ride.

        It is made once and held for good, so that no visitor can have it measured again and again; one at a time, so
        that all of them together take no more of the machine than one. One that has no answer is made anew once it
        is no longer held.

        Parameters
        ----------
        name : of the sample ride
        make : gives it

        Returns
        -------
        Token.
        """
        token = self._sample_tokens.get(name)
        if token is not None and self.get(token) is not None:
            return token
        with self._making:
            token = self._sample_tokens.get(name)
            if token is None or self.get(token) is None:
                token = self._held(make())
                self._sample_tokens[name] = token
            return token

    def _held(self, sample: ShownRide) -> str:
        if sample.answer is None:
            return self.put(sample)
        token = secrets.token_urlsafe(18)
        with self._lock:
            self._samples[token] = sample
        return token
