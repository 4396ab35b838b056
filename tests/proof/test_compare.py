"""Verdicts counted on made-up campaigns: false ones, those that are stated, and intervals that hold the truth.

Bounds are those wished for (false verdicts 3 to 5 %, power within 5 points, coverage 93 to 97 %), given three standard
errors of what was counted. Where a spread is skewed, or groups of other sizes are, they are what was found, and said.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.proof.compare_study import WORLDS, Counted, counted, counted_together, table
from tests.proof.hurry_study import BIKES_OF, Hurried, counted_in_hurry, hurried, hurry_table

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
    return hurried(pd.DataFrame(counted_in_hurry(BIKES_OF)))


def test_what_was_counted_is_written_down(rows, together, hurry):
    DOCUMENT.write_text(table(rows, together, hurry_table(hurry)), encoding="utf-8")


def test_as_ridden_intervals_hold_what_settings_and_speed_do_together(hurry):
    for row in hurry.values():
        assert 93 <= row.held <= 97


def test_corrected_a_hurry_is_no_difference_of_the_settings(hurry):
    """As ridden it nearly always is one; corrected, at most 1 time in 20, by intervals as wide as they have to be.

    By the counts of `campaigns.md` this is not reached everywhere: what is recovered and captured has intervals that
    are too wide, and where legs and limits are at an end of what may be, those of what is used are too narrow.
    """
    assert hurry["usual", "recovered_pct"].false > 80
    for which, row in hurry.items():
        assert row.false_corrected <= 5 + ERROR, which
        assert 93 <= row.held_corrected <= 97 + ERROR, which
        assert np.isnan(row.wrong_corrected) or row.wrong_corrected <= 0.5, which


@pytest.mark.parametrize("name", [name for name in WORLDS if "skewed" not in name])
def test_false_verdicts_are_as_rare_as_stated_and_not_rarer(rows, name):
    assert 3 - ERROR <= rows[name].false <= 5 + ERROR


@pytest.mark.parametrize("name", [name for name in WORLDS if "skewed" in name])
def test_a_skewed_spread_makes_verdicts_timid_or_a_little_bold(rows, name):
    assert rows[name].false <= 7.5


@pytest.mark.parametrize(
    "name", [name for name in WORLDS if "skewed" not in name and "days" not in name and "5 and" not in name]
)
def test_the_power_that_is_stated_is_reached_within_5_points(rows, name):
    assert rows[name].told == pytest.approx(rows[name].stated, abs=5)


@pytest.mark.parametrize("name", [name for name in WORLDS if "skewed" not in name])
def test_intervals_hold_the_difference(rows, name):
    assert 93 <= rows[name].held <= 97


def test_no_difference_is_told_the_wrong_way_round(rows):
    assert max(row.wrong for row in rows.values()) <= 0.5


def test_several_quantities_together_are_corrected_for(together):
    assert 3 - ERROR <= together[0] <= 5 + ERROR
    assert together[1] > together[0] + 3
