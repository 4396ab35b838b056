"""A bike's own figure: pooled values of a published meta-analysis, coverage counted, what does not shrink."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from ridelog.fleet.history.figure import Errors, _pivot, mean_of_rides, own_figure, random_effects
from tests.places import REFERENCE


def rides(values, u=0.1, quantity="energy_recovered_pct", **columns):
    values = np.asarray(values, dtype=float)
    return pd.DataFrame(
        {
            "bike": "a", "key": [f"{at:03d}" for at in range(len(values))], quantity: values,
            f"{quantity}_low95": values - 1.96 * u, f"{quantity}_high95": values + 1.96 * u,
            "u_zero_pct": 0.0, "u_charge_gain_pct": 0.0, **columns,
        }
    )  # fmt: skip


def test_without_measurement_errors_it_is_students_interval():
    # t.975 with 4 degrees of freedom 2.776 (any table)
    mean, sd, shared_u = mean_of_rides(np.array([3.0, 5, 4, 6, 7]), Errors(np.zeros(5)))
    half = 2.776 * np.sqrt(2.5 / 5)
    assert (mean.value, mean.low95, mean.high95) == pytest.approx((5, 5 - half, 5 + half), abs=1e-3)
    assert sd == pytest.approx(np.sqrt(2.5))
    assert shared_u == 0


def test_between_laboratory_variance_of_paule_and_mandel():
    # Definition (Paule and Mandel 1982): at the variance given, the weighted sum of squares is its expectation, n - 1.
    values = np.array([4.1, 5.9, 5.0, 7.2, 4.4, 6.1])
    own = np.array([0.3, 0.9, 0.2, 0.5, 0.8, 0.4])
    mean, sd, _ = mean_of_rides(values, Errors(own))
    weights = 1 / (own**2 + sd**2)
    assert mean.value == pytest.approx(np.average(values, weights=weights), abs=1e-6)
    assert np.sum(weights * (values - mean.value) ** 2) == pytest.approx(5, abs=1e-3)
    # Hartung-Knapp: the variance of the mean is the weighted mean square over n - 1
    se = np.sqrt(np.sum(weights * (values - mean.value) ** 2) / weights.sum() / 5)
    assert mean.high95 - mean.value == pytest.approx(stats.t.ppf(0.975, 5) * se, rel=1e-3)


def test_sleepers_spread_as_lme4_has_it():
    """`sleepstudy` (Belenky 2003; lme4's published output): slope 10.467, its s.e. 1.546, s.d. between subjects 5.922.

    All 18 subjects were seen on the same ten days. Then a slope of each, of the standard uncertainty that the residual
    s.d. 25.592 gives it, says what the mixed model of all days does; the last digits are those of the rounded 25.592.
    """
    data = pd.read_csv(REFERENCE / "statistics" / "sleepstudy.csv")
    days = np.arange(10.0)
    slopes = np.array([stats.linregress(days, own["Reaction"]).slope for _, own in data.groupby("Subject")])
    own_u = np.full(18, 25.592 / np.sqrt(np.sum((days - days.mean()) ** 2)))
    weights, mean, sd, se = random_effects(slopes, own_u)
    assert weights == pytest.approx(np.full(18, 1 / 18))
    assert (mean, sd, se) == pytest.approx((10.467, 5.922, 1.546), abs=6e-4)


# Differences; mean, s.e. and 95 % interval. Student 1908 (data from memory; t 4.0621 computed with scipy). Bland and
# Altman 1986, Lancet 327:307, peak flow by two meters: the data and the interval of the bias stand in test files of
# several packages.
PAIRS = {
    "Student": ([1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4], 1.58, 1.58 / 4.0621, (0.700114, 2.459886)),
    "Bland and Altman": (
        np.subtract(
            [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427],
            [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451],
        ),
        -2.117647, 38.765130 / np.sqrt(17), (-22.05, 17.81),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", PAIRS)
def test_published_differences_have_their_published_interval(name):
    """Without measurement errors; the plain t, as of spreads that are not skewed."""
    differences, mean, se, interval = PAIRS[name]
    values = np.asarray(differences, dtype=float)
    _, found, _, found_se = random_effects(values, np.zeros(len(values)))
    assert (found, found_se) == pytest.approx((mean, se), rel=1e-5)
    ends = found - found_se * _pivot(len(values), 0.0, np.array([0.975, 0.025]))
    assert ends == pytest.approx(interval, abs=0.005)


def test_errors_that_all_rides_share_do_not_shrink():
    values = np.random.default_rng(1).normal(5, 0.05, 400)
    shared = Errors(np.zeros(400), rectangular=(np.full(400, 0.2),))
    mean, _, shared_u = mean_of_rides(values, shared)
    assert shared_u == pytest.approx(0.2, rel=0.01)
    # 95 % of a rectangular distribution of half-width 0.2 root 3
    assert (mean.high95 - mean.low95) / 2 == pytest.approx(0.95 * 0.2 * np.sqrt(3), rel=0.02)
    split = Errors(np.zeros(400), low=np.full(400, 0.1), high=np.full(400, 0.3))
    mean = mean_of_rides(values, split)[0]
    assert (mean.high95 - mean.value) / (mean.value - mean.low95) == pytest.approx(3, rel=0.05)


def counted(quantity, seed, n_bikes=500):
    """How often the interval holds the mean of a bike's population of rides: half of the spreads are skewed."""
    rng = np.random.default_rng(seed)
    column = {"recovered_pct": "energy_recovered_pct", "captured_pct": "braking_captured_pct"}[quantity]
    held = 0
    for at in range(n_bikes):
        n, truth, cv = int(rng.integers(5, 41)), rng.uniform(2, 12), rng.uniform(0.1, 0.5)
        log_sd = np.sqrt(np.log1p(cv**2))
        shape = (1 + min(cv, 0.4) * rng.normal(size=n), np.exp(rng.normal(-(log_sd**2) / 2, log_sd, n)))[at % 2]
        own, zero = rng.uniform(0.02, 0.3, n), rng.uniform(0.01, 0.05) * truth
        values = truth * shape
        if quantity == "recovered_pct":
            values = values + own * rng.normal(size=n) + zero * np.sqrt(3) * rng.uniform(-1, 1)
            frame = rides(values, np.hypot(own, zero), column, u_zero_pct=zero)
        else:
            relative = rng.uniform(0.03, 0.15)
            frame = rides(values * (1 + relative * rng.normal()), relative * values, column)
        mean = own_figure(frame, quantity).mean
        held += mean.low95 <= truth <= mean.high95
    return held / n_bikes


@pytest.mark.parametrize(("quantity", "seed"), [("recovered_pct", 11), ("captured_pct", 12)])
def test_the_interval_holds_the_mean_of_the_bikes_rides(quantity, seed):
    assert 0.93 <= counted(quantity, seed) <= 0.97


def test_an_interval_without_the_shared_error_would_be_too_narrow():
    """The count above can fail: the same bikes, their shared error not told."""
    rng = np.random.default_rng(13)
    held = 0
    for _ in range(200):
        values = 5 + rng.normal(0, 0.2, 40) + 0.2 * np.sqrt(3) * rng.uniform(-1, 1)
        mean = own_figure(rides(values, 0.05), "recovered_pct").mean
        held += mean.low95 <= 5 <= mean.high95
    assert held < 0.6 * 200


def test_under_three_rides_there_is_not_enough():
    assert own_figure(rides([5, 6]), "recovered_pct") is None
    assert own_figure(rides([5, 6, np.nan]), "recovered_pct") is None
    assert own_figure(rides([5, 6, 7]), "recovered_pct").rides == 3
    with pytest.raises(ValueError, match="no quantity of a bike"):
        own_figure(rides([5, 6, 7]), "speed")


def test_months_and_bands_of_air_temperature():
    month = ["2026-01"] * 4 + ["2026-06"] * 4 + ["unknown"]
    frame = rides(
        [4, 4.2, 3.9, 4.1, 6, 6.1, 5.9, 6.2, 5], month=month, air_temperature_c=[-3, -2, 1, 2, 24, 25, 26, 19, 9]
    )
    figure = own_figure(frame, "recovered_pct")
    assert [(part.name, part.rides) for part in figure.months] == [("2026-01", 4), ("2026-06", 4)]
    assert figure.months[0].mean.value == pytest.approx(4.05, abs=0.01)
    assert [(part.name, part.rides) for part in figure.air] == [("..0", 2), ("0..10", 3), ("10..20", 1), ("20..", 3)]
    assert figure.air[0].mean is None


def test_bounds_stay_where_the_quantity_lives():
    assert own_figure(rides([0.0, 0.1, 1.5]), "recovered_pct").mean.low95 == 0
    assert own_figure(rides([95, 99, 80], 1, "braking_captured_pct"), "captured_pct").mean.high95 == 100


def test_rides_without_any_return_count_where_other_rides_tell_so():
    frame = rides([5, 6, 7, np.nan], can_show_return=[True] * 3 + [False], log_layout="x")
    assert own_figure(frame, "recovered_pct").rides == 4
    assert own_figure(frame, "recovered_pct").mean.value < 5
    assert own_figure(frame.assign(log_layout=["x", "x", "x", "y"]), "recovered_pct").rides == 3
