"""A number as it is told."""

import math

import pytest

from ridelog.uncertain.quantity import Quantity, quantity


@pytest.mark.parametrize("value", [None, math.nan, math.inf, -math.inf])
def test_what_is_not_a_number_is_no_quantity(value):
    assert quantity(value) is None


def test_a_number_without_bounds_is_a_quantity_of_python_s_own_kind():
    import numpy as np

    told = quantity(np.float32(2))
    assert told == Quantity(2.0, None, None)
    assert type(told.value) is float
