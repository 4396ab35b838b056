"""ISO 5725-2 against the analysis of variance of statsmodels, and by hand."""

import numpy as np
import pandas as pd
import pytest
from statsmodels.formula import api
from statsmodels.stats.anova import anova_lm

from ridelog.compare.statistics.precision import precision


def objects(values):
    return np.asarray(values, dtype=object)


def test_two_laboratories_by_hand():
    # s_r² = (2 + 2) / 2 = 2 (cells 1, 3 and 5, 7: each sum of squares 2); means 2 and 6: s_d² = 2 (4 + 4) / 1 = 16;
    # s_L² = (16 - 2) / 2 = 7; s_R² = 9
    told = precision(np.array([1.0, 3, 5, 7]), objects(["x"] * 4), objects(["a", "a", "b", "b"]))
    assert told.repeatability_sd == pytest.approx(np.sqrt(2))
    assert told.repeatability_limit == pytest.approx(2.8 * np.sqrt(2))
    assert told.reproducibility_sd == pytest.approx(3)
    assert told.reproducibility_limit == pytest.approx(8.4)
    assert (told.results, told.laboratories) == (4, 2)


def test_cells_of_other_sizes_are_as_an_analysis_of_variance_has_them():
    rng = np.random.default_rng(1)
    sizes = [4, 2, 3, 5, 1, 2]
    lab = objects(np.repeat(list("abcdef"), sizes))
    values = rng.normal(0, 1, 17) + np.repeat(rng.normal(0, 2, 6), sizes)
    table = anova_lm(api.ols("value ~ lab", pd.DataFrame({"value": values, "lab": lab.astype(str)})).fit())
    usual = (17 - np.sum(np.square(sizes)) / 17) / 5
    between = (table["mean_sq"]["lab"] - table["mean_sq"]["Residual"]) / usual
    told = precision(values, objects(["x"] * 17), lab)
    assert told.repeatability_sd**2 == pytest.approx(table["mean_sq"]["Residual"])
    assert told.reproducibility_sd**2 == pytest.approx(table["mean_sq"]["Residual"] + between)


def test_levels_may_lie_far_apart():
    rng = np.random.default_rng(2)
    level = objects(np.repeat(["x", "y"], 400))
    lab = objects(np.tile(np.repeat(["a", "b"], 200), 2))
    values = rng.normal(0, 1, 800) + 50 * (level == "y")
    told = precision(values, level, lab)
    assert told.repeatability_sd == pytest.approx(1, rel=0.08)
    assert told.reproducibility_sd == pytest.approx(told.repeatability_sd, rel=0.05)


def test_one_laboratory_shows_no_reproducibility_and_single_results_nothing():
    one = precision(np.array([1.0, 2]), objects(["x", "x"]), objects(["a", "a"]))
    assert (one.reproducibility_sd, one.reproducibility_limit) == (None, None)
    assert precision(np.array([1.0, 2]), objects(["x", "y"]), objects(["a", "a"])) is None
