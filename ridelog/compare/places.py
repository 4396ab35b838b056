"""Where the rides of a group are: a folder, a file, or rides of a store, as they are named on a command line."""

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from types import MappingProxyType
from urllib.parse import parse_qsl, urlencode

from ridelog.fleet.folders import STORE_MARK, RideFiles
from ridelog.lazy import dataclass
from ridelog.tell.refusals import compare as refusals
from ridelog.there import is_file, is_there

LONGEST_NAME = 100  # of a group; it stands in every sentence and at the head of columns
KEYS = ("bike", "from", "to", "group")  # by which a store is asked


@dataclass(frozen=True)
class Query:
    """Rides of a store.

    ``address`` : of the store · ``bikes``, ``groups`` : empty for all · ``since``, ``until`` : rides that began at or
    after the one and before the other, UTC
    """

    address: str
    bikes: tuple[str, ...] = ()
    groups: tuple[str, ...] = ()
    since: datetime | None = None
    until: datetime | None = None

    @property
    def text(self) -> str:
        """As it is written on a command line."""
        asked = [("bike", each) for each in self.bikes] + [("group", each) for each in self.groups]
        asked += [
            (key, each.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"))
            for key, each in (("from", self.since), ("to", self.until))
            if each  # strftime would write the year 1 without its zeros, which reads as none
        ]
        return f"{self.address}?{urlencode(asked)}" if asked else self.address


@dataclass(frozen=True)
class GroupPlace:
    """One place of a group: its name, and a folder, a file, rides of a store, or the files of some rides."""

    name: str
    place: Path | Query | tuple[RideFiles, ...]


def group_place(text: str) -> GroupPlace:
    """A place of a group as ``NAME=PATH``.

    Raises
    ------
    UsageError : no name, or one that cannot be read, nothing at the path, or a query that is none
    """
    name, equals, path = text.partition("=")
    if not equals or not name.strip() or not path or any(mark in name for mark in "?/\\"):
        raise refusals.no_group(text)
    if not name.strip().isprintable() or len(name.strip()) > LONGEST_NAME:
        raise refusals.no_name(name.strip(), LONGEST_NAME)
    here = Path(path)
    if "://" in path or is_file(here / STORE_MARK):
        return GroupPlace(name.strip(), _query(path))
    if is_there(here):
        return GroupPlace(name.strip(), here)
    if "?" in path:
        return GroupPlace(name.strip(), _query(path))
    raise refusals.nowhere(name.strip(), path)


def _query(path: str) -> Query:
    """The rides of ``STORE?bike=…&from=…&to=…&group=…``; of a day that ends them, all."""
    address, _, asked = path.partition("?")
    told: dict[str, list[str]] = {key: [] for key in KEYS}
    for key, value in parse_qsl(asked, keep_blank_values=True):
        if key not in told:
            raise refusals.unknown_key(path, key, KEYS)
        told[key].append(value)
    times: Mapping[str, datetime | None] = MappingProxyType(
        {key: _moment(path, key, told[key]) for key in ("from", "to")}
    )
    return Query(address, tuple(told["bike"]), tuple(told["group"]), times["from"], times["to"])


def _moment(path: str, key: str, texts: Sequence[str]) -> datetime | None:
    """A date or time, UTC where it states no zone; a day that ends a span ends with it."""
    if not texts:
        return None
    text = texts[-1]
    try:
        if len(text) <= len("2026-03-01"):
            return midnight(text, days_later=1 if key == "to" else 0)
        moment = datetime.fromisoformat(text.replace(" ", "+"))  # a plus sign of a query reads as a blank
        return (moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise refusals.no_date(path, key, text) from error


def midnight(text: str, *, days_later: int = 0) -> datetime:
    """When a day begins in UTC, or one so many days later.

    Raises
    ------
    ValueError : no day
    OverflowError : beyond the last day that there is a date for
    """
    return datetime.combine(date.fromisoformat(text), time(), UTC) + timedelta(days=days_later)
