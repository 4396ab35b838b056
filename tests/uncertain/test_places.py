"""Errors that run along a log: each draw belongs to its place."""

import numpy as np
import pytest

from ridelog.uncertain.places import MOST_ASKED, Bridged, _scattered, normal_at


class Straight(Bridged):
    """A straight line from 0 to ``last``, each place by its neighbours; ``asked`` are the places it was asked for."""

    def __init__(self, last):
        self.asked = []
        super().__init__(last, np.zeros(1, dtype=np.float32), np.full(1, last, dtype=np.float32))

    def _between(self, start, place, end, low, high):
        assert start < place < end
        assert (float(low[0]), float(high[0])) == pytest.approx((start, end))
        self.asked.append(place)
        return np.full(1, low[0] + (high[0] - low[0]) * (place - start) / (end - start), dtype=np.float32)


def test_every_place_is_reached_and_none_is_drawn_twice():
    line = Straight(1000)
    places = np.random.default_rng(1).permutation(1001).tolist()
    assert [line.at(place)[0] for place in places + places] == pytest.approx(places + places)
    assert sorted(line.asked) == list(range(1, 1000))


def test_beyond_the_ends_are_the_ends():
    line = Straight(10)
    assert (line.at(-1)[0], line.at(11)[0], line.asked) == (0.0, 10.0, [])


def test_places_beyond_those_kept_are_reached_in_few_halvings_and_not_kept(monkeypatch):
    """A million places are halved twenty times, whatever is asked for in between."""
    monkeypatch.setattr("ridelog.uncertain.places.MOST_KEPT_BYTES", 4 * 4)  # four places of one number
    line = Straight(1_000_000)
    for place in (500_001, 777, *range(900_000, 900_000 + 7 * MOST_ASKED, 7)):
        assert line.at(place)[0] == pytest.approx(place)
    assert line.n_kept == 4
    line.asked.clear()
    line.at(777_777)
    assert len(line.asked) <= 20


def test_places_one_after_the_other_beyond_those_kept_share_their_halvings(monkeypatch):
    """Each of the first half of a log of a million samples was drawn by way of twenty; now by way of one and a half."""
    monkeypatch.setattr("ridelog.uncertain.places.MOST_KEPT_BYTES", 4 * 4)
    line = Straight(1_000_000)
    for place in (500_001, 777):
        line.at(place)
    line.asked.clear()
    at = [line.at(place)[0] for place in range(100_000, 101_000, 8)]
    assert at == pytest.approx(range(100_000, 101_000, 8))
    assert len(line.asked) <= 2 * len(at) + 20


def test_draws_belong_to_their_place_and_part():
    assert np.array_equal(normal_at("road", 7, 0), normal_at("road", 7, 0))
    for other in (("road", 8, 0), ("road", 7, 1), ("sampling", 7, 0)):
        assert not np.array_equal(normal_at("road", 7, 0), normal_at(*other))
    with pytest.raises(ValueError, match="read-only"):
        normal_at("road", 7, 0)[0] = 1.0


def test_places_far_apart_and_at_powers_of_two_have_nothing_in_common():
    """Independent sets of 4000 have correlations below 5/√4000, but once in two million pairs.

    Pieces of a pool of 2²⁰ are the same once in a million pairs: of these 11476 one pair by chance is, and no more.
    """
    places = {0, *(2**k for k in range(26)), *range(64, 64 * 40, 64), *(3 * 2**k for k in range(20))}
    normal = np.stack([normal_at("sampling", place, part) for place in places for part in (0, 1)])
    assert np.abs(normal.mean(axis=1)).max() < 5 / np.sqrt(4000)
    apart = np.corrcoef(normal) - np.eye(len(normal))
    assert (np.abs(np.triu(apart)) > 5 / np.sqrt(4000)).sum() <= 1


def test_their_sum_is_as_wide_as_independent_numbers_make_it():
    """The sum of 256 independent standard normal numbers has a standard deviation of 16, known to 5/√8000 here."""
    together = np.sum([normal_at("road", place, 0) for place in range(0, 256 * 64, 64)], axis=0)
    assert together.std() == pytest.approx(16.0, rel=5 / np.sqrt(8000))
    kurtosis = float(((together / together.std()) ** 4).mean())
    assert kurtosis == pytest.approx(3.0, abs=5 * np.sqrt(24 / 4000))


def test_more_trials_than_the_pool_has_for_a_place_are_refused():
    with pytest.raises(ValueError, match="70000 trials"):
        normal_at("road", 1, 0, 70_000)


def test_scattering_gives_the_published_numbers():
    """SplitMix64 from the state 0 gives 0xE220A8397B1DCDAF first, and 0x6E789E6AA1B965F4 next (from memory)."""
    assert _scattered(0) == 0xE220A8397B1DCDAF
    assert _scattered(0x9E3779B97F4A7C15) == 0x6E789E6AA1B965F4
