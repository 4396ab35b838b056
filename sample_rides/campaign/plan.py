"""What a made-up campaign is to be: which settings, how far apart, in which order, with which loggers."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

WEAK, STRONG, OFF = "weak", "strong", "off"
OTHER = "-other"  # of folders that hold what the other logger wrote
_FIRST_DAY = datetime(2026, 6, 1, tzinfo=UTC)
_HOURS = (8, 13, 17)
_FASTER_RATIO = 1.12  # a rider in a hurry


@dataclass(frozen=True)
class CampaignPlan:
    """A campaign before it is ridden.

    Attributes
    ----------
    difference_pct : recovered share under strong regen less that under weak, ridden alike [percentage points]
    rides_per_setting : rides under each setting; even, so that the order can turn
    with_off : a third setting without regen
    speed_confounded : under strong regen the rider is in a hurry
    two_loggers : rides under weak regen are logged by another logger, which writes other files
    side_by_side : every ride is logged by that other logger too, into folders that end in ``-other``
    bike : campaigns with the same number are ridden on the same bike, whatever their seed; ``None``: one of its own
    """

    difference_pct: float = 2.0
    rides_per_setting: int = 6
    with_off: bool = False
    speed_confounded: bool = False
    two_loggers: bool = False
    side_by_side: bool = False
    bike: int | None = None

    def __post_init__(self) -> None:
        if self.rides_per_setting < 2 or self.rides_per_setting % 2:
            raise ValueError(f"{self.rides_per_setting} rides a setting cannot be ridden there and back in order")

    @property
    def settings(self) -> tuple[str, ...]:
        """Their names, the weakest first."""
        return (OFF, WEAK, STRONG) if self.with_off else (WEAK, STRONG)

    @property
    def order(self) -> tuple[tuple[str, datetime], ...]:
        """Each ride's setting and about when it begins: A-B on one day, B-A on the next."""
        ridden = []
        for day in range(self.rides_per_setting):
            settings = self.settings if day % 2 == 0 else self.settings[::-1]
            hours = (_HOURS[0], *_HOURS[-len(settings) + 1 :])
            moments = [_FIRST_DAY + timedelta(days=2 * day, hours=hour) for hour in hours]
            ridden += list(zip(settings, moments, strict=True))
        return tuple(ridden)

    def pace_ratio(self, setting: str) -> float:
        """How fast is ridden under a setting, against what is usual [1]."""
        return _FASTER_RATIO if self.speed_confounded and setting == STRONG else 1.0
