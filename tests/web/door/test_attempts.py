"""Guessing is slowed: for each address, for all together, and never for long for this computer itself."""

import threading

import pytest

from ridelog.web.door.attempts import MOST_ADDRESSES, OF_ALL, OF_ONE, OF_THIS_COMPUTER, THIS_COMPUTER, Attempts

DAY_S = 86_400


class Clock:
    def __init__(self):
        self.now_s = 1000.0

    def __call__(self):
        return self.now_s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def attempts(clock):
    return Attempts(clock)


def wrong():
    return False


def test_the_wait_doubles_up_to_its_longest(attempts, clock):
    """Five cost nothing; after the sixth 1 s, then 2, 4 … s, and 15 minutes in the end (by hand)."""
    for _ in range(OF_ONE.n_free):
        assert attempts.try_password("192.0.2.7", wrong) == (False, 0.0)
    waits = []
    for _ in range(12):
        assert attempts.try_password("192.0.2.7", wrong) == (False, 0.0)
        _, wait_s = attempts.try_password("192.0.2.7", wrong)
        waits.append(wait_s)
        clock.now_s += wait_s
    assert waits == [1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900]


def test_who_waits_is_not_checked_not_even_with_the_right_password(attempts):
    for _ in range(20):
        attempts.try_password("192.0.2.7", wrong)
    looked = []
    assert attempts.try_password("192.0.2.7", lambda: looked.append(1) or True) == (False, 1.0)
    assert looked == []


def test_the_right_password_begins_anew(attempts, clock):
    for _ in range(20):
        attempts.try_password("192.0.2.7", wrong)
    clock.now_s += 1
    assert attempts.try_password("192.0.2.7", lambda: True) == (True, 0.0)
    for _ in range(OF_ONE.n_free):
        assert attempts.try_password("192.0.2.7", wrong) == (False, 0.0)


def test_one_address_guesses_about_a_hundred_times_a_day(attempts, clock):
    """5 free, 11 while the wait doubles from 1 s to 900 s (1023 s in all), then one in 900 s: 5 + 11 + 94 (by hand)."""
    end, n = clock.now_s + DAY_S, 0
    while clock.now_s < end:
        _, wait_s = attempts.try_password("192.0.2.7", wrong)
        n += wait_s == 0
        clock.now_s += wait_s
    assert n == pytest.approx(110, abs=2)


def test_many_addresses_together_guess_a_hundred_times_an_hour(attempts, clock):
    """One in 30 s, 120 an hour, beside the first 55 (by hand), though each address tries once only."""
    n = 0
    for second in range(3600):
        clock.now_s += 1
        n += sum(attempts.try_password(f"10.{second >> 8}.{second & 255}.{k}", wrong)[1] == 0 for k in range(3))
    assert n == pytest.approx(120 + 55, abs=5)


def test_the_addresses_of_one_network_of_ipv6_are_one(attempts):
    """2⁶⁴ of them belong to one line (RFC 4291, 2.5.1)."""
    for n in range(OF_ONE.n_free + 1):
        assert attempts.try_password(f"2001:db8:1:2::{n:x}", wrong) == (False, 0.0)
    assert attempts.try_password("2001:db8:1:2:ffff::1", wrong)[1] > 0
    assert attempts.try_password("2001:db8:1:3::1", wrong)[1] == 0
    assert attempts.try_password("fe80::1%eth0", wrong)[1] == 0


def test_one_address_in_two_spellings_is_one(attempts):
    for n in range(OF_ONE.n_free + 1):
        attempts.try_password("192.0.2.7" if n % 2 else "::ffff:192.0.2.7", wrong)
    assert attempts.try_password("192.0.2.7", wrong)[1] > 0


def test_nobody_keeps_this_computer_out(attempts, clock):
    """However often others try, and however often it was wrong itself."""
    for n in range(5000):
        attempts.try_password(f"192.0.{n // 250}.{n % 250}", wrong)
    assert attempts.try_password("198.51.100.1", lambda: True)[1] > 0  # others wait
    assert attempts.try_password(THIS_COMPUTER, lambda: True) == (True, 0.0)
    for _ in range(200):
        _, wait_s = attempts.try_password(THIS_COMPUTER, wrong)
        assert wait_s <= OF_THIS_COMPUTER.longest_s
        clock.now_s += wait_s
    clock.now_s += OF_THIS_COMPUTER.longest_s
    assert attempts.try_password(THIS_COMPUTER, lambda: True) == (True, 0.0)


def test_this_computers_own_mistakes_are_no_others_wait(attempts, clock):
    for _ in range(200):
        attempts.try_password(THIS_COMPUTER, wrong)
        clock.now_s += 4
    assert attempts.try_password("192.0.2.7", lambda: True) == (True, 0.0)


def test_what_is_remembered_is_bounded(attempts, clock):
    for n in range(MOST_ADDRESSES + 500):
        clock.now_s += OF_ALL.longest_s
        attempts.try_password(f"10.{n >> 16}.{n >> 8 & 255}.{n & 255}", wrong)
    assert len(attempts._wrong) == MOST_ADDRESSES
    attempts.try_password("x" * 10_000, wrong)
    assert max(map(len, attempts._wrong)) <= 64


def test_of_many_at_the_same_time_one_is_checked(attempts):
    """Each check takes memory and a core: the others are told to wait; this computer has a place of its own."""
    begun, free = threading.Event(), threading.Event()

    def held():
        begun.set()
        return not free.wait(20)

    first = threading.Thread(target=attempts.try_password, args=("192.0.2.7", held))
    first.start()
    assert begun.wait(20)
    assert attempts.try_password("192.0.2.8", lambda: True) == (False, 1.0)
    assert attempts.try_password(THIS_COMPUTER, lambda: True) == (True, 0.0)
    free.set()
    first.join(20)
    assert attempts.try_password("192.0.2.8", lambda: True) == (True, 0.0)


def test_a_check_that_fails_leaves_the_place_free(attempts):
    def broken():
        raise MemoryError

    with pytest.raises(MemoryError):
        attempts.try_password("192.0.2.7", broken)
    assert attempts.try_password("192.0.2.7", lambda: True) == (True, 0.0)
