"""What a page says where there are no rides yet, or none to be had."""

import pytest

from ridelog.errors import StoreError
from ridelog.fleet.audit import Progress
from ridelog.web.kept.kept import UnderwayError
from ridelog.web.pages.shelves import asked_of


def raising(error):
    def ask(_kept):
        raise error

    return ask


@pytest.mark.parametrize(
    ("error", "said", "again"),
    [
        (UnderwayError(None), "Reading the kept rides", True),
        (UnderwayError(Progress(0, 0, 0)), "Reading the kept rides", True),
        (UnderwayError(Progress(3, 60, 0)), "3 of 60 rides done", True),
        (StoreError("no <room>", hint="make room"), "no &lt;room&gt;", False),
        (StoreError("no room", hint="make room"), "hint: make room", False),
        (PermissionError(13, "Permission denied"), "cannot be shown: [Errno 13] Permission denied", False),
        (ZeroDivisionError("x"), "ZeroDivisionError: x", False),
    ],
)
def test_each_state_is_told(error, said, again):
    found, shown, again_s = asked_of(object(), raising(error))
    assert found is None
    assert said in "".join(shown)
    assert (again_s is not None) == again


def test_what_is_there_is_given_and_without_a_store_nothing_is_said():
    assert asked_of("kept", lambda kept: kept + "!") == ("kept!", [], None)
    assert asked_of(None, raising(ValueError())) == (None, [], None)
