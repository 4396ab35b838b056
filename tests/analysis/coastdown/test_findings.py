"""What a rider must know of a coast-down: which findings, and what they state."""

from dataclasses import replace

import pytest

from ridelog.analysis.coastdown.findings import HowSeen, coast_findings, less_sure_than_usual, nothing_fitted
from ridelog.analysis.road.load import DEFAULTS
from ridelog.answer.coastdown import CoastDown, CoastedRide, CoastStretch, Measured

ALL_SEEN = HowSeen(motor=True, pedals=True, height=True)
THERE = CoastStretch(10.0, 30.0, 8.0, 3.0, 110.0, 0.0, 90.0, 0, 1, used=True, off_mps=0.1)
BACK = replace(THERE, start_s=100.0, end_s=125.0, heading_deg=270.0, way=-1)
SURE = CoastDown(
    CoastedRide("road"),
    cda_m2=Measured(0.56, 0.52, 0.60, 0.02),
    crr_with_drag=Measured(0.008, 0.007, 0.009, 0.0005),
    crr=Measured(0.007, 0.006, 0.008, 0.0005),
    settled=True,
    stretches=(THERE, BACK),
)


def codes(findings):
    return [finding.code for finding in findings]


def test_a_sure_coast_down_both_ways_with_everything_seen_needs_no_word():
    assert coast_findings(SURE, ALL_SEEN, {}) == []


@pytest.mark.parametrize(
    ("changes", "seen", "code"),
    [
        ({"settled": False, "cda_m2": None}, {}, "coastdown-vague"),
        ({"stretches": (THERE,)}, {}, "coastdown-one-way"),
        ({"stretches": (THERE, replace(BACK, road=1))}, {}, "coastdown-one-way"),
        ({"stretches": (THERE, BACK, replace(BACK, used=False))}, {}, "coasting-left-out"),
        ({"crr": None}, {}, "motor-drag-inside"),
        ({}, {"motor": False}, "motor-unseen"),
        ({}, {"pedals": False}, "pedalling-unseen"),
        ({}, {"height": False}, "no-height"),
    ],
)
def test_each_weakness_is_told_by_itself(changes, seen, code):
    assert codes(coast_findings(replace(SURE, **changes), replace(ALL_SEEN, **seen), {})) == [code]


def test_what_was_assumed_of_the_bike_is_stated():
    (finding,) = coast_findings(SURE, ALL_SEEN, {"total_mass_kg": 110.0, "total_mass_limit_kg": 30.0})
    assert (finding.code, finding.facts["total_mass_kg"]) == ("bike-defaults", 110.0)


def test_a_motor_drag_found_is_not_inside_the_rolling():
    apart = replace(SURE, crr=None, motor_drag_n=Measured(2.0, 1.0, 3.0, 0.5))
    assert coast_findings(apart, ALL_SEEN, {}) == []


def test_a_figure_that_tells_less_than_is_usual_comes_with_the_usual_one():
    """The usual limit is the half-width of a rectangle: as standard uncertainty it is divided by √3."""
    value, limit = DEFAULTS["road.cda_m2"]
    vague = replace(SURE, cda_m2=Measured(0.5, 0.0, 1.0, 1.01 * limit / 3**0.5))
    assert less_sure_than_usual(vague) == {"cda_m2": value, "cda_limit_m2": limit}
    assert less_sure_than_usual(replace(SURE, cda_m2=Measured(0.5, 0.0, 1.0, 0.99 * limit / 3**0.5))) == {}
    assert set(less_sure_than_usual(replace(SURE, crr_with_drag=None))) == {"crr", "crr_limit"}


def test_without_a_result_the_coasting_that_there_was_is_stated():
    """By hand: 20 s and 25 s, between 3 and 8 m/s."""
    (finding,) = nothing_fitted([THERE, BACK], ALL_SEEN, speed_known=True)
    told = finding.facts
    assert finding.code == "coasting-short"
    assert (told["n_stretches"], told["lasted_s"], told["longest_s"]) == (2, 45.0, 25.0)
    assert (told["slowest_mps"], told["fastest_mps"]) == (3.0, 8.0)
    (finding,) = nothing_fitted([], ALL_SEEN, speed_known=True)
    assert (finding.facts["n_stretches"], finding.facts["longest_s"]) == (0, None)
    assert codes(nothing_fitted([], ALL_SEEN, speed_known=False)) == ["no-speed"]
