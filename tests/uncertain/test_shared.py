"""Effects of shared errors against closed forms: linear models, and the normal distribution told by measurement."""

import numpy as np
import pytest

from ridelog.uncertain.shared import OWN, SharedError, shared_effects

M = 4000
RNG = np.random.default_rng(20_261)
A, B = (SharedError.drawn(RNG.uniform(-1, 1, M)) for _ in range(2))
NOISE = RNG.standard_normal(M)


def test_the_effects_on_a_straight_line_are_its_factors_times_the_standard_uncertainties():
    """3 a - 2 b, rectangular ± 1: ± 1/√3 each (JCGM 100, 4.3.7), to the last digits for the trials' own spread."""
    effects = shared_effects(7.0 + 3 * A.trials - 2 * B.trials, {"a": A, "b": B})
    assert effects["a"] == pytest.approx(3 * A.u, rel=1e-9)
    assert effects["b"] == pytest.approx(-2 * B.u, rel=1e-9)
    assert A.u == pytest.approx(1 / np.sqrt(3), rel=0.02)


def test_what_is_left_is_the_rides_own():
    effects = shared_effects(3 * A.trials + 0.5 * NOISE, {"a": A, "b": B})
    assert effects[OWN] == pytest.approx(0.5, rel=4 / np.sqrt(2 * M))
    assert effects["a"] == pytest.approx(3 / np.sqrt(3), abs=4 * 0.5 / np.sqrt(M) + 3 * 0.02)
    assert abs(effects["b"]) < 4 * 0.5 / np.sqrt(M)


def test_an_error_that_acts_on_nothing_and_one_that_does_not_vary_leave_everything_the_rides_own():
    still = SharedError(np.ones(M), 0.0)
    effects = shared_effects(2 * NOISE, {"still": still})
    assert effects == {OWN: pytest.approx(2.0, rel=4 / np.sqrt(2 * M))}
    assert shared_effects(np.full(M, 4.0), {"a": A}) == {OWN: 0.0}


def test_the_difference_by_the_effects_is_that_of_the_trials():
    """Two numbers of one logger, trial by trial of the same errors: what they share cancels as far as it is alike."""
    first, second = 3 * A.trials - 2 * B.trials, 2.5 * A.trials + 1 * B.trials
    both = [shared_effects(number, {"a": A, "b": B}) for number in (first, second)]
    by_effects = np.hypot(*(both[1][name] - both[0][name] for name in "ab"))
    assert by_effects == pytest.approx((second - first).std(), rel=0.03)  # chance: a and b go together by 1/√M
    assert by_effects < 0.9 * np.hypot(first.std(), second.std())


# --- what a ride tells of an error by itself, in the normal distribution ----------------------------------------------

S = 0.5  # standard uncertainty of each ride's own measurement of an error that was N(0, 1) before


def told(precision: np.ndarray) -> dict[str, SharedError]:
    """Trials of two errors as N(0, 1) each and a ride's measurement leave them, exactly of that covariance."""
    covariance = np.linalg.inv(np.eye(2) + precision)
    drawn = np.random.default_rng(5).standard_normal((2, M))
    drawn -= drawn.mean(axis=1, keepdims=True)
    white = np.linalg.solve(np.linalg.cholesky(np.cov(drawn, bias=True)), drawn)
    trials = np.linalg.cholesky(covariance) @ white
    return {name: SharedError(row, 1.0) for name, row in zip("ab", trials, strict=True)}


def errors_of_two_rides(precision: np.ndarray, seen: np.ndarray) -> np.ndarray:
    """By simulation: errors of the means of two rides that measure the same truth, each by itself, shape (2, 2, n).

    The posterior mean of a normal error is S times what was measured (Bishop, Pattern Recognition and Machine Learning,
    2006, 2.113 to 2.117, from memory).
    """
    rng = np.random.default_rng(9)
    truth = rng.standard_normal((2, 100_000))
    covariance = np.linalg.inv(np.eye(2) + precision)
    read = [seen @ truth + S * rng.standard_normal((len(seen), truth.shape[1])) for _ in range(2)]
    return np.array([covariance @ seen.T @ each / S**2 - truth for each in read])


@pytest.mark.parametrize("seen", [[[1.0, 0.0]], [[1.0, 1.0]], [[1.0, 0.0], [0.5, 1.0]]], ids=["a", "a + b", "both"])
@pytest.mark.parametrize("factors", [(1.0, 0.0), (2.0, -1.0)])
def test_two_rides_that_told_an_error_by_themselves_share_only_what_was_known_before(seen, factors):
    """The difference and the sum of two numbers by effects and own parts, against rides simulated a hundred thousand
    times: 1 % is 4 standard deviations of such a spread."""
    seen = np.array(seen)
    precision = seen.T @ seen / S**2
    errors = told(precision)
    number = sum(factor * errors[name].trials for factor, name in zip(factors, "ab", strict=True))
    effects = shared_effects(number, errors, chosen=("a", "b"))
    off = np.tensordot(factors, errors_of_two_rides(precision, seen), axes=(0, 1))  # of each ride's number
    assert np.sqrt(2) * effects[OWN] == pytest.approx((off[1] - off[0]).std(), rel=0.01)
    both = np.sqrt(2 * effects[OWN] ** 2 + 4 * (effects["a"] ** 2 + effects["b"] ** 2))
    assert both == pytest.approx((off[1] + off[0]).std(), rel=0.01)


def test_errors_that_were_drawn_go_together_by_chance_alone_which_does_not_count():
    a = RNG.standard_normal(M)
    near = SharedError.drawn(a + 0.2 * A.trials)
    assert shared_effects(a, {"a": SharedError.drawn(a), "near": near})["near"] == pytest.approx(0.0, abs=1e-9)
    chosen = shared_effects(a, {"a": SharedError.drawn(a), "near": near}, chosen=("a", "near"))
    assert chosen["near"] == pytest.approx(1.0, rel=0.02)
