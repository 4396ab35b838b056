"""Hills: numbered, paired and added up."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.braking.hills import (
    both_ways_pct,
    cut_findings,
    descents_share_pct,
    hill_passes,
    hill_records,
)
from tests.analysis.braking.a_hill import LEAST, ridden


@pytest.fixture(scope="module")
def there_and_back():
    """See `tests.analysis.braking.a_hill`."""
    return ridden()


def test_a_hill_ridden_both_ways_is_one_hill_of_two_passes(there_and_back):
    _, scene, _, passes, pairs = there_and_back
    assert [(one.slope.direction, one.number) for one in passes] == [("up", 1), ("down", 1)]
    assert pairs == ((0, 1),)
    assert [one.name for one in passes] == ["Hill 1, up", "Hill 1, down"]
    hills, both = hill_records(scene, passes, pairs)
    assert [hill.id for hill in hills] == ["1-up", "1-down"]
    assert [(pair.up, pair.down) for pair in both] == [("1-up", "1-down")]
    assert both[0].recovered_pct.value == pytest.approx(both_ways_pct(passes[0], passes[1]).value)


def test_a_hill_has_the_height_and_grade_of_its_road(there_and_back):
    """500 m of 5 %: 24.97 m; what smoothing and a barometer of 0.1 m leave is below half a metre."""
    _, scene, _, passes, pairs = there_and_back
    (up, down), _ = hill_records(scene, passes, pairs)
    assert up.height_m.value == pytest.approx(24.97, abs=0.5)
    assert down.height_m.value == pytest.approx(-24.97, abs=0.5)
    assert up.height_m.low95 < 24.97 < up.height_m.high95
    assert up.length_m == pytest.approx(500, abs=25)
    assert up.mean_grade_pct.value == pytest.approx(5.0, abs=0.3)
    assert (up.recovered_pct is None, down.recovered_pct) == (False, None)


def test_what_came_back_going_down_is_the_share_of_all_that_came_back(there_and_back):
    _, scene, _, passes, pairs = there_and_back
    (_, down), _ = hill_records(scene, passes, pairs)
    whole = scene.flow.total.energy.returned
    assert down.share_of_returned_pct.value == pytest.approx(100 * down.returned_wh.value / whole.value)
    assert descents_share_pct(scene, passes).value == pytest.approx(down.share_of_returned_pct.value)
    assert descents_share_pct(scene, passes[:1]) is None


def test_energy_on_the_hill_is_that_of_the_truth(there_and_back):
    """Ends known to 8 m and a second: 2 % of what is drawn going up at a steady pace over 500 m."""
    ride, _, _, passes, _ = there_and_back
    on_it = (ride.distance_m > 400) & (ride.distance_m < 900)
    drawn_wh = np.maximum(ride.power_w, 0)[on_it].sum() * ride.step_s / 3600
    assert passes[0].energy.drawn.value == pytest.approx(drawn_wh, rel=0.03)


def test_a_hill_that_the_heights_do_not_hold_whole_is_said_to_be_cut(there_and_back):
    _, scene, _, passes, pairs = there_and_back
    hills, _ = hill_records(scene, passes, pairs)
    assert cut_findings(hills, passes) == []
    before = replace(passes[0], unseen=((0.0, 20.0, 100.0), (0.0, 0.0, 0.0)))
    (finding,) = cut_findings(hills[:1], [before])
    assert finding.code == "hill-cut"
    assert (finding.facts["goes_on_before"], finding.facts["goes_on_after"]) == (True, False)


def test_a_ride_without_heights_has_no_hills(there_and_back):
    _, scene, events, _, _ = there_and_back
    bare = replace(scene, heights=None)
    assert hill_passes(bare, events, **LEAST) == ((), ())
    assert hill_records(bare, (), ()) == ((), ())
