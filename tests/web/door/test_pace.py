"""Who asks faster than a page does waits, before anything is done about it; others and this computer do not."""

from types import SimpleNamespace

import pytest

from ridelog.web.door.attempts import THIS_COMPUTER
from ridelog.web.door.pace import Aside, Pace, Paces, sent_by


class Clock:
    now_s = 100.0

    def __call__(self):
        return self.now_s


@pytest.fixture
def clock():
    return Clock()


def test_a_burst_is_free_and_then_requests_come_at_the_rate(clock):
    """Worked by hand: 3 at once, then one each half second; 2 s later 4 more have come in, of which 3 are kept."""
    paces = Paces(Pace(n_at_once=3, per_s=2, longest_s=5), clock)
    assert [paces.wait_s("192.0.2.1") for _ in range(6)] == [0, 0, 0, 0.5, 1.0, 1.5]
    clock.now_s += 10
    assert [paces.wait_s("192.0.2.1") for _ in range(4)] == [0, 0, 0, 0.5]


def test_no_wait_is_longer_than_the_longest_and_none_is_remembered_for_long(clock):
    paces = Paces(Pace(n_at_once=1, per_s=2, longest_s=5), clock)
    assert max(paces.wait_s("192.0.2.1") for _ in range(1000)) == 5.0
    clock.now_s += 5.5
    assert paces.wait_s("192.0.2.1") == 0.0


def test_one_address_does_not_make_another_or_this_computer_wait(clock):
    paces = Paces(Pace(n_at_once=1, per_s=1, longest_s=5), clock)
    assert [paces.wait_s("192.0.2.1") for _ in range(2)] == [0, 1]
    assert paces.wait_s("192.0.2.2") == 0
    assert [paces.wait_s(THIS_COMPUTER) for _ in range(9)] == [0] * 9


def test_of_addresses_by_the_thousand_the_last_are_remembered(clock):
    paces = Paces(Pace(n_at_once=1, per_s=1, most_addresses=100), clock)
    for number in range(3000):
        paces.wait_s(f"192.0.{number // 250}.{number % 250}")
    assert len(paces._left) == 100


def asks(address, forwarded=""):
    """A connection with a request, as waitress has it."""
    return SimpleNamespace(
        addr=(address, 1), requests=[SimpleNamespace(headers={"X_FORWARDED_FOR": forwarded})], connected=True
    )


def test_a_caller_is_known_as_everywhere_else_on_the_page():
    assert sent_by(asks("192.0.2.1", "203.0.113.9")) == "192.0.2.1"  # says so itself, and is not believed
    assert sent_by(asks("127.0.0.1", "203.0.113.9")) == "203.0.113.9"
    assert sent_by(asks("127.0.0.1")) == THIS_COMPUTER


def test_what_waits_is_answered_when_its_turn_comes_in_order_and_the_rest_at_once(clock):
    begun = []
    aside = Aside(Paces(Pace(n_at_once=1, per_s=1, longest_s=5), clock), begun.append, clock)
    fast = [asks("192.0.2.1") for _ in range(4)]
    other = asks("192.0.2.2")
    for channel in (*fast, other):
        aside.take(channel)
    assert begun == [fast[0], other]
    aside.look()
    assert begun == [fast[0], other]
    clock.now_s += 2.0
    aside.look()
    assert begun == [fast[0], other, fast[1], fast[2]]


def test_a_connection_that_was_closed_while_it_waited_is_let_go_at_once(clock):
    begun = []
    aside = Aside(Paces(Pace(n_at_once=1, per_s=1, longest_s=5), clock), begun.append, clock)
    first, gone = asks("192.0.2.1"), asks("192.0.2.1")
    aside.take(first)
    aside.take(gone)
    gone.connected = False
    aside.look()
    assert begun == [first, gone]  # the server sees that nobody is there, and forgets it
    assert aside._waiting == []
