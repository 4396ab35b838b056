"""The study of hills: are they found where the road has them, cut where it runs level, and as high as it is?

A true hill counts only where the heights can tell it: it must be one, of about the same extent, for every rule whose
numbers are moved by what they cannot (`slack_rules`), and four standard uncertainties high.
"""

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from ridelog.analysis.road.height_noise import Track
from ridelog.analysis.road.height_uncertainty import hill_height_q, told_slopes
from ridelog.analysis.road.hills.agreed_slopes import agreed_slopes
from ridelog.analysis.road.hills.slopes import Slope
from ridelog.analysis.scene import heights_of
from ridelog.uncertain.quantity import Quantity
from tests.proof.hill_roads import (
    Floats,
    HeightError,
    Passage,
    RoadHill,
    drawn_road,
    level_runs,
    ridden,
    road_hills,
    slack_rules,
)

SAME = 0.5  # two spans are of one hill if they share at least this part of what both cover
ALIKE = 0.8  # as much of a hill is the same under every rule: it can be told
TOLD = 4.0  # standard uncertainties of its height that a hill must have to be told from zero in nearly every record


@dataclass
class HillCount:
    """What came of the roads of a study.

    Attributes
    ----------
    n_true, n_true_found : hills of the roads by definition
    n_told, n_told_found : those that the heights can tell
    n_found, n_wrong : hills in the answers; those that are one by no rule
    n_feigned : hills in the answers where the road goes that way by less than 1 %
    n_merged : hills in the answers that hold two hills which can be told and long level road between them
    height_off_m, height_off_beyond_m : height less the road's over the same stretch, and less what the device's error
        wandered besides [m]
    n_held : hills in the answers whose interval of the height holds the road's
    end_off_m : start or end of a hill that can be told, less the true one [m]
    """

    n_true: int = 0
    n_true_found: int = 0
    n_told: int = 0
    n_told_found: int = 0
    n_found: int = 0
    n_wrong: int = 0
    n_feigned: int = 0
    n_merged: int = 0
    n_held: int = 0
    height_off_m: list[float] = field(default_factory=list)
    height_off_beyond_m: list[float] = field(default_factory=list)
    end_off_m: list[float] = field(default_factory=list)

    def row(self, name: str) -> str:
        """The figures as a row of `HEADER`'s table."""
        off_m, beyond_m, ends_m = (
            np.abs(part) for part in (self.height_off_m, self.height_off_beyond_m, self.end_off_m)
        )
        cells = (
            name,
            _share(self.n_told_found, self.n_told),
            f"{self.n_true_found} of {self.n_true}",
            _share(self.n_wrong, self.n_found),
            str(self.n_feigned),
            str(self.n_merged),
            f"{np.median(off_m):.2f}, {off_m.max():.2f}",
            f"{100 * self.n_held / self.n_found:.1f}",
            f"{np.median(beyond_m):.2f}, {beyond_m.max():.2f}",
            f"{np.median(ends_m):.0f}, {np.quantile(ends_m, 0.95):.0f}" if len(ends_m) else "none told",
        )
        return "| " + " | ".join(cells) + " |"


def _share(part: int, whole: int) -> str:
    """A count of a count; as a percentage too where there are any."""
    return f"{part} of {whole}" + (f" ({100 * part / whole:.1f} %)" if whole else "")


HEADER = (
    "| heights | told hills found | of all | wrong | feigned | merged | height off: median, worst [m] "
    "| its interval holds the road's [%] | without the device's drift [m] | ends off: median, 95 % [m] |\n"
    "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |"
)


def count_hills(
    seeds: Iterable[int], error: HeightError, *, road_of: Callable[[np.random.Generator], Floats] = drawn_road
) -> HillCount:
    """Roads of one kind, ridden with heights of one error."""
    count = HillCount()
    for seed in seeds:
        road_m = road_of(np.random.default_rng([seed, 77, road_of is not drawn_road]))
        passage = ridden(np.random.default_rng([seed, 78]), road_m, error)
        _count(count, road_m, passage, error)
    return count


def hills_found(passage: Passage) -> list[tuple[RoadHill, Slope, Quantity]]:
    """The hills that the analysis lists, and their heights with intervals."""
    heights = heights_of(Track(passage.time_s, passage.distance_m, passage.altitude_m, passage.speed_mps))
    if heights is None:
        return []
    noise, place_m = heights.noise, heights.profile.distance_m
    return [
        (
            RoadHill(one.direction, float(place_m[one.start]), float(place_m[one.end])),
            one,
            hill_height_q(one, noise),
        )
        for one in told_slopes(agreed_slopes(heights.profile, noise), noise)
    ]


def _count(count: HillCount, road_m: Floats, passage: Passage, error: HeightError) -> None:
    found = hills_found(passage)
    spans = [span for span, _, _ in found]
    hills = road_hills(road_m)
    others = [road_hills(road_m, rule) for rule in slack_rules(error)]
    told = [hill for hill in hills if _told(hill, others, road_m, passage, error)]
    count.n_true += len(hills)
    count.n_true_found += sum(_best(hill, spans) >= SAME for hill in hills)
    count.n_told += len(told)
    for hill in told:
        if _best(hill, spans) >= SAME:
            count.n_told_found += 1
            same = max(spans, key=hill.overlap)
            count.end_off_m += [same.start_m - hill.start_m, same.end_m - hill.end_m]
    level = level_runs(road_m, pct=_surely_level_pct(error), length_m=150.0 + 30.0 + 20 * error.u_m(25.0))
    for span, slope, height in found:
        count.n_found += 1
        count.n_wrong += all(_best(span, each) < SAME for each in (hills, *others))
        count.n_merged += _merges(span, told, level)
        ends_m = np.array([span.start_m, span.end_m])
        drift_m = float(np.diff(np.interp(ends_m, passage.distance_m, passage.wandered_m))[0])
        rise_m = float(np.diff(np.interp(ends_m, np.arange(len(road_m)), road_m))[0])
        sign = 1.0 if span.direction == "up" else -1.0
        count.n_feigned += 100 * sign * rise_m < span.end_m - span.start_m
        count.n_held += (
            height.low95 is not None and height.high95 is not None and height.low95 <= rise_m <= height.high95
        )
        count.height_off_m.append(slope.height_m - rise_m)
        count.height_off_beyond_m.append(slope.height_m - rise_m - drift_m)


def _best(hill: RoadHill, others: Sequence[RoadHill]) -> float:
    return max((hill.overlap(other) for other in others), default=0.0)


def _told(hill: RoadHill, others: list[list[RoadHill]], road_m: Floats, passage: Passage, error: HeightError) -> bool:
    """Whether heights with this error can tell a hill, and its extent."""
    rise_m = abs(road_m[round(hill.end_m)] - road_m[round(hill.start_m)])
    start_s, end_s = np.interp([hill.start_m, hill.end_m], passage.distance_m, passage.time_s).tolist()
    return bool(rise_m >= TOLD * error.u_m(end_s - start_s) and all(_best(hill, each) >= ALIKE for each in others))


def _surely_level_pct(error: HeightError) -> float:
    """A grade that these heights do not take for one of more than 1 %: 0.3 % and two standard uncertainties less."""
    return max(0.7 - 100 * 2 * error.u_m(25.0) / 150, 0.2)


def _merges(span: RoadHill, told: list[RoadHill], level: list[tuple[float, float]]) -> bool:
    """Whether a span holds more than half of two hills that can be told, with long level road between them."""
    held = [
        hill
        for hill in told
        if hill.direction == span.direction
        and min(hill.end_m, span.end_m) - max(hill.start_m, span.start_m) > SAME * (hill.end_m - hill.start_m)
    ]
    return any(
        first.end_m <= start_m + 1 and end_m - 1 <= second.start_m
        for first, second in itertools.pairwise(held)
        for start_m, end_m in level
    )
