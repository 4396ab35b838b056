"""Work in a process of its own: it tells how far it is, and is ended where it says too much or nothing."""

import time

import pytest

from ridelog.web.jobs.apart import ready
from ridelog.web.jobs.process import Limits, TooLongError, messages_of, run_here
from tests.web.jobs import measures

LITTLE = Limits(most_memory_bytes=3_000_000_000)


@pytest.fixture(autouse=True)
def started():
    ready()


def waited():
    return False


def test_what_is_told_on_the_way_is_heard_before_what_came_of_it():
    heard = []
    assert messages_of(measures.tell_twice, (b"x",), waited, LITTLE, heard.append) == [b"x", b"done"]
    assert heard == [b"1", b"2"]
    assert run_here(measures.tell_twice, (b"x",), waited, LITTLE, heard.append) == [b"x", b"done"]
    assert heard == [b"1", b"2"] * 2


def test_who_tells_for_ever_is_ended_in_time():
    began = time.monotonic()
    limits = Limits(longest_s=1.5, most_memory_bytes=3_000_000_000)
    with pytest.raises(TooLongError):
        messages_of(measures.tell_for_ever, (), waited, limits, lambda _said: None)
    assert time.monotonic() - began < 60


def test_who_ends_without_a_word_is_told_from_who_is_done():
    with pytest.raises(EOFError):
        messages_of(measures.end, (), waited, LITTLE, lambda _said: None)
    assert messages_of(measures.tell_for_ever, (), lambda: True, LITTLE, lambda _said: time.sleep(0.1)) is None
