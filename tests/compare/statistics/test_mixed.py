"""Mixed models: published fits of lme4, statsmodels' own data, and the exact t of balanced data."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.regression.tests as kept_by_statsmodels
from scipy import stats
from statsmodels.formula import api

from ridelog.compare.statistics import mixed
from ridelog.compare.statistics.combined import Combined
from ridelog.compare.statistics.mixed import Repeated, random_intercept, repeated
from tests.places import REFERENCE

SLEEPSTUDY = pd.read_csv(REFERENCE / "statistics" / "sleepstudy.csv")


def line(x):
    return np.column_stack([np.ones(len(x)), x])


def labels(values):
    return np.asarray([str(each) for each in values], dtype=object)


def test_the_sleep_study_is_the_published_one():
    # lme4's published output: random intercept and slope, restricted likelihood
    fit = api.mixedlm("Reaction ~ Days", SLEEPSTUDY, groups="Subject", re_formula="~Days").fit()
    assert fit.fe_params.to_numpy() == pytest.approx([251.405, 10.467], abs=5e-4)
    assert fit.bse_fe.to_numpy() == pytest.approx([6.825, 1.546], abs=1e-3)
    assert (np.sqrt(fit.scale), -2 * fit.llf) == (pytest.approx(25.592, abs=1e-3), pytest.approx(1743.63, abs=5e-3))


def test_the_sleep_study_with_one_random_effect_a_driver():
    # lme4's published output
    fit = random_intercept(
        SLEEPSTUDY["Reaction"].to_numpy(), line(SLEEPSTUDY["Days"].to_numpy(float)), labels(SLEEPSTUDY["Subject"])
    )
    assert fit.se == pytest.approx([9.7467, 0.8042], abs=5e-5)
    assert fit.between_variance == pytest.approx(1378.18, abs=5e-3)
    assert fit.residual_variance == pytest.approx(960.46, abs=5e-3)
    assert -2 * fit.log_likelihood == pytest.approx(1786.5, abs=0.05)
    assert fit.weights @ SLEEPSTUDY["Reaction"].to_numpy() == pytest.approx(fit.coefficients)


def test_dietox_is_as_lme4_has_it():
    # statsmodels' test_lme.py, values of lmer
    pigs = pd.read_csv(Path(kept_by_statsmodels.__file__).parent / "results" / "dietox.csv")
    fit = random_intercept(pigs["Weight"].to_numpy(), line(pigs["Time"].to_numpy(float)), labels(pigs["Pig"]))
    assert fit.coefficients == pytest.approx([15.723523, 6.942505], abs=5e-6)
    assert fit.se == pytest.approx([0.78805374, 0.03338727], rel=1e-4)
    assert (fit.between_variance, fit.residual_variance) == (
        pytest.approx(40.39395, rel=1e-4), pytest.approx(11.36692, rel=1e-4),
    )  # fmt: skip
    assert fit.log_likelihood == pytest.approx(-2404.775, abs=1e-3)


def made_up(rng, rides=10, hills=4, between=1.0, within=0.5):
    """Rides of two groups by turns, in pairs, each over every hill."""
    ride, hill = (each.ravel() for each in np.meshgrid(np.arange(rides), np.arange(hills), indexing="ij"))
    values = rng.normal(0, between, rides)[ride] + 10 * hill + rng.normal(0, within, len(ride))
    return values, Repeated(ride % 2 == 1, labels(ride), labels(hill), ride // 2)


def means(values, layout):
    frame = pd.DataFrame({"value": values, "ride": layout.ride.astype(int)})
    return frame.groupby("ride")["value"].mean().to_numpy()


def test_where_every_ride_has_every_hill_it_is_the_t_of_the_rides_means():
    values, layout = made_up(np.random.default_rng(3))
    of_ride = means(values, layout)
    told, converged = repeated(values, Repeated(layout.second, layout.ride, layout.hill))
    assert converged
    alone = stats.ttest_ind(of_ride[1::2], of_ride[::2], equal_var=False)
    assert Combined.of(told).p_value() == pytest.approx(alone.pvalue, rel=1e-9)
    by_pairs, converged = repeated(values, layout)
    assert converged
    assert by_pairs.degrees_of_freedom == 4
    assert Combined.of(by_pairs).p_value() == pytest.approx(
        stats.ttest_rel(of_ride[1::2], of_ride[::2]).pvalue, rel=1e-4
    )


def test_a_few_rides_beside_many_have_the_degrees_of_freedom_of_the_few():
    values, layout = made_up(np.random.default_rng(8), rides=18)
    second = layout.ride.astype(int) >= 4
    told, _ = repeated(values, Repeated(second, layout.ride, layout.hill))
    of_ride = means(values, layout)
    alone = stats.ttest_ind(of_ride[4:], of_ride[:4], equal_var=False)
    assert (told.value / told.se, told.degrees_of_freedom) == (pytest.approx(alone.statistic), pytest.approx(alone.df))
    assert Combined.of(told).p_value() == pytest.approx(alone.pvalue, rel=1e-9)


def test_many_hills_are_not_many_rides():
    values, layout = made_up(np.random.default_rng(5), rides=6, hills=30, within=0.1)
    told, _ = repeated(values, Repeated(layout.second, layout.ride, layout.hill))
    as_if_apart = stats.ttest_ind(values[layout.second], values[~layout.second])
    assert 2 <= told.degrees_of_freedom <= 4
    half = Combined.of(told).interval()[1] - told.value
    assert half > 1.5  # of rides: t(4) 2.78 times 1 root (2 / 3)
    assert as_if_apart.df == 178


def test_where_the_model_does_not_converge_rides_are_the_units(monkeypatch):
    values, layout = made_up(np.random.default_rng(3))
    monkeypatch.setattr(mixed, "random_intercept", lambda *_: None)
    told, converged = repeated(values, Repeated(layout.second, layout.ride, layout.hill))
    of_ride = means(values, layout)
    direct = stats.ttest_ind(of_ride[1::2], of_ride[::2], equal_var=False)
    assert converged  # the means are exact here: nothing is left out that somebody should be told
    assert told.value == pytest.approx(of_ride[1::2].mean() - of_ride[::2].mean())
    assert told.degrees_of_freedom == pytest.approx(direct.df)
    assert told.value / told.se == pytest.approx(direct.statistic, rel=1e-6)


def test_where_the_set_up_does_more_on_one_hill_than_on_another_it_is_still_the_t_of_the_rides_means():
    """Then hills differ by more than rides, and a model finds no spread between rides, if it finds anything."""
    values, layout = made_up(np.random.default_rng(3), rides=12, hills=3, between=0.8)
    values = values + 12 * layout.second * (layout.hill == "1")
    told, converged = repeated(values, layout)
    of_ride = means(values, layout)
    assert converged
    assert Combined.of(told).p_value() == pytest.approx(stats.ttest_rel(of_ride[1::2], of_ride[::2]).pvalue, rel=1e-6)


@pytest.mark.parametrize("values", [np.zeros(40), np.repeat([0.0, 1.0], 20)])
def test_values_that_leave_nothing_to_chance_are_no_matter_for_a_model(values):
    _, layout = made_up(np.random.default_rng(3))
    assert random_intercept(np.zeros(40), np.ones((40, 1)), layout.ride) is None
    told, converged = repeated(np.zeros(40), layout)
    assert (told.value, told.se, converged) == (0, 0, True)
    missing = np.arange(40) != 7
    some = Repeated(layout.second[missing], layout.ride[missing], layout.hill[missing])
    assert repeated(np.zeros(39), some)[1] is False


def test_hills_that_only_one_ride_has_and_rides_of_one_hill_are_borne():
    values, layout = made_up(np.random.default_rng(8))
    kept = np.ones(len(values), dtype=bool)
    kept[[0, 1, 2, 9, 14, 22, 23]] = False
    some = Repeated(layout.second[kept], layout.ride[kept], layout.hill[kept])
    told, converged = repeated(values[kept], some)
    assert converged
    assert told.weights @ values[kept] == pytest.approx(told.value, rel=1e-6)


def test_a_fit_without_a_variance_is_none_and_warns_nobody(monkeypatch):
    """Warnings are errors here: statsmodels takes the root of a negative variance where it found no maximum."""

    class Lost:
        converged, cov_re, scale = True, np.array([[1.0]]), 1.0

        @property
        def bse_fe(self):
            return np.sqrt(np.array([-1.0, 1.0]))

    monkeypatch.setattr("statsmodels.regression.mixed_linear_model.MixedLM.fit", lambda *_, **__: Lost())
    values, layout = made_up(np.random.default_rng(3))
    assert random_intercept(values, line(layout.second.astype(float)), layout.ride) is None
