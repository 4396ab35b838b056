"""Measured columns of a frame."""

import numpy as np
import pandas as pd
import pytest

from ridelog.fleet.history.measured import column_of, in_order, measured, numbers


def test_bounds_become_standard_uncertainties_to_each_side():
    frame = pd.DataFrame({"a": [5.0, np.nan], "a_low95": [5 - 1.96, np.nan], "a_high95": [5 + 3.92, np.nan]})
    told = measured(frame, "a")
    assert (told.u_low[0], told.u_high[0], told.u[0]) == pytest.approx((1, 2, 1.5), rel=1e-4)
    assert np.isnan(told.u[1])
    assert measured(frame[["a"]], "a").u[0] == 0


def test_a_column_that_is_not_there_is_not_known():
    assert np.isnan(numbers(pd.DataFrame({"b": [1, 2]}), "a")).all()


def test_charge_stands_in_where_no_ride_knows_energy():
    frame = pd.DataFrame({"charge_recovered_pct": [5.0], "energy_recovered_pct": [np.nan]})
    assert column_of(frame, "recovered_pct") == "charge_recovered_pct"
    assert column_of(frame.assign(energy_recovered_pct=6.0), "recovered_pct") == "energy_recovered_pct"
    with pytest.raises(ValueError, match="no quantity"):
        column_of(frame, "speed")


def test_rides_without_wall_time_come_last():
    starts = [pd.NaT, pd.Timestamp("2026-02-01", tz="UTC"), pd.Timestamp("2026-01-01", tz="UTC")]
    assert in_order(pd.DataFrame({"key": list("abc"), "ride_start": starts}))["key"].tolist() == ["c", "b", "a"]
