"""Random streams: by name, reproducible, and no two alike."""

import itertools

import numpy as np
import pytest

from ridelog.uncertain.seeds import SEEDS, stream, unseen_hill_stream, window_stream


def test_no_two_streams_are_alike():
    firsts = {name: stream(name).random(4).tolist() for name in SEEDS}
    assert all(firsts[a] != firsts[b] for a, b in itertools.combinations(SEEDS, 2))


def test_the_same_name_gives_the_same_stream():
    assert np.array_equal(stream("road").random(10), stream("road").random(10))
    assert not np.array_equal(stream("road", 3, 10).random(10), stream("road", 4, 10).random(10))


def test_a_part_numbered_nought_is_not_the_whole():
    """Seeds are padded with zeros, so that [7] and [7, 0] are one seed; a key is not."""
    draws = [stream("road", *keys).random(4).tolist() for keys in ((), (0,), (0, 0), (5,), (5, 0), (0, 5))]
    assert all(one != other for one, other in itertools.combinations(draws, 2))


def test_a_name_that_is_not_in_the_table_is_refused():
    with pytest.raises(KeyError):
        stream("weather")


def test_windows_that_differ_by_a_millisecond_have_streams_of_their_own():
    assert not np.array_equal(window_stream(0, 60.0).random(5), window_stream(0, 60.001).random(5))
    assert np.array_equal(window_stream(0, 60.0).random(5), window_stream(0, 60.0001).random(5))


def test_the_road_before_a_hill_and_after_it_have_streams_of_their_own():
    assert not np.array_equal(unseen_hill_stream(0, 60.0).random(5), unseen_hill_stream(1, 60.0).random(5))
