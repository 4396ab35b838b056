"""What becomes of a ride that is to be kept is known to its visitor alone, until it is given up."""

import threading
from types import SimpleNamespace

import pytest

from ridelog.web.jobs.keeping import Place
from ridelog.web.kept import keeping as module
from ridelog.web.kept.keeping import Fate, Keeping
from ridelog.web.rides import ShownRide

PLACE = Place(None, "Heron", "to work")


class Trays:
    """Takes in one job, and does it when it is told to."""

    def __init__(self, shown):
        self.shown, self.job, self.begun = shown, "job", threading.Event()
        self.hands = SimpleNamespace(otherwise=lambda *_: self.shown)
        self.workshop = SimpleNamespace(progress=lambda job: job if job == self.job else None)

    def have_done(self, visitor, token, do, done):
        if (visitor, token) != ("me", "ride"):
            return None
        self.work = lambda: done(do(None, lambda: False))
        return "job"


@pytest.mark.parametrize(
    ("shown", "fate"),
    [
        (ShownRide("x"), Fate("kept")),
        (ShownRide("x", error_lines=("no room", "hint: make room")), Fate("refused", ("no room", "hint: make room"))),
    ],
)
def test_it_is_under_way_until_it_is_known(shown, fate):
    trays = Trays(shown)
    keeping = Keeping(trays)
    assert keeping.fate("me", "ride") is None
    assert keeping.keep("me", "ride", PLACE)
    assert keeping.fate("me", "ride").state == "under way"
    assert keeping.fate("other", "ride") is None
    trays.work()
    assert keeping.fate("me", "ride") == fate


def test_what_is_no_ride_of_the_visitors_is_not_kept():
    keeping = Keeping(Trays(ShownRide("x")))
    assert not keeping.keep("other", "ride", PLACE)
    assert keeping.fate("other", "ride") is None


def test_what_was_given_up_can_be_asked_for_again():
    trays = Trays(None)
    keeping = Keeping(trays)
    keeping.keep("me", "ride", PLACE)
    trays.job = None  # the workshop knows it no longer
    assert keeping.fate("me", "ride") is None


def test_it_is_remembered_of_so_many(monkeypatch):
    monkeypatch.setattr(module, "MOST", 2)
    keeping = Keeping(Trays(None))
    for number in range(5):
        keeping._note("me", str(number), Fate("kept"))
    assert [keeping.fate("me", str(number)) for number in range(5)] == [None] * 3 + [Fate("kept")] * 2


def test_what_was_kept_is_offered_again_once_rides_were_removed():
    keeping = Keeping(Trays(None))
    keeping._note("me", "a", Fate("kept"))
    keeping._note("me", "b", Fate("refused", ("full",)))
    keeping.forget()
    assert (keeping.fate("me", "a"), keeping.fate("me", "b")) == (None, Fate("refused", ("full",)))
