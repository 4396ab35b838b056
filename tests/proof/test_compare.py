"""Verdicts counted on made-up campaigns: false ones, those that are stated, and intervals that hold the truth.

Bounds are those wished for (false verdicts 3 to 5 %, power within 5 points, coverage 93 to 97 %), given three standard
errors of what was counted, and hold for skewed spreads and for groups of other sizes too.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from tests.proof.compare_study import WORLDS, Counted, counted, counted_together, table
from tests.proof.hurry_study import COUNTS, QUANTITIES, counted_as_ridden, counted_in_hurry
from tests.proof.hurry_table import Hurried, hurried, hurry_table, wrong_by_chance
from tests.proof.hurry_worlds import DRAWN

pytestmark = pytest.mark.proof

CAMPAIGNS = 1000
FIRST_SEED = 71_000  # held out
DOCUMENT = Path(__file__).parent / "compare.md"
ERROR = 300 * np.sqrt(0.05 * 0.95 / CAMPAIGNS)  # three standard errors of 5 %, in points


@pytest.fixture(scope="module")
def rows() -> dict[str, Counted]:
    return {name: counted(world, FIRST_SEED + at, CAMPAIGNS) for at, (name, world) in enumerate(WORLDS.items())}


@pytest.fixture(scope="module")
def together() -> tuple[float, float]:
    return counted_together(FIRST_SEED + 900, CAMPAIGNS)


@pytest.fixture(scope="module")
def hurry() -> dict[tuple[str, str], Hurried]:
    return hurried(pd.DataFrame(counted_in_hurry(COUNTS)), pd.DataFrame(counted_as_ridden(COUNTS)))


def test_what_was_counted_is_written_down(rows, together, hurry):
    DOCUMENT.write_text(table(rows, together, hurry_table(hurry)), encoding="utf-8")


def test_as_ridden_intervals_hold_what_settings_and_speed_do_together(hurry):
    for row in hurry.values():
        assert 93 <= row.held <= 97


def test_corrected_intervals_hold_the_settings_over_all_that_the_correction_says_may_be(hurry):
    """What no log tells is a rectangle between two ends (JCGM 100:2008, 4.3.7), so its 95 % are a claim over all of it.

    At one place between the ends, or at an end, such intervals hold more often or less: `campaigns.md` has by how much.
    """
    drawn = {quantity: row for (world, quantity), row in hurry.items() if world == DRAWN}
    assert set(drawn) == set(QUANTITIES)
    for quantity, row in drawn.items():
        assert 93 <= row.held_corrected <= 97 + ERROR, quantity


def test_no_world_lies_beyond_the_ends_that_the_correction_names(hurry):
    """Not the one of both far ends either: with each error at its end the worse way, chance alone is left."""
    for which, row in hurry.items():
        assert row.reached_corrected >= 95, which


def test_corrected_a_hurry_is_no_difference_of_the_settings(hurry):
    """As ridden it nearly always is one; corrected, at most 1 time in 20, in each of the worlds."""
    assert hurry["usual", "recovered_pct"].false > 80
    for which, row in hurry.items():
        assert row.false_corrected <= 5 + ERROR, which
        assert np.isnan(row.wrong_corrected) or row.wrong_corrected <= 0.5, which


def test_a_test_at_5_percent_tells_a_difference_of_nothing_the_wrong_way_round_as_often_as_it_says():
    """Without a difference half of 5 %; of one that is told 8 times of 10 next to never (closed form, and counted)."""
    factor = stats.t.ppf(0.975, 5)
    rows = pd.DataFrame({"freedom": 5.0, "true": [0.0, 0.0], "low95": -factor, "high95": factor})
    assert wrong_by_chance(rows) == pytest.approx(2.5)
    rng = np.random.default_rng(5)
    for true in (0.5, 1.0, 3.5):
        t = (true + rng.standard_normal(400_000)) / np.sqrt(rng.chisquare(5, 400_000) / 5)
        assert wrong_by_chance(rows.assign(true=true)) == pytest.approx(100 * (t < -factor).mean(), abs=0.06)


@pytest.mark.parametrize("name", WORLDS)
def test_false_verdicts_are_as_rare_as_stated_and_not_rarer(rows, name):
    assert 3 - ERROR <= rows[name].false <= 5 + ERROR


@pytest.mark.parametrize("name", WORLDS)
def test_the_power_that_is_stated_is_reached_within_5_points(rows, name):
    assert rows[name].told == pytest.approx(rows[name].stated, abs=5)


@pytest.mark.parametrize("name", WORLDS)
def test_intervals_hold_the_difference(rows, name):
    assert 93 <= rows[name].held <= 97


def test_no_difference_is_told_the_wrong_way_round(rows):
    assert max(row.wrong for row in rows.values()) <= 0.5


def test_several_quantities_together_are_corrected_for(together):
    assert 3 - ERROR <= together[0] <= 5 + ERROR
    assert together[1] > together[0] + 3
