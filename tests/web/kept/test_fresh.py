"""What takes long is made once, beside who asks, and anew once what it is made of is another."""

import threading

import pytest

from ridelog.web.kept.fresh import Fresh

LONG_S = 30.0  # nobody waits so long: what is made is made at once


def test_it_is_made_once_and_anew_in_another_state():
    made, state = [], ["a"]
    fresh = Fresh(lambda: made.append(state[0]) or len(made), lambda: state[0], "t")
    assert [fresh.get(LONG_S), fresh.get(LONG_S)] == [1, 1]
    state[0] = "b"
    assert fresh.get(LONG_S) == 2
    assert made == ["a", "b"]


def test_who_asks_meanwhile_sees_what_was_there_before():
    go, state = threading.Event(), ["a"]

    def make():
        assert go.wait(LONG_S)
        return state[0]

    fresh = Fresh(make, lambda: state[0], "t")
    assert fresh.get(0.0) is None
    assert fresh.is_under_way
    go.set()
    assert fresh.get(LONG_S) == "a"
    assert not fresh.is_under_way
    go.clear()
    state[0] = "b"
    assert fresh.get(0.0) == "a"
    go.set()
    assert fresh.get(LONG_S) == "b"


def test_what_fails_says_so_to_each_who_asks_until_the_state_is_another():
    state = ["bad"]

    def make():
        if state[0] == "bad":
            raise ValueError(state[0])
        return 1

    fresh = Fresh(make, lambda: state[0], "t")
    for _ in range(2):
        with pytest.raises(ValueError, match="bad"):
            fresh.get(LONG_S)
    state[0] = "good"
    assert fresh.get(LONG_S) == 1
