"""The rides that the page holds for its visitors: bounded, shared by threads, found by a random token."""

import hashlib
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field

from ridelog.answer.ride import Answer
from ridelog.lazy import dataclass
from ridelog.recording import ColumnReading, Preview
from ridelog.web.tray.changes import Change

KEPT_COLUMNS = (
    "elapsed_s",
    "power_w",
    "current_a",
    "voltage_v",
    "speed_mps",
    "distance_m",
    "altitude_m",
    "smooth_altitude_m",
    "regen_mask",
    "braking_mask",
    "east_m",
    "north_m",
)


def header_key(readings: Sequence[ColumnReading]) -> str:
    """What logs with the same header have in common."""
    return hashlib.sha256("\n".join(reading.header for reading in readings).encode()).hexdigest()[:32]


@dataclass(frozen=True)
class Columns:
    """How the columns of one log were understood.

    Attributes
    ----------
    name : of the log
    readings : one a column
    questions : what is open
    map_toml : the column map that says so, where there is one
    previews : some rows of each column
    """

    name: str
    readings: tuple[ColumnReading, ...]
    questions: tuple[str, ...] = ()
    map_toml: str | None = None
    previews: tuple[Preview, ...] = ()

    @property
    def header(self) -> str:
        """What logs with the same header have in common."""
        return header_key(self.readings)


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

    def has_header(self, header: str) -> bool:
        """Whether one of its logs has this header."""
        return any(each.header == header for each in self.columns)


@dataclass(frozen=True)
class Owned:
    """What the visitor who looks at a ride may do with it.

    Attributes
    ----------
    mine : it is the visitor's own
    free : anybody may have it measured otherwise, which makes it a ride of the visitor's own
    waiting, stopped : it is not measured yet, or not at all
    bike : text of its bike file
    n_same_bike : rides of the visitor with that bike file
    corrected : headers of logs whose columns the visitor corrected
    changes : what the visitor chose, and what that changed in the answer, the latest last
    hills : of a kept ride, the hills among those of all kept rides, by the second at which it enters them
    """

    mine: bool = False
    free: bool = False
    waiting: bool = False
    stopped: bool = False
    bike: str | None = None
    n_same_bike: int = 1
    corrected: frozenset[str] = frozenset()
    changes: tuple[Change, ...] = ()
    hills: Mapping[float, str] = field(default_factory=dict)


NOBODYS = Owned()


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


@dataclass(frozen=True)
class _Folded:
    """A ride that is at hand no longer, and what gives it back."""

    size_bytes: int
    unfold: Callable[[], ShownRide]


class RideStore:
    """Answers by token. When full, the one that was looked at longest ago goes; sample rides stay.

    Parameters
    ----------
    most_rides : how many are held at most, beside the sample rides
    most_bytes : size of all their series together at most (the newest is held in any case) [bytes]
    fold : makes a measured ride small, and gives what makes it what it was
    most_at_hand : of those looked at last so many stay as they are
    largest_folded : a longer series would keep others waiting while it is folded [bytes]
    """

    def __init__(
        self,
        *,
        most_rides: int = 400,
        most_bytes: int = 600_000_000,
        fold: Callable[[ShownRide], Callable[[], ShownRide]] | None = None,
        most_at_hand: int = 20,
        largest_folded: int = 1_000_000,
    ) -> None:
        self._most_rides = most_rides
        self._most_bytes = most_bytes
        self._fold, self._most_at_hand, self._largest_folded = fold, most_at_hand, largest_folded
        self._lock = threading.Lock()
        self._rides: OrderedDict[str, ShownRide | _Folded] = OrderedDict()
        self._versions: dict[str, int] = {}
        self._samples: dict[str, ShownRide] = {}
        self._sample_tokens: dict[str, str] = {}
        self._making = threading.Lock()
        self._behind: Callable[[str], ShownRide | None] = lambda _: None

    def look_behind(self, find: Callable[[str], ShownRide | None]) -> None:
        """Ask ``find`` for a ride that is not held, by what stands in the place of its token."""
        self._behind = find

    def put(self, shown: ShownRide, token: str | None = None) -> str:
        """Hold a ride, in the place of the one of that token; returns its token."""
        token = token or secrets.token_urlsafe(18)
        with self._lock:
            self._rides[token] = shown
            self._rides.move_to_end(token)
            self._versions[token] = self._versions.get(token, 0) + 1
            self._bound()
            if len(self._versions) > 50 * self._most_rides:  # of rides that went long ago
                self._versions = {each: version for each, version in self._versions.items() if each in self._rides}
        self._fold_away()
        return token

    def _fold_away(self) -> None:
        """Make small what is at hand no longer; of what was found behind nothing, as it is found there again."""
        if self._fold is None:
            return
        with self._lock:
            away = [(token, ride) for token, ride in self._rides.items() if token in self._versions]
        for token, ride in away[: -self._most_at_hand]:
            if isinstance(ride, _Folded) or ride.answer is None or ride.size_bytes > self._largest_folded:
                continue
            folded = _Folded(ride.size_bytes, self._fold(ride))
            with self._lock:
                if self._rides.get(token) is ride:
                    self._rides[token] = folded

    def _bound(self) -> None:
        while len(self._rides) > 1 and (
            len(self._rides) > self._most_rides
            or sum(each.size_bytes for each in self._rides.values()) > self._most_bytes
        ):
            self._rides.popitem(last=False)

    def version(self, token: str) -> int:
        """How often a ride was put here."""
        with self._lock:
            return self._versions.get(token, 0)

    def drop(self, token: str) -> None:
        """Hold a ride no longer."""
        with self._lock:
            self._rides.pop(token, None)

    def get(self, token: object) -> ShownRide | None:
        """The ride of a token; ``None`` for a token that is unknown or has been given up."""
        with self._lock:
            if not isinstance(token, str):
                return None
            held = self._samples.get(token) or self._rides.get(token)
            if token in self._rides:
                self._rides.move_to_end(token)
        if isinstance(held, _Folded):
            return self._unfolded(token, held)
        if held is not None:
            return held
        found = self._behind(token)  # takes a moment, in which others go on
        if found is not None:
            with self._lock:
                self._rides[token] = found
                self._bound()
        return found

    def _unfolded(self, token: str, folded: _Folded) -> ShownRide:
        """A ride that is wanted again, which takes a moment, in which others go on."""
        ride = folded.unfold()
        with self._lock:
            if self._rides.get(token) is folded:
                self._rides[token] = ride
        self._fold_away()
        return ride

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

    def sample_token(self, name: str) -> str | None:
        """Token of a sample ride, where it was looked at before."""
        return self._sample_tokens.get(name)

    def _held(self, sample: ShownRide) -> str:
        if sample.answer is None:
            return self.put(sample)
        token = secrets.token_urlsafe(18)
        with self._lock:
            self._samples[token] = sample
        return token
