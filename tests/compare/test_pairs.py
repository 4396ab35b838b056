"""Pairs: neighbours in time on one route, each ride once."""

import itertools

import numpy as np

from ridelog.compare.pairs import pairs_by_route
from tests.compare.campaigns import HOUR_S, observed


def paired(groups, **columns):
    rides = observed(np.zeros(len(groups)), list(groups), **columns)
    rows = (np.flatnonzero(rides.group == name) for name in "AB")
    return list(zip(*(each.tolist() for each in pairs_by_route(rides, *rows)), strict=True))


def test_blocks_of_four_make_two_pairs():
    assert paired("ABBA") == [(0, 1), (3, 2)]
    assert paired("ABBAABBA") == [(0, 1), (3, 2), (4, 5), (7, 6)]


def test_what_drifts_evenly_cancels_in_blocks():
    drift = np.arange(8.0)
    assert sum(drift[b] - drift[a] for a, b in paired("ABBAABBA")) == 0


def test_one_set_up_after_the_other_is_paired_in_order():
    assert paired("AAABBB") == [(0, 3), (1, 4), (2, 5)]


def test_each_ride_is_in_one_pair_and_the_rest_is_left_over():
    assert paired("ABAAA") == [(0, 1)] or paired("ABAAA") == [(2, 1)]
    assert len(paired("AAAAAB")) == 1


def test_routes_are_kept_apart_and_an_unknown_one_has_no_pairs():
    assert paired("ABBA", route=[0, 1, 1, 0]) == []
    assert paired("ABBA", route=[0, 1, 0, 1]) == [(0, 2), (3, 1)]
    assert paired("ABBA", route=[-1] * 4) == []


def test_where_a_time_is_missing_the_order_counts():
    assert paired("ABBA", start_s=[0, np.nan, 2, 3]) in ([(0, 1), (3, 2)], [(3, 2), (0, 1)])


def test_no_other_pairing_has_partners_closer_together():
    rng = np.random.default_rng(3)
    for _ in range(20):
        groups = rng.permutation(list("AAAABBBB"))
        time = np.sort(rng.uniform(0, 50, 8)) * HOUR_S
        told = paired(groups, start_s=time)
        own = sum((time[a] - time[b]) ** 2 for a, b in told)
        first, second = (np.flatnonzero(groups == name) for name in "AB")
        least = min(sum((time[first] - time[list(way)]) ** 2) for way in itertools.permutations(second))
        assert own <= least * (1 + 1e-12)
