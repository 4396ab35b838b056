"""What bends take off a way of straight legs: circles, in closed form."""

import numpy as np
import pytest

from ridelog.timeline.motion.fixes import Fixes
from ridelog.timeline.motion.spacing import spacing
from tests.timeline.motion.degrees import EAST_M, NORTH_M


def on_a_circle(angles_rad: np.ndarray, radius_m: float = 200.0) -> Fixes:
    """At 10 m/s round a circle at the equator."""
    east_m, north_m = radius_m * np.cos(angles_rad), radius_m * np.sin(angles_rad)
    return Fixes(angles_rad * radius_m / 10.0, north_m / NORTH_M, east_m / EAST_M)


@pytest.mark.parametrize("steps_rad", [[0.2] * 30, [0.1, 0.3] * 15], ids=["even", "uneven"])
def test_what_chords_of_a_circle_lack_is_found(steps_rad: list[float]) -> None:
    """An arc of a rad is 2 r sin(a/2) straight; the first and the last leg are part of one bend only, so 30 of 31."""
    angles_rad = np.concatenate(([0.0], np.cumsum(steps_rad)))
    lacking_m = 200.0 * float(np.sum(np.array(steps_rad) - 2 * np.sin(np.array(steps_rad) / 2)))
    found = spacing(on_a_circle(angles_rad))
    assert found.shortened_m == pytest.approx(lacking_m, rel=0.05)
    assert found.shortened_ratio == pytest.approx(found.shortened_m / found.way_m)


def test_a_straight_way_lacks_nothing() -> None:
    time_s = 5.0 * np.arange(20)
    found = spacing(Fixes(time_s, 6 * time_s / NORTH_M, 0 * time_s))
    assert found.shortened_m == pytest.approx(0.0, abs=1e-6)
    assert found.step_s == 5.0
    assert found.way_m == pytest.approx(570.0, abs=0.01)


def test_close_fixes_show_their_scatter_and_no_bends() -> None:
    rng = np.random.default_rng(3)
    time_s = np.arange(100.0)
    assert spacing(Fixes(time_s, (5 * time_s + rng.normal(0, 2, 100)) / NORTH_M, 0 * time_s)).shortened_m == 0.0


def test_half_of_the_way_lies_between_fixes_at_most_a_step_apart() -> None:
    """Ten legs of 1 s and five of 20 s at one pace: 10 of 110 s are not half."""
    time_s = np.concatenate(([0.0], np.cumsum([1.0] * 10 + [20.0] * 5)))
    assert spacing(Fixes(time_s, 5 * time_s / NORTH_M, 0 * time_s)).step_s == 20.0


def test_a_single_place_has_no_spacing() -> None:
    assert spacing(Fixes(np.zeros(1), np.zeros(1), np.zeros(1))).step_s == 0.0
    assert spacing(Fixes(np.arange(3.0), np.zeros(3), np.zeros(3))).shortened_ratio == 0.0
