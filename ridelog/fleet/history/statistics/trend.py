"""Does a value rise or fall over time, whatever its spread?

The slope of Theil (1950) and Sen (1968, J. Am. Stat. Assoc. 63:1379) is the median of the slopes of all pairs; whether
there is one is asked of their signs alone (Mann 1945, Econometrica 13:245; Kendall's tau). One wild ride moves neither.
"""

from ridelog.fleet.history.measured import Floats
from ridelog.lazy import dataclass


@dataclass(frozen=True)
class Trend:
    """A slope [unit of the values a day] with its 95 % interval, and the probability of one as clear without any."""

    per_day: float
    low95: float
    high95: float
    p_value: float


def trend(days: Floats, values: Floats) -> Trend | None:
    """The trend of values over days; ``None`` under four of them, or all on one day."""
    if len(values) < 4 or days.max() == days.min():
        return None
    from scipy import stats

    slope = stats.theilslopes(values, days, alpha=0.95)
    p_value = float(stats.kendalltau(days, values).pvalue) if values.max() > values.min() else 1.0
    return Trend(float(slope[0]), float(slope[2]), float(slope[3]), p_value)
