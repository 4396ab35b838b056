"""Rides whose log shows no return: nothing, where the same logger showed one on other rides."""

import numpy as np
import pandas as pd

from ridelog.fleet.history.returned import nothing_returned, with_nothing


def frame(**columns):
    told = {
        "bike": ["a", "a", "a"], "can_show_return": [True, False, False], "log_layout": ["x", "x", "y"],
        "energy_recovered_pct": [6.0, np.nan, np.nan], "energy_recovered_pct_low95": [5.9, np.nan, np.nan],
    }  # fmt: skip
    return pd.DataFrame(told | columns)


def test_nothing_came_back_where_the_same_logger_shows_returns():
    assert nothing_returned(frame()).tolist() == [False, True, False]
    filled = with_nothing(frame())
    assert filled["energy_recovered_pct"].tolist()[:2] == [6.0, 0.0]
    assert np.isnan(filled["energy_recovered_pct"].iloc[2])
    assert filled["energy_recovered_pct_low95"].iloc[1] == 0


def test_another_bikes_logger_tells_nothing():
    assert not nothing_returned(frame(bike=["b", "a", "a"])).any()


def test_a_ride_without_anything_to_brake_tells_nothing():
    available = {"braking_available_wh": [9, 0.2, 9], "braking_available_wh_low95": [8, -0.1, 8]}
    assert not nothing_returned(frame(**available)).any()
    assert nothing_returned(frame(braking_available_wh=[9, 8, 9], braking_available_wh_low95=[8, 7, 8]))[1]


def test_frames_without_the_columns_stay_as_they_are():
    rides = frame().drop(columns="log_layout")
    assert with_nothing(rides) is rides
