"""Rides that went the same way."""

import pandas as pd

from ridelog.fleet.history.routes import same_routes


def frames(*ridden):
    """Each ride: distance [m], descent [m], hills."""
    keys = [str(at) for at in range(len(ridden))]
    rides = pd.DataFrame(
        {"key": keys, "ride_distance_m": [r[0] for r in ridden], "ride_descent_m": [r[1] for r in ridden]}
    )
    passes = pd.DataFrame([{"key": k, "place": p} for k, r in zip(keys, ridden, strict=True) for p in r[2]])
    return rides, passes


def test_the_same_hills_and_distance_are_one_route():
    rides, passes = frames(
        (8000, 90, ["a-up", "b-down"]),
        (8300, 95, ["a-up", "b-down"]),
        (8000, 90, ["a-down", "b-up"]),  # the way back
        (12000, 90, ["a-up", "b-down"]),
        (8000, 200, ["a-up", "b-down"]),
    )
    assert same_routes(rides, passes).tolist() == [0, 0, 2, 3, 4]


def test_a_hill_that_one_log_missed_is_no_other_route():
    rides, passes = frames(
        (8000, 90, ["a-up", "b-down", "c-down"]), (8000, 90, ["a-up", "b-down"]), (8000, 90, ["a-up"])
    )
    assert same_routes(rides, passes).tolist() == [0, 0, 2]


def test_routes_without_hills_go_by_their_length():
    rides, passes = frames((5000, 10, []), (5200, 12, []), (7000, 11, []), (float("nan"), 11, []))
    assert same_routes(rides, passes).tolist() == [0, 0, 2, -1]
    assert same_routes(rides, pd.DataFrame()).tolist() == [0, 0, 2, -1]
