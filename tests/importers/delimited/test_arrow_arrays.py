"""Arrow's columns as numpy's arrays: equal to arrow's own conversion, which loads pandas."""

from itertools import pairwise

import numpy as np
import pyarrow as pa
import pytest

from ridelog.importers.delimited.arrow_arrays import counts_of, floats_of, mask_of

NUMBERS = pa.array([1.5, None, -0.0, float("nan"), float("inf"), 1e-310, 3.25])


@pytest.mark.parametrize("cut", [slice(0, 7), slice(1, 5), slice(2, 3), slice(3, 3)])
def test_numbers_are_arrows_own_also_of_a_part(cut):
    part = NUMBERS[cut]
    np.testing.assert_array_equal(floats_of(part), part.to_numpy(zero_copy_only=False))
    np.testing.assert_array_equal(np.signbit(floats_of(part)), np.signbit(part.to_numpy(zero_copy_only=False)))


@pytest.mark.parametrize("cuts", [[], [7], [2, 0, 5], [1, 6]])
def test_chunks_become_one_array(cuts):
    ends = np.cumsum([0, *cuts]).tolist()
    parts = [NUMBERS[first:last] for first, last in pairwise(ends)]
    chunked = pa.chunked_array(parts, pa.float64())
    np.testing.assert_array_equal(floats_of(chunked), chunked.to_numpy())


def test_whole_numbers_and_truths_have_zero_and_false_where_there_is_none():
    assert counts_of(pa.array([3, None, -(2**40)])[1:]).tolist() == [0, -(2**40)]
    assert counts_of(pa.array([], pa.int32())).tolist() == []
    assert mask_of(pa.array([True, None, False, True])[1:]).tolist() == [False, False, True]
