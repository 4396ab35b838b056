"""Work is done a little at a time; who does not ask is given up."""

import threading
import time

import pytest

from ridelog.web.jobs.workshop import Room, Workshop


def until(true):
    end = time.monotonic() + 60
    while not true():
        assert time.monotonic() < end, "it did not come to pass"
        time.sleep(0.01)


class Hands:
    """Work that waits to be let go, and counts how much goes on at once."""

    def __init__(self):
        self.free, self.lock = threading.Event(), threading.Lock()
        self.now = self.most = 0
        self.ended, self.done = [], []

    def work(self, name):
        def work(stopped):
            with self.lock:
                self.now += 1
                self.most = max(self.most, self.now)
            while not self.free.wait(0.01) and not stopped():
                pass
            with self.lock:
                self.now -= 1
                self.ended.append(name)
            return None if stopped() else name

        return work


@pytest.fixture
def hands():
    return Hands()


class Clock:
    """Stands still until somebody moves it on, however long anything takes."""

    now_s = 100.0

    def __call__(self):
        return self.now_s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def workshop(hands, clock):
    made = Workshop(Room(n_at_once=2, most_waiting=20, most_waiting_each=10, unasked_s=0.5), clock)
    yield made
    hands.free.set()
    made.close()


def given(workshop, hands, name="a", visitor="v"):
    return workshop.take_in(visitor, hands.work(name), hands.done.append)


def test_no_more_is_done_at_once_than_there_are_hands_and_all_of_it_is_told(workshop, hands):
    for index in range(8):
        given(workshop, hands, f"{index}")
    until(lambda: hands.now == 2)
    hands.free.set()
    until(lambda: sorted(hands.done) == [f"{index}" for index in range(8)])
    assert hands.most == 2


def test_who_does_not_ask_is_given_up_whether_waiting_or_worked_on(workshop, hands, clock):
    jobs = [given(workshop, hands, str(index)) for index in range(3)]
    until(lambda: hands.now == 2)
    clock.now_s += 0.6
    until(lambda: {"0", "1"} <= set(hands.ended))
    assert [workshop.progress(job) for job in jobs] == [None] * 3
    assert hands.done == []


def test_who_asks_is_not_given_up(workshop, hands, clock):
    asked, silent = given(workshop, hands, "asked"), given(workshop, hands, "silent")
    until(lambda: hands.now == 2)
    for _ in range(5):
        clock.now_s += 0.4
        assert workshop.progress(asked) is not None
    until(lambda: hands.ended == ["silent"])
    assert workshop.progress(silent) is None
    hands.free.set()
    until(lambda: hands.done == ["asked"])


def test_who_stops_is_not_told(workshop, hands):
    job = given(workshop, hands)
    until(lambda: workshop.progress(job).state == "working")
    workshop.stop(job)
    until(lambda: hands.ended == ["a"])
    assert workshop.progress(job) is None
    assert hands.done == []


def test_who_waits_is_told_how_many_come_first(workshop, hands):
    jobs = [given(workshop, hands, str(index)) for index in range(4)]
    until(lambda: hands.now == 2)
    assert [workshop.progress(job).ahead for job in jobs[2:]] == [0, 1]


def test_work_beyond_what_there_is_room_for_is_not_known(workshop, hands):
    jobs = [given(workshop, hands, str(index)) for index in range(2)]
    until(lambda: hands.now == 2)
    jobs += [given(workshop, hands, str(index)) for index in range(11)]
    assert not workshop.takes("v")
    assert workshop.takes("another")
    assert workshop.progress(jobs[-1]) is None


def test_a_result_is_there_before_the_work_is_forgotten(workshop, hands):
    """Else who asks just then would take it for lost, and have it done anew."""
    seen = []
    hands.free.set()
    key = []
    key.append(workshop.take_in("v", hands.work("x"), lambda _result: seen.append(workshop.progress(key[0]))))
    until(lambda: seen)
    assert seen[0] is not None
