"""What campaigns in a hurry were told, as shares of them and as a document."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from tests.proof.hurry_study import AS_RIDDEN, COUNTS, FASTER, QUANTITIES
from tests.proof.hurry_worlds import WORDS


@dataclass(frozen=True)
class Hurried:
    """Shares of campaigns [%]: intervals as ridden and corrected that hold the truth, those corrected that would with
    each error at its end, verdicts where the setting does nothing, and those of 2 points; ``wrong_by_chance``: as many
    of the wrong sign as a test at 5 % tells of differences so small beside their intervals; in how many of each kind.
    """

    held: float
    held_corrected: float
    reached_corrected: float
    false: float
    false_corrected: float
    told_corrected: float
    wrong_corrected: float
    wrong_by_chance: float
    n: tuple[int, int]


def hurried(rows: pd.DataFrame, as_ridden: pd.DataFrame) -> dict[tuple[str, str], Hurried]:
    """The shares by world and quantity.

    Parameters
    ----------
    rows : of `counted_in_hurry`
    as_ridden : of `counted_as_ridden`, by which intervals as ridden are judged

    Returns
    -------
    told : by world and quantity
    """
    inside = (as_ridden["low95"] <= as_ridden["true"]) & (as_ridden["true"] <= as_ridden["high95"])
    held_as_ridden = inside.groupby([as_ridden["world"], as_ridden["quantity"]]).mean().to_dict()
    told = {}
    for (world, quantity), some in rows.groupby(["world", "quantity"], sort=False):
        held = (some["low95"] <= some["true"]) & (some["true"] <= some["high95"])
        corrected, nothing = some["corrected"].astype(bool), some["points"] == 0
        is_told = some["verdict"] != "not-told"
        reached = (some["value"] - some["true"]).abs() <= some["reach"]
        way = some["verdict"].map({"first-higher": -1, "second-higher": 1, "not-told": 0})
        wrong = (way != 0) & (way * np.sign(some["true"]) < 0)

        def share(mask: pd.Series, of: pd.Series) -> float:
            return 100 * float(mask[of].mean())

        told[str(world), str(quantity)] = Hurried(
            100 * float(held_as_ridden[world, quantity]), share(held, corrected), share(reached, corrected),
            share(is_told, ~corrected & nothing), share(is_told, corrected & nothing),
            share(is_told & ~wrong, corrected & ~nothing), share(wrong, corrected & ~nothing),
            wrong_by_chance(some[corrected & ~nothing]),
            (int((corrected & nothing).sum()), int((corrected & ~nothing).sum())),
        )  # fmt: skip
    return told


def wrong_by_chance(rows: pd.DataFrame) -> float:
    """How many verdicts of 100 a test at 5 % gives the wrong sign, by the noncentral t distribution.

    Parameters
    ----------
    rows : campaigns with their ``true`` difference and its interval, whose half-width is Student's factor times a
        standard uncertainty

    Returns
    -------
    share : mean of P(T < -t) [%], with the true difference over its standard uncertainty as noncentrality: 2.5 of a
        difference of nothing, next to none of one that is told often. NaN of no rows.
    """
    factor = stats.t.ppf(0.975, rows["freedom"])
    u = (rows["high95"] - rows["low95"]) / 2 / factor
    return 100 * float(np.mean(stats.nct.cdf(-factor, rows["freedom"], (rows["true"] / u).abs())))


def hurry_table(rows: Mapping[tuple[str, str], Hurried]) -> list[str]:
    """What was counted, as lines of a document."""
    counts = ", ".join(
        f"{row.n[0]:,} and {row.n[1]:,} ({world}, {COUNTS[world].campaigns} of a bike and kind)"
        for (world, quantity), row in rows.items() if quantity == QUANTITIES[0]
    )  # fmt: skip
    told = [
        "## In a hurry",
        "",
        f"Simulated campaigns without and with 2 points between the settings: {counts};",
        f"{100 * (FASTER - 1):.0f} % faster under the second setting. *Held* are",
        "intervals that hold the difference: as ridden, that of settings and speed together; corrected, that of the",
        "settings at one speed, by what no log tells as a rectangle between two ends: 95 % are what they hold over all",
        "that may be, which is the *drawn* world, and not at one place of it. *Reached* is the difference where chance",
        "gets to from there with each of these errors at its end the worse way, which ends have to allow in any world.",
        "*Different* are verdicts where the settings do nothing: as ridden they are right about",
        "the rides, and would be wrong about the settings. Of the *wrong sign* are so many verdicts of a difference",
        "that is there, and *by chance* so many would be: what a test at 5 % tells the wrong way round of differences",
        "so small beside their intervals (noncentral t; 2.5 of a difference of nothing). As ridden, other campaigns",
        f"are counted: {AS_RIDDEN.bikes} bikes of each world, {AS_RIDDEN.campaigns} campaigns each, without a",
        "difference of the settings. All bikes, days and seeds are held out; the worlds are not: earlier models were",
        "counted in them ([how](campaigns.md)).",
        "",
        *(f"- *{name}*: {words}" for name, words in WORDS.items()),
        "",
        "| world | quantity | held as ridden % | held corrected % | reached corrected % | different as ridden % "
        "| different corrected % | 2 points told, corrected % | wrong sign % | by chance % |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
        *(
            f"| {world} | {quantity} | {row.held:.1f} | {row.held_corrected:.1f} | {row.reached_corrected:.1f} "
            f"| {row.false:.1f} | {row.false_corrected:.1f} | {row.told_corrected:.1f} "
            f"| {row.wrong_corrected:.1f} | {row.wrong_by_chance:.1f} |"
            for (world, quantity), row in rows.items()
        ),
        "",
    ]
    return [line.replace(" nan ", " – ") for line in told]
