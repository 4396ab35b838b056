"""What is said at the door, in words; tests/web/door meets each of them."""

import pytest

from ridelog.errors import Exit
from ridelog.tell.refusals.page import door


@pytest.mark.parametrize(
    ("wait_s", "words"),
    [(0.2, "1 second."), (1, "1 second."), (30, "30 seconds."), (89, "89 seconds."), (90, "2 minutes."),
     (900, "15 minutes.")],
)  # fmt: skip
def test_a_wait_is_told_in_seconds_or_minutes(wait_s, words):
    assert door.wait(wait_s) == f"Too many wrong passwords: try again in {words}"


@pytest.mark.parametrize(
    "error", [door.no_hash("x"), door.not_readable("x", "Permission denied"), door.others_can_read("x")]
)
def test_what_is_wrong_with_a_file_names_it(error):
    assert error.lines()[0].startswith("x: ")
    assert error.exit_status == Exit.UNREADABLE


@pytest.mark.parametrize(
    "error", [door.nobody_to_ask("x"), door.nothing_typed(), door.not_alike(), door.password_too_weak(12, 128)]
)
def test_a_password_that_was_not_given_is_a_wrong_call(error):
    assert error.exit_status == Exit.USAGE
    assert not error.message.endswith(".")


def test_who_opens_the_page_to_a_network_is_told_of_both_ways():
    hint = door.no_protection("0.0.0.0", "127.0.0.1").hint
    assert "--password-file FILE" in hint
    assert "--unprotected" in hint
    assert "nothing is encrypted" in door.in_clear("0.0.0.0")
