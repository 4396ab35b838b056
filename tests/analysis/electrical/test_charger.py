"""A charger at the pack while the bike stands, and what is none."""

import numpy as np
import pytest

from ridelog.analysis.electrical.charger import charging_mask, stop_levels_a
from ridelog.settings.bike import SensorSection

TIME_S = np.arange(600.0)


def log(charge_a, *, seconds, moving=False):
    """A ride at 5 A with two stops at 0.1 A; in the second, current into the battery for some seconds."""
    standing = ((TIME_S >= 100) & (TIME_S < 160)) | (TIME_S >= 300)
    current = np.where(standing, 0.1, 5.0)
    current[350 : 350 + seconds] = charge_a
    if moving:
        standing[370] = False
    return current, standing


@pytest.mark.parametrize(
    ("charge_a", "seconds", "found"),
    [(-2.0, 120, 120), (-2.0, 20, 0), (-0.3, 120, 0)],
    ids=["a charger", "too short", "within the zero error"],
)
def test_current_into_the_battery_for_long_at_a_stop_is_a_charger(charge_a, seconds, found):
    current, standing = log(charge_a, seconds=seconds)
    mask = charging_mask(TIME_S, current, standing)
    assert int(mask.sum()) == found
    assert np.flatnonzero(mask).tolist() == list(range(350, 350 + found))


def test_a_bike_that_moves_meanwhile_is_at_no_charger():
    current, standing = log(-2.0, seconds=60, moving=True)
    assert not charging_mask(TIME_S, current, standing).any()


def test_a_zero_that_may_be_further_off_needs_a_stronger_charger():
    """2 A of charge against a zero known to 1.8 A only: 1.8 + 0.3 is not passed."""
    current, standing = log(-2.0, seconds=120)
    wide = SensorSection(current_zero_limit_a=1.8)
    assert not charging_mask(TIME_S, current, standing, sensor=wide).any()
    assert charging_mask(TIME_S, current, standing, sensor=SensorSection(current_zero_limit_a=0.2)).sum() == 120


def test_a_zero_error_that_all_stops_show_is_no_charger():
    current, standing = log(0.1, seconds=0)
    assert not charging_mask(TIME_S, current - 1.0, standing).any()


def test_a_bike_that_never_stands_has_no_charger():
    assert not charging_mask(TIME_S, np.full(600, -3.0), np.zeros(600, dtype=bool)).any()


def test_each_stop_has_the_median_of_its_current():
    current, standing = log(0.1, seconds=0)
    standing[10] = True  # one sample is no stop
    assert stop_levels_a(TIME_S, current, standing) == pytest.approx([0.1, 0.1])
