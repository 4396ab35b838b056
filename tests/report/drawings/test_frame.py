"""Scales at round steps, and values at their places."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.report.drawings.frame import Scale, above, along, feet, labels, marks, rows, ticks
from ridelog.tell.numbers import PAGE


@pytest.mark.parametrize(
    ("low", "high", "most", "values"),
    [
        (0, 10, 5, [0, 2, 4, 6, 8, 10]),
        (-250, 870, 6, [-200, 0, 200, 400, 600, 800]),
        (0, 0.9, 5, [0, 0.2, 0.4, 0.6, 0.8]),
        (3, 3, 5, [3]),
    ],
)
def test_ticks_are_round(low, high, most, values):
    assert ticks(low, high, most) == pytest.approx(values)


@given(st.floats(-1e4, 1e4), st.floats(0.01, 1e4), st.integers(2, 10))
def test_ticks_lie_within_and_are_few(low, span, most):
    found = ticks(low, low + span, most)
    assert len(found) <= most + 1
    assert all(low - 1e-6 * span - 1e-9 <= each <= low + span * (1 + 1e-6) + 1e-9 for each in found)
    steps = np.diff(found)
    assert len(steps) == 0 or np.allclose(steps, steps[0])


def test_labels_have_the_decimals_of_their_step():
    assert labels([0.0, 0.5, 1.0], PAGE) == ["0.0", "0.5", "1.0"]
    assert labels([-200.0, 0.0, 1200.0], PAGE) == ["−200", "0", "1\u202f200"]
    assert labels([3.0], PAGE) == ["3"]


def test_values_lie_at_their_places():
    scale = Scale(0.0, 10.0, 100.0, 0.0)
    assert scale.at(0.0) == 100.0
    assert scale.at(2.5) == 75.0
    assert scale.all_at(np.array([5.0, 10.0])).tolist() == [50.0, 0.0]
    assert Scale(1.0, 1.0, 5.0, 9.0).at(1.0) == 5.0


def test_a_frame_says_its_numbers():
    scale = Scale(0.0, 10.0, 100.0, 0.0)
    for drawn in (rows(scale, (0, 50), PAGE), feet(scale, 100, PAGE), marks([1.0], ["10"], 5)):
        assert ">10</text>" in "".join(drawn)
    assert ">height</text>" in above("height", 1, 2)
    assert ">distance</text>" in along("distance", 1, 2)
