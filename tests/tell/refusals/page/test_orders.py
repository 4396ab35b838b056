"""Why something is not made, each in a sentence with what to do; tests/web/pages meets them."""

import pytest

from ridelog.errors import Exit
from ridelog.tell.refusals.page import orders


@pytest.mark.parametrize(
    "error",
    [orders.took_too_long(300.0), orders.broke_off(), orders.ride_of_two("x"), orders.no_name(1), orders.same_name("x"),
     orders.too_few_groups(), orders.no_ride_chosen(), orders.no_points()],
)  # fmt: skip
def test_each_says_what_to_do(error):
    assert error.hint
    assert len(error.lines()) == 2
    assert error.exit_status != Exit.OK
