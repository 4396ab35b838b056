"""By how much the errors that rides share move a ride's numbers: a frozen record."""

from collections.abc import Mapping
from dataclasses import field
from types import MappingProxyType

from ridelog.lazy import dataclass

HEIGHT, WIND_ALONG_NORTH, WIND_ALONG_EAST = OF_THE_ROAD = ("height", "wind along north", "wind along east")
Effects = Mapping[str, float]  # error -> signed effect of one standard uncertainty of it; "own" : what is left
ByQuantity = Mapping[str, Effects]


def _none() -> ByQuantity:
    return MappingProxyType({})


@dataclass(frozen=True)
class SharedErrors:
    """Signed effects of one standard uncertainty of each error that other rides may share, in the number's unit.

    ``ride`` : on the ride's ``recovered_pct``, ``captured_pct`` and ``net_wh_per_km`` · ``hills`` : on
    ``captured_pct`` of each hill, in the order of the answer's. A number that is not known has none.
    """

    ride: ByQuantity = field(default_factory=_none)
    hills: tuple[ByQuantity, ...] = ()
