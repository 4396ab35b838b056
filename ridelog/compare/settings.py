"""Every threshold of a comparison, with its unit, its default and the reason for it."""

from collections.abc import Mapping
from dataclasses import field, fields
from types import MappingProxyType

from ridelog.answer.provenance import Setting
from ridelog.lazy import dataclass

# the smallest difference that somebody would change a setting for (judgement): points, points, Wh/km
WORTH_KNOWING: Mapping[str, float] = MappingProxyType(
    {"recovered_pct": 1.0, "captured_pct": 5.0, "net_wh_per_km": 0.5}
)  # fmt: skip


@dataclass(frozen=True)
class CompareSettings:
    """Thresholds of a comparison.

    Attributes
    ----------
    false_alarm_rate : probability that any difference is told where there is none, over all that are asked together
    power : how often a difference is to be told that there is; usual since Cohen 1988
    fewest_pairs : below, the spread of pairs cannot be told from chance
    most_left_over : share of the rides; where more have no partner, and all are of one route, groups are compared whole
    same_ride_s : two recordings of one bike that begin within it are of one ride [s]
    worth_knowing : by quantity, the difference that rides to settle it are counted for
    """

    false_alarm_rate: float = 0.05
    power: float = 0.8
    fewest_pairs: int = 3
    most_left_over: float = 1 / 3
    same_ride_s: float = 120.0
    worth_knowing: Mapping[str, float] = field(default_factory=lambda: WORTH_KNOWING)


DEFAULTS = CompareSettings()


def told(settings: CompareSettings) -> Mapping[str, Setting]:
    """The thresholds by name, as a record holds them; those of a quantity behind its name.

    Parameters
    ----------
    settings : of a comparison

    Returns
    -------
    "worth_knowing.recovered_pct" and the like -> value
    """
    flat: dict[str, Setting] = {}
    for each in fields(settings):
        value = getattr(settings, each.name)
        flat |= (
            {f"{each.name}.{key}": own for key, own in value.items()}
            if isinstance(value, Mapping)
            else {each.name: value}
        )
    return MappingProxyType(flat)
