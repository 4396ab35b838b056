"""Rides are measured a few at a time; who does not ask is given up, and no file stays behind."""

import threading
import time

import pytest

from ridelog.web.jobs.workshop import Room, Workshop
from ridelog.web.rides import RideStore, ShownRide


def until(true, longest_s=10.0):
    end = time.monotonic() + longest_s
    while not true():
        assert time.monotonic() < end, "it did not come to pass"
        time.sleep(0.01)


class Hands:
    """A measuring that waits to be let go, and counts how many go on at once."""

    def __init__(self):
        self.free, self.lock = threading.Event(), threading.Lock()
        self.now = self.most = 0
        self.ended = []

    def __call__(self, files, stopped):
        with self.lock:
            self.now += 1
            self.most = max(self.most, self.now)
        while not self.free.wait(0.01) and not stopped():
            pass
        with self.lock:
            self.now -= 1
            self.ended.append(files[0][0])
        return None if stopped() else ShownRide(files[0][0])


@pytest.fixture
def hands():
    return Hands()


@pytest.fixture
def workshop(hands):
    made = Workshop(
        RideStore(), hands, Room(n_at_once=2, most_waiting=20, most_waiting_each=20, unasked_s=0.5, kept_s=0.5)
    )
    yield made
    hands.free.set()
    made.close()


def given(workshop, name="a.csv", visitor="v"):
    folder = workshop.new_folder()
    (folder / "0").write_text("x")
    return workshop.take_in(visitor, folder, [(name, folder / "0")]), folder


def test_no_more_are_measured_at_once_than_there_are_hands(workshop, hands):
    jobs = [given(workshop, f"{index}")[0] for index in range(8)]
    until(lambda: hands.now == 2)
    hands.free.set()
    for job in jobs:
        until(lambda job=job: workshop.progress(job) and workshop.progress(job).state == "done")
    assert hands.most == 2


def test_a_ride_that_is_done_is_in_the_store_and_its_files_are_gone(workshop, hands):
    hands.free.set()
    job, folder = given(workshop)
    until(lambda: workshop.progress(job).state == "done")
    assert workshop.store.get(workshop.progress(job).token).title == "a.csv"
    assert not folder.exists()


def test_who_does_not_ask_is_given_up_whether_waiting_or_being_measured(workshop, hands):
    jobs = [given(workshop, str(index)) for index in range(3)]
    until(lambda: {"0", "1"} <= set(hands.ended))
    until(lambda: not any(folder.exists() for _, folder in jobs))
    assert [workshop.progress(job) for job, _ in jobs] == [None] * 3


def test_who_stops_is_not_measured_to_the_end(workshop, hands):
    job, folder = given(workshop)
    until(lambda: workshop.progress(job).state == "measuring")
    workshop.stop(job)
    until(lambda: hands.ended == ["a.csv"] and not folder.exists())
    assert workshop.progress(job) is None


def test_where_the_system_starts_no_process_the_visitor_is_told(hands):
    def no_process(_files, _stopped):
        raise BlockingIOError(11, "Resource temporarily unavailable")

    workshop = Workshop(RideStore(), no_process)
    job, _ = given(workshop)
    until(lambda: workshop.progress(job).state == "done")
    shown = workshop.store.get(workshop.progress(job).token)
    assert shown.error_lines[0].startswith("could not begin to measure: ")
    workshop.close()


def test_a_closed_workshop_leaves_no_file(hands):
    workshop = Workshop(RideStore(), hands)
    _, folder = given(workshop)
    until(lambda: hands.now == 1)
    workshop.close()
    until(lambda: hands.now == 0 and not folder.parent.exists())
