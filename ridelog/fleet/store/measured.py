"""A measured ride, as it goes into a store: frozen records."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from types import MappingProxyType
from typing import TYPE_CHECKING

from ridelog.lazy import dataclass

if TYPE_CHECKING:
    from ridelog.answer.ride import Answer
from ridelog.uncertain.quantity import Quantity

Extra = float | bool | str | Quantity | None
_KEY = re.compile(r"[0-9a-f]{64}")


def _nothing() -> Mapping[str, Extra]:
    return MappingProxyType({})


@dataclass(frozen=True)
class Names:
    """What a ride is called: its bike, the ride itself, and its group; nothing of it is in the ride's key."""

    bike: str
    name: str
    group: str | None


@dataclass(frozen=True)
class MeasuredRide:
    """One ride with all that a store keeps of it.

    ``key`` : SHA-256 in hexadecimal digits, of the ride's files and its bike file · ``bike`` : name of the bike ·
    ``name``, ``group`` : of the ride, the latter from a manifest or ``None`` · ``answer`` : with its series ·
    ``extra`` : more columns of the table of answers, by name (see `columns.BESIDE`); what is left out is taken from
    the answer where it tells it

    Raises
    ------
    ValueError : a key that is none, or a bike without a name
    """

    key: str
    bike: str
    name: str
    group: str | None
    answer: Answer
    extra: Mapping[str, Extra] = field(default_factory=_nothing)

    def __post_init__(self) -> None:
        if not _KEY.fullmatch(self.key):
            raise ValueError(f"{self.key!r} is no SHA-256 in 64 hexadecimal digits")
        if not self.bike:
            raise ValueError("a bike needs a name")
