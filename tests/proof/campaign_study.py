"""Made-up campaigns taken all the way from their files through ``ridelog compare``, beside what really differs."""

import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scipy.stats import binom

from ridelog.compare.comparison import comparison_of
from ridelog.compare.groups import Compared
from ridelog.compare.groups import compared as rides_of
from ridelog.compare.places import group_place
from ridelog.fleet.audit import Hands
from ridelog.fleet.task import Failure, Task, measured
from sample_rides.campaign import CampaignPlan, write_campaign

KINDS: dict[str, dict[str, Any]] = {
    "no difference": {"difference_pct": 0.0},
    "two points": {"difference_pct": 2.0},
    "no difference, two loggers": {"difference_pct": 0.0, "two_loggers": True},
    "two points, two loggers": {"difference_pct": 2.0, "two_loggers": True},
    "no difference, in a hurry": {"difference_pct": 0.0, "speed_confounded": True},
    "two points, in a hurry": {"difference_pct": 2.0, "speed_confounded": True},
}
QUANTITIES = ("recovered_pct", "captured_pct", "net_wh_per_km", "hill_captured_pct")


@dataclass(frozen=True)
class Told:
    """What one campaign was told of one quantity, and the truth: as it was ridden, or where ``corrected`` alike."""

    quantity: str
    corrected: bool
    value: float
    low95: float
    high95: float
    verdict: str
    true: float

    @property
    def holds(self) -> bool:
        """Whether the interval holds the truth."""
        return self.low95 <= self.true <= self.high95

    @property
    def false(self) -> bool:
        """Whether a group is called higher which is not."""
        way = {"first-higher": -1, "second-higher": 1, "not-told": 0}[self.verdict]
        return way != 0 and way * self.true <= 0


class OneProcess(Hands):
    """This process measures: of a thousand small rides, starting another one costs more than they do."""

    def spread(self, work: Callable[[Any], Any], given: Sequence[Any]) -> Iterator[Any]:
        return map(work, given)

    def measure(self, tasks: Sequence[Task]) -> Iterator[tuple[Task, Failure | None]]:
        return ((task, measured(task)) for task in tasks)


def compared(folder: Path, groups: tuple[str, ...] = ("weak", "strong")) -> dict[str, Any]:
    """What a comparison of the groups in a campaign's folder tells, as JSON."""
    return comparison_of(in_folders(folder, groups)).to_dict()


def in_folders(folder: Path, groups: tuple[str, ...]) -> Compared:
    """The rides of the groups in a campaign's folder."""
    return rides_of([group_place(f"{name}={folder / name}") for name in groups], hands=OneProcess())


def told(document: dict[str, Any], truth: dict[str, Any]) -> list[Told]:
    """The differences of a comparison of weak and strong beside their truth."""
    true = {(row["quantity"], corrected): row["at_equal_speed" if corrected else "difference"]
            for row in truth["differences"] for corrected in (False, True)}  # fmt: skip
    rows = []
    for row in document["differences"]:
        if row["quantity"] not in QUANTITIES or row["difference"]["low95"] is None:
            continue
        turned = (row["first"], row["second"]) == ("strong", "weak")
        corrected, quantity = row.get("corrected", False), row["quantity"]
        name = "hill_captured_pct" if (quantity, row["paired_by"]) == ("captured_pct", "hill") else quantity
        value, low95, high95 = (row["difference"][each] for each in ("value", "low95", "high95"))
        sign = -1 if turned else 1
        rows.append(Told(name, corrected, value, low95, high95, row["verdict"], sign * true[name, corrected]))
    return rows


def campaigns(plan: CampaignPlan, seeds: Iterable[int]) -> list[Told]:
    """All that is told of campaigns of a plan, each with its own days, bike and loggers."""
    rows = []
    for seed in seeds:
        with tempfile.TemporaryDirectory() as folder:
            place = Path(folder) / "campaign"
            truth = write_campaign(place, plan, seed=seed)
            document = compared(place)
            rows += told(document, truth)
    return rows


def within_chance(count: int, n: int, share: float, *, sure: float = 0.998) -> bool:
    """Whether so many of ``n`` are what a share of them gives, but for two campaigns of a thousand."""
    low, high = binom.interval(sure, n, share)
    return bool(low <= count <= high)
