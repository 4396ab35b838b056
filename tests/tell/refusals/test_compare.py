"""Comparisons that cannot be made, in words; tests/compare meets them."""

import pytest

from ridelog.errors import Exit
from ridelog.tell.refusals import compare


@pytest.mark.parametrize(
    "error",
    [
        compare.no_group("x"),
        compare.one_group(["x"]),
        compare.one_group([]),
        compare.nowhere("x", "y"),
        compare.no_log("x"),
        compare.no_ride_left("x", []),
        compare.no_ride_left("x", ["a.csv: is empty", "b.csv: is empty"]),
        compare.in_two_groups("x", "a", "b"),
        compare.unknown_key("x?y=1", "y", ["bike"]),
        compare.no_date("x?from=May", "from", "May"),
        compare.unused_bike("x"),
    ],
)
def test_each_says_what_is_wrong_and_what_to_do(error):
    assert error.exit_status == Exit.USAGE
    assert not error.message.endswith(".")
    assert error.hint


def test_a_group_of_which_nothing_was_measured_says_why():
    two = compare.no_ride_left("off", ["a.csv: is empty", "b.csv: is cut"])
    assert two.message == "group off: nothing in it could be measured: a.csv: is empty (and 1 more)"
