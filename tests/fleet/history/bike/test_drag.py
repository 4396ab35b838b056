"""CdA from the coasting of many rides: against generalised least squares elsewhere, and against a made-up truth."""

import numpy as np
import pandas as pd
import pytest
from scipy.linalg import block_diag
from statsmodels.regression.linear_model import GLS

from ridelog.fleet.history.bike.drag import FEWEST, Known, combined, learned_drag

NOTHING = np.zeros((2, 2))
BEFORE = Known(11.0, 2.0, 0.0)


def pairs(n, rng, *, shared=0.0, truth=(11.0, 0.6), own=1.0):
    """Values, covariances and their shared part of n rides; each has a slope of its own between drag and area."""
    alike_error = rng.standard_normal(2)
    values, covariances, alike = [], [], []
    for _ in range(n):
        slope = rng.uniform(0.015, 0.03)
        root = np.array([[rng.uniform(3, 9), 0.0], [0.0, 0.05]])
        root = np.array([[1.0, 0.0], [-slope, 1.0]]) @ root
        whole = root @ root.T
        values.append(
            truth + own * root @ (np.sqrt(1 - shared) * rng.standard_normal(2) + np.sqrt(shared) * alike_error)
        )
        covariances.append(whole)
        alike.append(shared * whole)
    return np.array(values), np.array(covariances), np.array(alike)


def frame(values, covariances, alike, seconds=30.0):
    return pd.DataFrame(
        {
            "coasting_s": seconds,
            "coasting_drag_n": values[:, 0], "coasting_cda_m2": values[:, 1],
            "coasting_drag_u_n": np.sqrt(covariances[:, 0, 0]), "coasting_cda_u_m2": np.sqrt(covariances[:, 1, 1]),
            "coasting_correlation_ratio": covariances[:, 0, 1] / np.sqrt(covariances[:, 0, 0] * covariances[:, 1, 1]),
            "coasting_drag_alike_n": np.sqrt(alike[:, 0, 0]), "coasting_cda_alike_m2": np.sqrt(alike[:, 1, 1]),
            "coasting_alike_correlation_ratio": np.divide(
                alike[:, 0, 1], np.sqrt(alike[:, 0, 0] * alike[:, 1, 1]), out=np.zeros(len(alike)),
                where=alike[:, 0, 0] > 0,
            ),
        }
    )  # fmt: skip


def test_the_mean_of_pairs_is_that_of_generalised_least_squares():
    values, covariances, alike = pairs(9, np.random.default_rng(1), own=0.5)
    mean, covariance = combined(values, covariances, alike)
    fit = GLS(values.ravel(), np.tile(np.eye(2), (9, 1)), sigma=block_diag(*covariances)).fit()
    assert mean == pytest.approx(fit.params)
    assert covariance == pytest.approx(fit.normalized_cov_params, rel=1e-6)


def test_a_line_is_that_of_generalised_least_squares():
    values, covariances, alike = pairs(12, np.random.default_rng(2), own=0.5)
    years = np.linspace(-1, 0, 12)
    mean, covariance = combined(values, covariances, alike, years)
    designs = np.vstack([np.column_stack([np.eye(2), year * np.eye(2)]) for year in years])
    fit = GLS(values.ravel(), designs, sigma=block_diag(*covariances)).fit()
    assert mean == pytest.approx(fit.params)
    assert covariance == pytest.approx(fit.normalized_cov_params, rel=1e-6)


def dated(told, years):
    starts = pd.Timestamp("2026-01-01", tz="UTC") + pd.to_timedelta(years * 365.25, "D")
    return told.assign(ride_start=starts)


def test_a_trend_is_followed_to_the_latest_ride_and_told_as_rarely_as_it_says():
    """Of 300 bikes without a trend, whose rides share half of their error, 1 % has one by chance (beyond 8: 1 %)."""
    rng, years = np.random.default_rng(3), np.linspace(0, 1, 20)
    none = [learned_drag(dated(frame(*pairs(20, rng, shared=0.5)), years), BEFORE) for _ in range(300)]
    assert sum(each.cda_m2_per_year is not None for each in none) <= 8
    off = []
    for _ in range(30):
        values, covariances, alike = pairs(20, rng, own=0.3)
        values[:, 1] += 0.25 * (years - 1)
        told = learned_drag(dated(frame(values, covariances, alike), years), BEFORE)
        assert told.cda_m2_per_year == pytest.approx(0.25, abs=0.15)
        off.append(told.cda_m2.value - 0.6)
    assert abs(np.mean(off)) < 0.02  # 0.6 m² is the latest ride's; the mean over the year is 0.475
    undated = learned_drag(frame(values, covariances, alike), BEFORE)
    assert undated.cda_m2_per_year is None


def test_what_all_rides_share_does_not_shrink():
    whole = np.array([[16.0, -0.3], [-0.3, 0.01]])
    values = np.tile([11.0, 0.6], (50, 1))
    covariance = combined(values, np.tile(whole, (50, 1, 1)), np.tile(0.4 * whole, (50, 1, 1)))[1]
    assert covariance == pytest.approx((0.6 / 50 + 0.4) * whole)


def test_rides_that_scatter_by_more_than_they_say_widen_it():
    """Birge's ratio, by hand: two groups that lie 3 u off their mean in each of two values have a chi2 of 18 a ride."""
    values = np.array([[14.0, 0.9], [8.0, 0.3]] * 5)
    covariance = combined(values, np.tile(np.diag([1.0, 0.01]), (10, 1, 1)), np.tile(NOTHING, (10, 1, 1)))[1]
    assert covariance == pytest.approx(np.diag([1.0, 0.01]) / 10 * 180 / 18)


def test_the_interval_holds_the_truth():
    """The drag that was entered is off by a normal error of its own; CdA differs between bikes as is assumed."""
    rng = np.random.default_rng(7)
    held, widths = 0, []
    for _ in range(400):
        truth = np.array([11.0, 0.56 + 0.29 * rng.uniform(-1, 1)])
        told = learned_drag(
            frame(*pairs(20, rng, shared=0.3, truth=truth)), Known(11.0 + 2.0 * rng.standard_normal(), 2.0, 0.0)
        )
        held += told.cda_m2.low95 <= truth[1] <= told.cda_m2.high95
        widths.append(told.cda_limit_m2)
    assert 0.93 <= held / 400 <= 0.98
    assert np.median(widths) < 0.29 / 2


def test_an_interval_that_takes_all_errors_for_each_rides_own_would_be_too_narrow():
    rng = np.random.default_rng(8)
    held = 0
    for _ in range(200):
        values, covariances, alike = pairs(20, rng, shared=0.3)
        told = learned_drag(frame(values, covariances, 0 * alike), Known(11.0, 50.0, 0.0))
        held += told.cda_m2.low95 <= 0.6 <= told.cda_m2.high95
    assert held < 0.8 * 200


def test_mass_and_air_scale_it():
    told = frame(*pairs(20, np.random.default_rng(3)))
    exact, vague = (learned_drag(told, Known(11.0, 2.0, scale_u)) for scale_u in (0.0, 0.05))
    wider = np.hypot(exact.cda_limit_m2 / np.sqrt(3), 0.05 * exact.cda_m2.value) * np.sqrt(3)
    assert vague.cda_limit_m2 == pytest.approx(wider)


def test_few_rides_or_little_coasting_teach_nothing():
    told = frame(*pairs(20, np.random.default_rng(4)))
    assert learned_drag(told.iloc[: FEWEST - 1], BEFORE) is None
    assert learned_drag(told.assign(coasting_s=2.0), BEFORE) is None
    assert learned_drag(told.assign(coasting_cda_m2=np.nan), BEFORE) is None
    assert learned_drag(pd.DataFrame({"key": ["a"] * 9}), BEFORE) is None
