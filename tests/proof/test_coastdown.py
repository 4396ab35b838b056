"""Are the 95 % intervals of a coast-down right 95 times in 100?

500 sessions by chance (`coasts.chance`): 1 Hz satellite speeds with 0.1 m/s of noise, barometric heights
that wander, a wind of 0.5 m/s along north and east that the rider does not know of, a gust of each run's own, mass,
rotating mass and air within their limits, roads that are neither quite level nor straight up. The truth is the
session's own; the motion is integrated apart from the code under test.
"""

import numpy as np
import pytest

from ridelog.analysis.coastdown.record import coastdown
from tests.analysis.coastdown.coasts import chance, session_ride

pytestmark = pytest.mark.proof

N_SESSIONS = 500


@pytest.fixture(scope="module")
def outcomes():
    """Of each session: whether CdA and Crr were covered, and their standard uncertainties."""
    rows = []
    for seed in range(N_SESSIONS):
        truth, session, bike = chance(seed)
        answer = coastdown(session_ride(truth, session, bike, seed))
        assert answer.cda_m2 is not None, seed
        assert answer.crr_with_drag is not None, seed
        cda, crr = answer.cda_m2, answer.crr_with_drag
        rows.append(
            (
                cda.quantity.low95 <= truth.cda_m2 <= cda.quantity.high95,
                crr.quantity.low95 <= truth.crr <= crr.quantity.high95,
                cda.u,
                crr.u,
            )
        )
    return np.array(rows, dtype=float)


@pytest.mark.parametrize(("column", "name"), [(0, "CdA"), (1, "Crr")])
def test_the_intervals_hold_the_truth_93_to_97_times_in_100(outcomes, column, name):
    """Of 500 intervals, 465 to 485 hold it."""
    assert 0.93 <= outcomes[:, column].mean() <= 0.97, name


def test_the_intervals_are_not_wide_for_nothing(outcomes):
    """Half of the sessions know CdA to 0.06 m² and Crr to 0.0012 (standard uncertainties), as on-road coast-downs do.

    Tengattini (thesis, University of Bologna 2017) states 0.1 m² and 0.001 for single riders on the road.
    """
    cda_u, crr_u = np.median(outcomes[:, 2:], axis=0)
    assert cda_u <= 0.06
    assert crr_u <= 0.0012
