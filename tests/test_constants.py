"""Constants, against what defines them."""

import pytest

from ridelog.constants import NOMINAL_CIRCUMFERENCE_M, NOMINAL_PACK_V, STANDARD_GRAVITY


def test_gravity_is_the_standard_one():
    """Third General Conference on Weights and Measures, 1901: 980.665 cm/s²."""
    assert pytest.approx(980.665 / 100) == STANDARD_GRAVITY


def test_the_nominal_pack_is_the_usual_one_of_thirteen_cells():
    """13 lithium-ion cells of 3.7 V nominal: 48.1 V, sold as 48 V."""
    assert pytest.approx(13 * 3.7, abs=0.2) == NOMINAL_PACK_V


def test_the_nominal_wheel_is_between_the_usual_ones():
    """ETRTO 37-622 (28 inch): (622 + 2 x 37) mm x pi = 2.19 m; 47-507 (24 inch): 1.89 m."""
    assert 1.89 < NOMINAL_CIRCUMFERENCE_M < 2.19
