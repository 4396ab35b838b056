"""A session is a cookie that was signed here and is remembered here, until it is over."""

import time

import pytest

from ridelog.web.door.sessions import FORM_S, IDLE_S, LONGEST_S, MOST_SESSIONS, Sessions


class Clock:
    now_s = 0.0

    def __call__(self):
        return self.now_s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def sessions(clock):
    return Sessions(clock)


def test_a_session_is_known_by_its_cookie_until_it_is_ended(sessions):
    one, other = sessions.begin(), sessions.begin()
    assert sessions.holds(one)
    assert sessions.holds(other)
    sessions.end(one)
    assert not sessions.holds(one)
    assert sessions.holds(other)


def test_every_letter_of_a_cookie_counts(sessions):
    """Changed, left out or doubled anywhere: it is no session. The last letter of a signature has two spare bits."""
    cookie = sessions.begin()
    for place in range(len(cookie) - 1):
        other = "A" if cookie[place] != "A" else "B"
        assert not sessions.holds(cookie[:place] + other + cookie[place + 1 :]), place
        assert not sessions.holds(cookie[:place] + cookie[place + 1 :]), place


@pytest.mark.parametrize("cookie", [None, "", ".", "x", "é", "a.b", "\x00", "x" * 100_000])
def test_what_was_never_given_is_no_session(sessions, cookie):
    assert not sessions.holds(cookie)
    sessions.end(cookie)


def test_another_start_has_another_secret(sessions):
    assert not Sessions().holds(sessions.begin())


def test_a_form_of_this_page_is_no_cookie(sessions):
    """What is signed for one use does not serve the other."""
    token = sessions.token("key")
    assert not sessions.holds(f"key{token}")
    assert not sessions.holds(token)


def test_an_idle_session_ends(sessions, clock):
    cookie = sessions.begin()
    for _ in range(3):
        clock.now_s += IDLE_S - 1
        assert sessions.holds(cookie)
    clock.now_s += IDLE_S + 1
    assert not sessions.holds(cookie)


def test_no_session_outlasts_its_longest_time_however_it_is_used(sessions, clock):
    cookie = sessions.begin()
    while clock.now_s + 3600 <= LONGEST_S:
        clock.now_s += 3600
        assert sessions.holds(cookie)
    clock.now_s += 3600
    assert not sessions.holds(cookie)
    assert sessions._sessions == {}


def test_the_number_of_sessions_is_bounded(sessions, clock):
    first = sessions.begin()
    for _ in range(MOST_SESSIONS):
        clock.now_s += 1
        last = sessions.begin()
    assert len(sessions._sessions) == MOST_SESSIONS
    assert not sessions.holds(first)
    assert sessions.holds(last)


def test_a_token_is_its_owners_alone(sessions):
    token = sessions.token("one")
    assert sessions.is_token(token, "one")
    assert not sessions.is_token(token, "other")
    assert not sessions.is_token(token, "")
    assert not sessions.is_token("", "one")
    assert not sessions.is_token("é", "one")
    assert not Sessions().is_token(token, "one")


def test_no_part_of_a_token_can_go_over_to_its_owner(sessions):
    """Owner and token are told apart: a key that has swallowed a part of the token makes no form of its own."""
    token = sessions.token("one")
    assert not sessions.is_token(token[4:], f"one{token[:4]}x")
    assert not sessions.is_token(sessions.token(""), "one")


def test_an_old_form_is_not_taken(sessions, monkeypatch):
    token, now = sessions.token("one"), time.time()
    monkeypatch.setattr(time, "time", lambda: now + FORM_S + 2)
    assert not sessions.is_token(token, "one")
