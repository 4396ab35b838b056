"""Files in folders of rides that cannot be measured, in words; tests/fleet/test_folders.py meets them."""

import pytest

from ridelog.errors import Exit, InputError, RidelogError
from ridelog.tell.refusals import folders


@pytest.mark.parametrize(
    "error",
    [
        folders.no_folder("x"),
        folders.nothing_there("x"),
        folders.of_no_bike("x"),
        folders.whose_ride("x", 3),
        folders.not_there("x", "rides.toml"),
        folders.unreadable("x", "Permission denied"),
        folders.ended("x"),
        folders.own_fault("x", "KeyError: 1"),
    ],
)
def test_each_names_its_file_and_what_to_do(error):
    assert error.message.startswith("x: ")
    assert not error.message.endswith(".")
    assert error.hint


def test_a_wrong_call_is_one():
    assert folders.no_folder("x").exit_status == folders.nothing_there("x").exit_status == Exit.USAGE


def test_an_error_without_a_file_gets_one():
    known = InputError("y", "is empty")
    assert folders.of_file("x", known) is known
    assert folders.of_file("x", RidelogError("no room", hint="make room")).lines() == ["x: no room", "hint: make room"]
