"""Campaigns that are made up with a known difference: how often is one told that is there, and one that is not?

Rides differ by themselves, are measured with an error of their own, and share the errors of their logger. The seeds are
held out: nothing of what judges was set by them.
"""

import gc
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ridelog.compare.differences import differences
from ridelog.compare.observations import Observations
from ridelog.compare.settings import CompareSettings
from ridelog.compare.statistics.power import Trial, power
from ridelog.fleet.history.statistics.shared import rectangular_sum
from tests.compare.campaigns import World, campaign, observed, order

POINTS = 2.0  # the difference that there is, where there is one
NOTHING_TO_SETTLE = CompareSettings(worth_knowing={})  # how many more rides are not asked
# What three quantities of one ride have in common: more comes back, more was captured, less is used
ALIKE = np.array([[1.0, 0.7, -0.4], [0.7, 1.0, -0.3], [-0.4, -0.3, 1.0]])
NAMES = ("recovered_pct", "captured_pct", "net_wh_per_km")

WORLDS: dict[str, World] = {
    "by route, one logger": World(sd=1.0, logger_u=0.5),
    "by route, two loggers": World(sd=1.0, logger_u=0.3, loggers="separate"),
    "by route, days differ": World(sd=0.9, day_sd=1.0),
    "by route, skewed": World(sd=1.0, spread="skewed"),
    "not paired": World(sd=1.0, sizes=(8, 8), route=-1),
    "not paired, two loggers": World(sd=1.0, sizes=(8, 8), route=-1, logger_u=0.3, loggers="separate"),
    "not paired, 5 and 15": World(sd=1.0, sizes=(5, 15), route=-1),
    "not paired, skewed": World(sd=1.0, sizes=(8, 8), route=-1, spread="skewed"),
    "not paired, skewed, 5 and 15": World(sd=1.0, sizes=(5, 15), route=-1, spread="skewed"),
    "by hill, one logger": World(sd=1.0, hills=4, logger_u=0.5, quantity="captured_pct"),
    "by hill, two loggers": World(sd=1.0, hills=4, logger_u=0.3, loggers="separate", quantity="captured_pct"),
    "by hill, a fifth missing": World(sd=1.0, hills=4, missing=0.2, quantity="captured_pct"),
    "by hill, a fifth missing, not paired": World(
        sd=1.0, sizes=(8, 8), hills=4, missing=0.2, route=-1, quantity="captured_pct"
    ),
    "by hill, a fifth missing, not paired, 5 and 15": World(
        sd=1.0, sizes=(5, 15), hills=4, missing=0.2, route=-1, quantity="captured_pct"
    ),
}

ABOUT = (
    "by held-out seeds. *False* are verdicts where there is no difference (5 % are allowed), *told* those of 2",
    "points, *stated* the power that is stated for the same spread, *held* the 95 % intervals that hold the",
    "difference that there is. Of 1,000 campaigns 5 % are known to 0.7 points (standard error), 80 % to 1.3, and 95 %",
    "of 2,000 to 0.5.",
)
WORLDS_ARE = (
    "The spread of the skewed rides is log-normal (skewness 1.75). *Days differ*: neighbours in time have in common",
    "as much as they have not; pairs take it out.",
)


@dataclass(frozen=True)
class Counted:
    """Shares of campaigns [%]: false verdicts without a difference, verdicts with one and how many are stated, wrong
    signs, and intervals of both that hold the truth; ``campaigns`` of each.
    """

    false: float
    told: float
    stated: float | None
    wrong: float
    held: float
    campaigns: int


def counted(world: World, seed: int, campaigns: int) -> Counted:
    """Count verdicts and intervals.

    Parameters
    ----------
    world : how campaigns come about
    seed : held out
    campaigns : of each kind

    Returns
    -------
    counted : of campaigns without a difference, and with one
    """
    rng = np.random.default_rng(seed)
    verdicts: dict[float, list[str]] = {0.0: [], POINTS: []}
    held = []
    for difference, told in verdicts.items():
        for _ in range(campaigns):
            one = differences([campaign(rng, replace(world, difference=difference))], ("A", "B"), NOTHING_TO_SETTLE)
            assert len(one) == 1
            found = one[0].told
            assert found.difference is not None
            assert found.difference.low95 is not None
            assert found.difference.high95 is not None
            told.append(found.verdict)
            held.append(found.difference.low95 <= difference <= found.difference.high95)
    return Counted(
        share([each != "not-told" for each in verdicts[0.0]]), share([e == "second-higher" for e in verdicts[POINTS]]),
        stated(world), share([each == "first-higher" for each in verdicts[POINTS]]), share(held), campaigns,
    )  # fmt: skip


def share(mask: list[bool]) -> float:
    """In percent."""
    return 100 * float(np.mean(mask))


def stated(world: World) -> float:
    """The power that is stated for the world's own spread [%]."""
    passes = world.hills * (1 - world.missing)  # of a ride, on the whole
    within = (world.hill_sd**2 + world.own_u**2) / passes if passes else world.own_u**2
    sd = float(np.sqrt(world.sd**2 + within))
    shared = rectangular_sum([world.logger_u, world.logger_u] if world.loggers == "separate" else [], 64)
    by_pairs = world.route >= 0
    few, many = sorted(world.sizes)
    pooled: Literal["groups", "pooled"] = "pooled" if world.hills and world.missing else "groups"  # by a mixed model
    trial = Trial(sd * np.sqrt(2) if by_pairs else sd, "pairs" if by_pairs else pooled, shared=shared, ahead=many - few)
    return 100 * power(trial, POINTS, few)


def family(rng: np.random.Generator) -> list[Observations]:
    """Three quantities of the same twelve rides, none of which differs between the groups."""
    groups = order((6, 6))
    values = rng.multivariate_normal(np.zeros(3), ALIKE, len(groups))
    return [observed(10 + column, groups, quantity=name) for column, name in zip(values.T, NAMES, strict=True)]


def counted_together(seed: int, campaigns: int) -> tuple[float, float]:
    """Shares of campaigns without a difference in which any of three quantities is told, corrected and not [%].

    Parameters
    ----------
    seed : held out
    campaigns : how many

    Returns
    -------
    corrected, uncorrected : [%]
    """
    gc.freeze()  # Holm's correction collects garbage at each call
    rng = np.random.default_rng(seed)
    corrected, alone = [], []
    for _ in range(campaigns):
        told = [one.told for one in differences(family(rng), ("A", "B"), NOTHING_TO_SETTLE)]
        corrected.append(any(each.verdict != "not-told" for each in told))
        alone.append(any(each.p_value is not None and each.p_value <= 0.05 for each in told))
    gc.unfreeze()
    return share(corrected), share(alone)


def table(rows: dict[str, Counted], together: tuple[float, float], more: Sequence[str] = ()) -> str:
    """What was counted, as a document.

    Parameters
    ----------
    rows : by world
    together : of `counted_together`
    more : lines of what else was counted

    Returns
    -------
    text : Markdown
    """
    n = next(iter(rows.values())).campaigns
    lines = [
        "# Verdicts of comparisons",
        "",
        f"Written by `make proof`: {n} made-up campaigns without a difference and {n} with one of 2 points a row,",
        *ABOUT,
        "",
        "| rides | false % | told % | stated % | wrong sign % | held % |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    lines += [
        f"| {name} | {row.false:.1f} | {row.told:.1f} | {row.stated:.1f} | {row.wrong:.1f} | {row.held:.1f} |"
        for name, row in rows.items()
    ]
    lines += [
        "",
        "Three quantities of the same rides, correlated by 0.7, −0.4 and −0.3, none of which differs: at least one is",
        f"told in {together[0]:.1f} % of {n} campaigns; it would be {together[1]:.1f} % without Holm's correction.",
        "",
        *WORLDS_ARE,
        "Whole campaigns, from their logs to the verdict, are counted in [campaigns](campaigns.md).",
        "",
        *more,
    ]
    return "\n".join(lines)
