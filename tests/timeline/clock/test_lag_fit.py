"""The other's grid on the reference's, and Student's factor."""

import numpy as np
import pytest

from ridelog.timeline.clock.lag_fit import resampled_onto, student_ratio


def test_a_ramp_is_found_where_lag_and_drift_put_it() -> None:
    """The other shows its own seconds. It began 10 s later and runs 1 % fast: at t = 20 s it shows 10.1 s."""
    seen = resampled_onto(np.arange(100.0), 40, 1.0, 10.0, 0.01)
    assert np.isnan(seen[:10]).all()
    assert seen[[10, 20, 30]] == pytest.approx([0.0, 10.1, 20.2])


def test_nothing_is_told_next_to_what_is_unknown_or_beyond_the_ends() -> None:
    values = np.arange(10.0)
    values[4] = np.nan
    seen = resampled_onto(values, 12, 1.0, 0.5, 0.0)
    assert np.flatnonzero(np.isnan(seen)).tolist() == [0, 4, 5, 10, 11]
    assert seen[1] == 0.5


@pytest.mark.parametrize(("dof", "t"), [(1, 12.706), (4, 2.776), (10, 2.228), (100, 1.984)])
def test_the_ratio_is_that_of_the_published_table(dof: int, t: float) -> None:
    """JCGM 100:2008, table G.2, column 95 %: two decimals there, here three as in any table of Student's t."""
    assert 1.96 * student_ratio(dof) == pytest.approx(t, abs=5e-4)
