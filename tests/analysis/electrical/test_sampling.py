"""The sampling error of a ride: a window and all that lies outside it add up to the whole, in every trial."""

import itertools

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.electrical.sampling import SamplingErrors, bridge
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection
from ridelog.uncertain.places import MOST_KEPT_BYTES
from ridelog.uncertain.trials import N_TRIALS

END_S = 600.0


def a_flow(*, averaged=False, lost=0.0):
    """Ten minutes at 5 Hz in which the current turns time and again; bursts of a second may be lost."""
    rng = np.random.default_rng(5)
    time_s = np.linspace(0.0, END_S, 3001)
    current = np.round(6 + 10 * np.sin(2 * np.pi * time_s / 12) + rng.normal(0, 0.1, len(time_s)), 2)
    current[(time_s > 200) & (time_s < 240)] = 0.1
    kept = np.repeat(rng.random(-(-len(time_s) // 5)) >= lost, 5)[: len(time_s)]
    kept[[0, -1]] = True
    index = pd.Index(time_s[kept], name="time_s")
    frame = pd.DataFrame({"current_a": current[kept], "voltage_v": 48.0 - 0.1 * current[kept]}, index=index)
    sensor = SensorSection(averaged=averaged)
    return electrical_flow(Recording("log.csv", "log", "csv", frame, None, "elapsed"), sensor=sensor)


FLOWS = {
    "readings": a_flow(),
    "means": a_flow(averaged=True),
    "bursts lost": a_flow(lost=0.05),
    "means, bursts lost": a_flow(averaged=True, lost=0.05),
}


@pytest.mark.parametrize("kind", FLOWS)
@example(cuts=[103.0, 106.0])
@settings(max_examples=20)
@given(cuts=st.lists(st.floats(0.0, END_S), min_size=1, max_size=5))
def test_a_window_and_all_that_lies_outside_it_are_the_whole_in_every_trial(kind, cuts):
    """At random cuts, charge and energy, drawn and returned; 1e-9 of the whole is rounding."""
    flow, marks = FLOWS[kind], sorted({0.0, *cuts, END_S})
    assume(all(end_s - start_s > 1e-3 for start_s, end_s in itertools.pairwise(marks)))  # shorter ones are not told
    windows = [flow.between(*span) for span in itertools.pairwise(marks)]
    for which, way in itertools.product(("charge", "energy"), ("drawn", "returned")):
        parts = [getattr(getattr(window, which), way) for window in windows]
        whole = getattr(getattr(flow.total, which), way)
        assert sum(part.value for part in parts) == pytest.approx(whole.value, rel=1e-9)
        assert np.allclose(sum(part.trials for part in parts), whole.trials, rtol=0, atol=1e-9 * whole.value)


def test_a_moment_lies_between_the_samples_as_on_a_straight_line():
    time_s = np.cumsum(np.random.default_rng(2).uniform(0.01, 1.0, 500))
    at_s = np.concatenate(([time_s[0] - 1, time_s[0], time_s[-1], time_s[-1] + 1], np.linspace(1, time_s[-1], 300)))
    found = SamplingErrors(time_s, np.zeros((3, 500)))._at_samples(at_s)
    assert found == pytest.approx(np.interp(at_s, time_s, np.arange(500.0)), abs=1e-12)


def test_the_rest_of_a_ride_is_as_unsure_as_it_is_by_itself():
    """What came back less what came back in the middle is what came back before and after."""
    flow = FLOWS["readings"]
    middle = flow.between(100.0, 500.0).energy.returned
    apart = flow.between(0.0, 100.0).energy.returned + flow.between(500.0, END_S).energy.returned
    rest = (flow.total.energy.returned - middle).quantity()
    assert (rest.low95, rest.high95) == pytest.approx((apart.quantity().low95, apart.quantity().high95), rel=1e-9)


def running_variances(n=1001):
    """Drawn in the first two thirds, returned in the last two; where both are, they are tied."""
    drawn, returned = np.arange(n) < 2 * n / 3, np.arange(n) > n / 3
    terms = np.stack([2.0 * drawn, 0.5 * returned, -0.6 * (drawn & returned)])
    terms[:, 0] = 0.0
    return np.cumsum(terms, axis=1)


@pytest.mark.parametrize("span", [(0.0, 1000.0), (0.0, 500.0), (400.0, 600.0), (640.0, 641.0), (123.25, 124.0)])
def test_the_variance_of_a_window_is_what_ran_up_in_it(span):
    """To 5 standard deviations of a variance from 4000 trials, √(2/4000) of it; and the covariance as well."""
    time_s, running = np.arange(1001.0), running_variances()
    drawn, returned = SamplingErrors(time_s, running).between(*span)
    var_d, var_r, cov = (float(np.diff(np.interp(span, time_s, row))[0]) for row in running)
    chance = 5 * np.sqrt(2 / N_TRIALS)
    assert drawn.var() == pytest.approx(var_d, rel=chance)
    assert returned.var() == pytest.approx(var_r, rel=chance)
    assert np.mean(drawn * returned) == pytest.approx(cov, abs=chance * np.sqrt(var_d * var_r))


def test_where_nothing_can_go_wrong_nothing_does():
    """Not even by the last bit: nothing is returned in the first third, nothing drawn in the last."""
    errors = SamplingErrors(np.arange(1001.0), running_variances())
    for start in range(0, 330, 7):
        assert not errors.between(start, start + 3.0)[1].any()
    for start in range(670, 1000, 7):
        assert not errors.between(start, start + 3.0)[0].any()


def test_windows_apart_share_nothing():
    """A correlation from 4000 trials is below 5/√4000 in size."""
    errors = SamplingErrors(np.arange(1001.0), running_variances())
    first, second = (errors.between(*span)[0] for span in ((10.0, 20.0), (20.0, 35.0)))
    assert abs(np.corrcoef(first, second)[0, 1]) < 5 / np.sqrt(N_TRIALS)


def test_what_is_asked_later_changes_nothing_and_what_is_kept_is_bounded():
    """To the last bit, whatever was asked in between: more places than are kept."""
    time_s, running = np.arange(4001.0), running_variances(4001)
    errors = SamplingErrors(time_s, running)
    early = errors.between(1234.5, 2001.0)
    starts = np.arange(1.0, 4000.0, 3.0)
    apart = sum(errors.between(start, start + 1) for start in starts)
    late = errors.between(3998.0, 3999.0)
    assert errors.n_kept * 2 * N_TRIALS * 4 <= MOST_KEPT_BYTES < 2 * len(starts) * 2 * N_TRIALS * 4
    assert np.array_equal(errors.between(1234.5, 2001.0), early)
    assert np.array_equal(errors.between(3998.0, 3999.0), late)
    rest = sum(errors.between(start, start + 2) for start in (starts + 1)[:-1]) + errors.between(0.0, 1.0)
    whole = apart + rest + errors.between(3998.0, 4000.0)
    assert whole == pytest.approx(errors.between(0.0, 4000.0), abs=1e-3)


@pytest.mark.parametrize("n_before", [0, 40, 2000])
def test_the_law_of_a_window_is_the_same_whatever_was_asked_before(n_before):
    """Variance to 5 standard deviations, and no correlation with what lies beside it."""
    time_s, running = np.arange(4001.0), running_variances(4001)
    errors = SamplingErrors(time_s, running)
    for start in np.random.default_rng(3).uniform(0.0, 3990.0, n_before):
        errors.between(start, start + 7.0)
    window, beside = (errors.between(*span)[0] for span in ((1234.5, 2001.0), (2001.0, 2100.25)))
    expected = [
        float(np.diff(np.interp(span, time_s, running[0]))[0]) for span in ((1234.5, 2001.0), (2001.0, 2100.25))
    ]
    assert [window.var(), beside.var()] == pytest.approx(expected, rel=5 * np.sqrt(2 / N_TRIALS))
    assert abs(np.corrcoef(window, beside)[0, 1]) < 5 / np.sqrt(N_TRIALS)


def pairs():
    """Covariance matrices of two, as their variances and covariance."""
    numbers = st.floats(-3, 3)
    return st.tuples(numbers, numbers, numbers).map(lambda f: np.array([f[0] ** 2, f[1] ** 2 + f[2] ** 2, f[0] * f[1]]))


@given(before=pairs(), after=pairs())
def test_the_first_of_two_errors_given_their_sum_is_as_sure_as_the_normal_law_says(before, after):
    """The total law: what the sum tells of x and what it leaves make up the variances of x; gain·(A + B) = A."""
    together = before + after
    assume(together[0] * together[1] - together[2] ** 2 > 1e-3)  # tied as good as fully: the next test
    gain, first, second = (np.array(part) for part in bridge(before, after))
    whole, x = (np.array([[v[0], v[2]], [v[2], v[1]]]) for v in (before + after, before))
    assert gain @ whole == pytest.approx(x, abs=1e-6)
    left = np.outer(first, first) + np.outer(second, second)
    assert gain @ whole @ gain.T + left == pytest.approx(x, abs=1e-4)


def test_errors_that_are_one_stay_one():
    """What cancels within means is the same in drawn and returned: half of the sum is in either half, both ways."""
    gain, first, second = bridge(np.full(3, 2.0), np.full(3, 2.0))
    assert np.array(gain) @ [1.0, 1.0] == pytest.approx([0.5, 0.5])
    assert first == pytest.approx((1.0, 1.0))
    assert second == pytest.approx((0.0, 0.0), abs=1e-6)
