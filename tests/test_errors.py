"""Errors: one line that says where and what, and a hint on what to do next."""

import pickle

import pytest

from ridelog import errors
from ridelog.errors import Exit, InputError, RidelogError, UsageError, printable


def test_errors_name_their_place_and_their_hint():
    error = InputError("b.csv", "current: '1,5' is not a number", place="line 2", hint="decimal comma?")
    assert error.lines() == ["b.csv, line 2: current: '1,5' is not a number", "hint: decimal comma?"]
    assert (error.exit_status, UsageError("no").exit_status) == (Exit.UNREADABLE, Exit.USAGE)


def test_a_name_cannot_disturb_the_terminal():
    """A file may be called by anything, an escape sequence or a line feed too."""
    assert printable("\x1b[2J a\nb\u202e") == "�[2J a�b�"
    assert InputError("a\nb.csv", "is empty").lines() == ["a�b.csv: is empty"]


def test_an_error_without_a_hint_is_one_line():
    assert RidelogError("Nothing was measured.").lines() == ["Nothing was measured."]


@pytest.mark.parametrize("name", ["NotRecognisedError", "ColumnQuestionError", "BikeFileError", "AnswerError"])
def test_what_cannot_be_read_ends_with_the_status_for_that(name):
    error = getattr(errors, name)("a.csv", "is not what it should be")
    assert isinstance(error, InputError)
    assert error.exit_status == Exit.UNREADABLE == 3


@pytest.mark.parametrize(
    "error",
    [
        errors.NotRecognisedError("a.csv", "is none", place="line 2", hint="look"),
        errors.StoreError("no room", hint="make room"),
        RidelogError("no"),
    ],
)
def test_an_error_of_another_process_is_the_same_here(error):
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert vars(again) == vars(error)
    assert again.lines() == error.lines()
    assert str(again) == str(error)
