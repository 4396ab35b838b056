"""Rides that went the same way."""

import pandas as pd

from ridelog.fleet.history.routes import both_ways, same_routes


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


def pairs_of(*ridden, ascents_m=None):
    rides, passes = frames(*ridden)
    rides = rides if ascents_m is None else rides.assign(ride_ascent_m=ascents_m)
    return both_ways(rides, passes, same_routes(rides, passes))


def test_a_route_and_its_way_back_belong_together():
    there, back = ["a-up", "b-down", "c-down"], ["c-up", "b-up", "a-down"]
    assert pairs_of((8000, 90, there), (8100, 30, back), (8000, 92, there), ascents_m=[32, 88, 31]) == [(0, 1)]
    assert pairs_of((8000, 90, there), (8100, 30, back)) == [(0, 1)]  # climbs that are not known agree
    assert pairs_of((8000, 90, there), (8100, 30, back), ascents_m=[32, 140]) == []  # 140 m up, 90 m down
    assert pairs_of((8000, 90, there), (9500, 30, back)) == []  # by another way


def test_a_ride_that_comes_back_by_its_road_has_no_way():
    both = ["a-up", "a-down", "b-down", "b-up"]
    assert pairs_of((8000, 90, both), (12000, 90, both)) == []
    assert pairs_of((8000, 5, []), (12000, 5, [])) == []
