"""Sums of rectangular errors: against closed forms."""

import numpy as np
import pytest

from ridelog.fleet.history.statistics.shared import POINTS, added, middles, rectangular_sum


def test_one_rectangular_error_has_its_limits_and_its_standard_uncertainty():
    # JCGM 100, 4.3.7: half-width a, standard uncertainty a / root 3
    values = rectangular_sum([0.2])
    assert values.std() == pytest.approx(0.2, rel=1e-3)
    assert np.abs(values).max() == pytest.approx(0.2 * np.sqrt(3) * (1 - 1 / POINTS))


def test_two_alike_make_a_triangle():
    # variance 2 u²; 95 % of a triangle of half-width a lies within a (1 - root 0.05)
    values = rectangular_sum([0.1, -0.1], 1000)
    assert values.std() == pytest.approx(0.1 * np.sqrt(2), rel=1e-3)
    assert np.quantile(values, 0.975, method="hazen") == pytest.approx(0.2 * np.sqrt(3) * (1 - np.sqrt(0.05)), rel=2e-3)


def test_many_take_no_more_points_and_none_is_zero():
    many = rectangular_sum([0.1] * 12, 128)
    assert (len(many), many.std()) == (128, pytest.approx(0.1 * np.sqrt(12), rel=0.03))
    assert rectangular_sum([]).tolist() == [0.0]
    assert rectangular_sum([0.0, 0.0]).tolist() == [0.0]
    assert added(np.zeros(1), np.ones(3)).tolist() == [1, 1, 1]
    assert middles(4).tolist() == [0.125, 0.375, 0.625, 0.875]
