"""Where signals fit, pair by pair, and which pair is believed."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.timeline.clock.correlate import smoothed
from ridelog.timeline.clock.matching import least_overlap_s, match_signals
from ridelog.timeline.clock.settings import DEFAULTS
from ridelog.timeline.clock.signals import SignalPair
from ridelog.timeline.clock.wall_clock import WallClocks
from tests.timeline.simulated import recording

NOWHERE, STEP_S = WallClocks(np.empty(0)), 0.5


def wavering(seed: int, n: int = 3600, size: float = 2.0) -> np.ndarray:
    course = smoothed(np.random.default_rng(seed).standard_normal(n), 40)
    return 6.0 + size * course / course.std()


def speed_pair(own_seed: int, other_seed: int, late: int = 0, size: float = 2.0) -> SignalPair:
    """Two courses of a speed; with one seed they are the same, the other ``late`` grid points in."""
    return SignalPair("speed", wavering(own_seed, size=size), wavering(other_seed, size=size)[late:], STEP_S)


@pytest.mark.parametrize(
    ("own_s", "other_s", "least_s"), [(7200.0, 3600.0, 1080.0), (900.0, 350.0, 120.0), (900.0, 100.0, 50.0)]
)
def test_the_overlap_that_is_asked_for_grows_with_the_shorter_recording(
    own_s: float, other_s: float, least_s: float
) -> None:
    """30 % of an hour; two minutes where that is less; half of what is shorter than four minutes."""
    own, other = (recording("c.csv", np.array([0.0, length_s]), current_a=np.ones(2)) for length_s in (own_s, other_s))
    assert least_overlap_s(own, other, DEFAULTS) == pytest.approx(least_s)


def test_a_speed_that_fits_is_accepted_at_its_lag() -> None:
    (found,) = match_signals([speed_pair(1, 1, late=80)], NOWHERE, 300.0, DEFAULTS)
    assert found.accepted_peak is not None
    assert found.accepted_peak.lag_s == pytest.approx(40.0, abs=0.01)
    assert found.wall_agreement is None


def test_speeds_that_vary_and_do_not_agree_leave_no_word_to_power() -> None:
    power = SignalPair("power", wavering(3), wavering(3), STEP_S)
    found = match_signals([speed_pair(1, 2), power], NOWHERE, 300.0, DEFAULTS)
    assert [match.pair.method for match in found] == ["speed"]
    assert found[0].accepted_peak is None
    assert found[0].refusal is not None


def test_speeds_that_hardly_vary_leave_the_word_to_power() -> None:
    """0.1 m/s of standard deviation is a speed's noise."""
    power = SignalPair("power", wavering(3), wavering(3), STEP_S)
    found = match_signals([speed_pair(1, 2, size=0.1), power], NOWHERE, 300.0, DEFAULTS)
    assert [match.accepted_peak is not None for match in found] == [False, True]


def test_power_is_not_looked_at_where_a_speed_was_accepted_but_every_speed_is() -> None:
    power = SignalPair("power", wavering(3), wavering(3), STEP_S)
    found = match_signals([speed_pair(1, 1), speed_pair(1, 1, late=4), power], NOWHERE, 300.0, DEFAULTS)
    assert [match.pair.method for match in found] == ["speed", "speed"]


def test_utc_clocks_learn_how_well_the_signals_agree_where_they_put_them() -> None:
    """Right clocks find full agreement; clocks 50 s off find that the signals fit better 50 s away."""
    pair = speed_pair(1, 1, late=80)
    (right,), (wrong,) = (
        match_signals([pair], WallClocks(np.array([lag_s])), 300.0, DEFAULTS) for lag_s in (40.0, 90.0)
    )
    assert right.wall_agreement == pytest.approx(1.0, abs=1e-6)
    assert not right.opposed
    assert wrong.opposed


def test_a_fit_far_from_two_utc_clocks_must_be_strong() -> None:
    """An agreement of 0.71 at 40 s (equal noise on both), with clocks that say 4000 s: 0.8 would be believed."""
    pair = speed_pair(1, 1, late=80)
    rng = np.random.default_rng(9)
    noise = [1.3 * smoothed(rng.standard_normal(len(signal)), 4) * 2 for signal in (pair.reference, pair.other)]
    noisy = replace(pair, reference=pair.reference + noise[0], other=pair.other + noise[1])
    (alone,) = match_signals([noisy], NOWHERE, 300.0, DEFAULTS)
    (against,) = match_signals([noisy], WallClocks(np.array([4000.0])), 300.0, DEFAULTS)
    assert alone.accepted_peak is not None
    assert 0.5 < alone.accepted_peak.agreement < 0.8
    assert against.refusal is not None
    assert against.refusal.reason == "contradicted"
    assert against.refusal.apart_s == pytest.approx(3960.0, abs=1.0)


def test_a_power_that_fits_in_two_places_is_confirmed_by_sharp_forms_that_fit_in_one() -> None:
    """A course that comes again 20 min later, a little less alike, is ambiguous; its sharp forms know where it is."""
    rng = np.random.default_rng(9)
    one = wavering(5, 2400)
    alone = SignalPair(
        "power", np.concatenate((one, one + 0.3 * rng.standard_normal(2400))), one + rng.standard_normal(2400), STEP_S
    )
    (ambiguous,) = match_signals([alone], NOWHERE, 600.0, DEFAULTS)
    assert ambiguous.refusal is not None
    assert ambiguous.refusal.reason == "ambiguous"
    course = wavering(6, 4800)
    for first, believed in ((0, True), (2400, False)):
        sharp = SignalPair("power", course, course[first : first + 2400], STEP_S)
        (found,) = match_signals([replace(alone, sharp=sharp)], NOWHERE, 600.0, DEFAULTS)
        assert (found.accepted_peak is not None) == believed
