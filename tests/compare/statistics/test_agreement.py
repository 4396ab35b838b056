"""Bland and Altman 1986, and exact intervals of the limits counted."""

import numpy as np
import pytest
from scipy import stats

from ridelog.compare.statistics.agreement import agreement

# Bland and Altman 1986, Lancet 327:307: peak flow of 17 people by two meters [l/min]
WRIGHT = np.array([494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427.0])
MINI = np.array([512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451.0])


def test_the_meters_of_the_paper():
    told = agreement(MINI, WRIGHT)
    assert (told.pairs, told.bias.value, told.sd) == (
        17, pytest.approx(-2.117647, abs=5e-7), pytest.approx(38.765130, abs=5e-7),
    )  # fmt: skip
    assert (told.lower.value, told.upper.value) == pytest.approx((-78.0959, 73.8606), abs=5e-5)
    assert (told.bias.low95, told.bias.high95) == pytest.approx((-22.05, 17.81), abs=5e-3)
    assert told.limit_se == pytest.approx(16.285, abs=5e-4)


def test_with_two_standard_deviations_as_the_paper_has_them():
    told = agreement(MINI, WRIGHT, reach_sd=2)
    assert (told.lower.value, told.upper.value) == pytest.approx((-79.648, 75.413), abs=5e-4)
    # the paper's -114.3 to -45.1, from the standard error; its bias and limit were rounded to tenths before
    half = stats.t.ppf(0.975, 16) * told.limit_se
    assert (told.lower.value - half, told.lower.value + half) == pytest.approx((-114.3, -45.1), abs=0.15)
    # the exact one lies further out
    assert told.lower.low95 < -114.3
    assert told.lower.high95 < -45.1


@pytest.mark.parametrize("n", [3, 5, 17])
def test_the_interval_of_a_limit_holds_it(n):
    rng = np.random.default_rng(n)
    trials, held, by_standard_error = 2000, 0, 0
    for _ in range(trials):
        told = agreement(np.zeros(n), rng.normal(0, 1, n))
        held += told.upper.low95 <= 1.96 <= told.upper.high95
        half = stats.t.ppf(0.975, n - 1) * told.limit_se
        by_standard_error += abs(told.upper.value - 1.96) <= half
    # 95 of 100; three standard errors of 2000 trials are 1.5 points
    assert held / trials == pytest.approx(0.95, abs=0.015)
    if n == 3:
        assert by_standard_error / trials < 0.93
