"""How full to start: published factors, the promise counted."""

import numpy as np
import pandas as pd
import pytest

from ridelog.fleet.history.bike.start_charge import start_charge, tolerance_factor


def rides(headroom_ah, u=0.0):
    value = np.asarray(headroom_ah, dtype=float)
    return pd.DataFrame(
        {
            "pack_start_charge_headroom_ah": value,
            "pack_start_charge_headroom_ah_low95": value - 1.96 * u,
            "pack_start_charge_headroom_ah_high95": value + 1.96 * u,
        }
    )


@pytest.mark.parametrize(("n", "factor"), [(10, 2.911), (20, 2.396), (30, 2.220)])
def test_factors_are_those_of_the_table(n, factor):
    # Natrella 1963, NBS Handbook 91, table A-7: 95 % covered with 95 % confidence, one-sided (from memory)
    assert tolerance_factor(n) == pytest.approx(factor, abs=5e-4)


def test_the_handbooks_worked_example():
    # NIST/SEMATECH e-Handbook 7.2.6.3: n = 43, 90 % covered, 99 % confidence: 1.8740 exactly (from memory)
    assert tolerance_factor(43, 0.90, 0.99) == pytest.approx(1.8740, abs=5e-5)


@pytest.mark.parametrize("shape", ["normal", "gamma", "log-normal"])
def test_95_of_100_rides_fit_in_95_of_100_cases(shape):
    rng = np.random.default_rng(5)
    draw = {
        "normal": lambda n: np.abs(rng.normal(1, 0.2, n)),
        "gamma": lambda n: rng.gamma(4, 0.25, n),
        "log-normal": lambda n: np.exp(rng.normal(0, 0.5, n)),
    }[shape]
    needed = float(np.quantile(draw(200_000), 0.95))
    enough = [start_charge(rides(draw(int(rng.integers(5, 30)))), 14.0).headroom_ah >= needed for _ in range(500)]
    assert np.mean(enough) >= 0.93


def test_the_start_is_what_the_headroom_leaves():
    told = start_charge(rides([0.5, 0.6, 0.55, 0.7, 0.65, 0.6]), 14.0)
    assert told.most_seen_ah == 0.7
    assert told.headroom_ah > 0.7
    assert told.start_pct == pytest.approx(100 * (1 - told.headroom_ah / 14))
    assert 93 < told.start_pct < 95
    assert start_charge(rides([0.5, 0.6, 0.55, 0.7, 0.65, 0.6], 0.05), 14.0).headroom_ah > told.headroom_ah


def test_a_route_that_returns_nothing_beyond_its_start_may_start_full():
    assert start_charge(rides([0.0] * 6), 14.0).start_pct == 100


def test_more_than_the_pack_holds_is_never_told():
    assert start_charge(rides([1, 9, 2, 13, 4.0]), 10.0).start_pct == 0


def test_few_rides_promise_nothing():
    assert start_charge(rides([0.5] * 4), 14.0) is None
    assert start_charge(rides([0.5, np.nan, 0.4, 0.5, 0.5]), 14.0) is None
