"""Errors that run along a log: each draw belongs to its place."""

import numpy as np
import pytest

from ridelog.uncertain.places import MOST_KEPT, ByHalves, normal_at


class Straight(ByHalves):
    """A straight line from 0 to ``last``, worked out by halves; ``asked`` are the places it was asked for."""

    def __init__(self, last):
        self.asked = []
        super().__init__(last, np.zeros(1, dtype=np.float32), np.full(1, last, dtype=np.float32))

    def _middle(self, start, place, end):
        self.asked.append(place)
        low, high = float(self.at(start)[0]), float(self.at(end)[0])
        return np.full(1, low + (high - low) * (place - start) / (min(end, self.last) - start), dtype=np.float32)


def test_every_place_is_reached_and_none_is_drawn_twice():
    line = Straight(1000)
    places = np.random.default_rng(1).permutation(1001).tolist()
    assert [line.at(place)[0] for place in places] == pytest.approx(places)
    assert len(line.asked) == len(set(line.asked)) == 999


def test_beyond_the_ends_are_the_ends():
    line = Straight(10)
    assert (line.at(-1)[0], line.at(11)[0], line.asked) == (0.0, 10.0, [])


def test_a_place_is_reached_in_few_halvings():
    """A million places are halved twenty times."""
    line = Straight(1_000_000)
    line.at(777_777)
    assert len(line.asked) <= 20
    assert line.n_kept <= MOST_KEPT


def test_draws_belong_to_their_place_and_part():
    assert np.array_equal(normal_at("road", 7, 0), normal_at("road", 7, 0))
    for other in (("road", 8, 0), ("road", 7, 1), ("sampling", 7, 0)):
        assert not np.array_equal(normal_at("road", 7, 0), normal_at(*other))
    with pytest.raises(ValueError, match="read-only"):
        normal_at("road", 7, 0)[0] = 1.0
