"""What a bike recovers on a road one way and the other."""

import numpy as np
import pandas as pd
import pytest

from ridelog.fleet.history.directions import by_direction

N = 12


@pytest.fixture
def frames():
    """A road ridden there and back on six days, and another on two: down in the mornings, up in the afternoons."""
    start = pd.Timestamp("2026-03-02 07:00", tz="UTC") + pd.to_timedelta(np.arange(N) * 12, unit="h")
    down = np.arange(N) % 2 == 0
    rides = pd.DataFrame(
        {
            "key": [f"k{at:02d}" for at in range(N)], "bike": "Ruff", "name": [f"ride {at}" for at in range(N)],
            "ride_start": start, "ride_distance_m": 6000.0, "ride_descent_m": np.where(down, 80.0, 20.0),
            "ride_ascent_m": np.where(down, 21.0, 79.0),
            "energy_recovered_pct": np.where(down, 20.0, 3.0) + np.tile([0.5, 0.5, -0.5, -0.5], N // 4),
            "braking_captured_pct": 40.0,
        }
    )  # fmt: skip
    passes = pd.DataFrame(
        [
            {"key": key, "place": f"hill-{way}"}
            for key, way in zip(rides["key"], np.where(down, "down", "up"), strict=True)
        ]
    )
    return rides, passes


def test_each_way_has_the_mean_of_its_rides(frames):
    there, back = by_direction(*frames)
    assert [(each.road, each.way, each.rides) for each in (there, back)] == [(1, "there", 6), (1, "back", 6)]
    assert there.recovered_pct.value == pytest.approx(20.0)
    assert back.recovered_pct.value == pytest.approx(3.0)
    assert there.recovered_pct.low95 > back.recovered_pct.high95
    assert (there.descent_m, back.descent_m, there.name, back.name) == (80.0, 20.0, "ride 0", "ride 1")
    assert there.first < back.first


def test_a_way_with_few_rides_is_not_told(frames):
    rides, passes = frames
    assert by_direction(rides.iloc[:5], passes) == ()
    assert len(by_direction(rides.iloc[:6], passes)) == 2


def test_without_hills_no_way_is_told_from_the_other(frames):
    rides, passes = frames
    assert by_direction(rides, passes.iloc[:0]) == ()
    assert by_direction(rides, pd.DataFrame()) == ()
