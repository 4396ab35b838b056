"""What cancels within the steps of an averaged log, against waveforms whose means are known in closed form."""

import numpy as np
import pytest

from ridelog.analysis.electrical.means import hidden


def means(integral, step_s: float, phase_s: float, until_s: float) -> np.ndarray:
    """Means over each step from the waveform's integral; the first row only begins the first step."""
    edges = np.arange(phase_s, until_s, step_s)
    found = np.diff(integral(edges)) / step_s
    return np.concatenate((found[:1], found))


def told(rate: np.ndarray, step_s: float, whole=None) -> tuple[float, float, float]:
    """What is told of it, in A·s: best value and its 95 % bounds, of normal numbers for what all turns share."""
    steps = np.full(len(rate) - 1, step_s)
    found = hidden(rate, steps / 3600, np.ones(len(steps), dtype=bool) if whole is None else whole)
    best, own_u = float(found.best[-1]), float(np.sqrt(found.variances[-1]))
    rng = np.random.default_rng(3)
    trials = best * found.shared(rng.standard_normal(20_000)) + own_u * rng.standard_normal(20_000)
    return 3600 * best, *(3600 * np.quantile(trials, [0.025, 0.975])).tolist()


def triangle(at_s: np.ndarray) -> np.ndarray:
    """Integral of a current along straight lines of ± 1 A/s between +10 A and −10 A, period 40 s, from 0 A rising."""
    phase = np.mod(at_s, 40.0)
    rising, falling = phase**2 / 2, 100 - (phase - 20) ** 2 / 2
    return np.where(phase < 10, rising, np.where(phase < 30, falling, (phase - 40) ** 2 / 2))


def square(at_s: np.ndarray) -> np.ndarray:
    """Integral of a current that jumps between +10 A for 8.3 s and −5 A for 4.1 s."""
    whole, phase = np.divmod(at_s, 12.4)
    return whole * (83.0 - 20.5) + np.where(phase < 8.3, 10 * phase, 83.0 - 5 * (phase - 8.3))


def square_back(at_s: np.ndarray) -> np.ndarray:
    """What came back of it up to a moment."""
    whole, phase = np.divmod(at_s, 12.4)
    return whole * 20.5 + np.maximum(phase - 8.3, 0.0) * 5


def test_along_straight_lines_what_cancels_is_put_back():
    """A triangle wave of 1 A/s read as means over 0.983 s, which is at no turn where it was at another.

    By hand: a step of 1 s whose mean is x hides (1/2 − |x|)²/2 A·s, x uniform in ± 1/2 A; its mean is 1/24, and goes
    with the square of the step. Doubling the step hides 3/24 more, and doubling again 12/24 more than that: the log
    says 3/24 over 15/3 − 1, three quarters of the truth. What is usual at such a growth is eight times as much, and
    weighs 7.6 turns against some hundred: 8 to the power of 0.07, 1.16 of it. The rest lies within the interval.
    """
    step_s, n_turns = 0.983, 200
    best, low, high = told(means(triangle, step_s, 0.0, 4001.0), step_s)
    assert best / n_turns == pytest.approx(1.16 * 0.75 * step_s**2 / 24, rel=0.1)
    assert low / n_turns < step_s**2 / 24 < high / n_turns


def test_what_jumps_hide_is_put_back_within_what_is_told_of_it():
    """Of a square wave every turn of which is a jump the interval holds the truth, twice the best value, at each phase.

    By hand: doubling a step hides as much at a jump as the step does, and doubling again twice as much as that.
    """
    for phase_s in np.arange(0.0, 1.0, 0.1):
        rate = means(square, 0.977, phase_s, 6000.0)
        span_s = phase_s + np.array([0.0, 0.977 * (len(rate) - 1)])
        lost = float(np.diff(square_back(span_s))[0]) - 0.977 * float(np.maximum(-rate[1:], 0).sum())
        best, low, high = told(rate, 0.977)
        assert best == pytest.approx(lost / 2, rel=0.15)
        assert low < lost < high


def test_what_a_step_hides_is_told_of_the_step_that_hides_it():
    """Of the square wave each turn by itself: what is told of it is the same share of what it hides, at any mean.

    By hand: the mean of a step that holds the jump says where in it that lies, for the means beside it are the levels.
    Sharing by what doubling the step hides told nothing of a step whose mean lies near zero, which hides the most.
    """
    step_s, phase_s = 0.977, 0.3
    rate = means(square, step_s, phase_s, 6000.0)
    edges = phase_s + step_s * np.arange(len(rate))
    hides = np.diff(square_back(edges)) - step_s * np.maximum(-rate[1:], 0)
    steps = np.full(len(rate) - 1, step_s)
    tells = 3600 * np.diff(hidden(rate, steps / 3600, np.ones(len(steps), dtype=bool)).best)
    turns = np.flatnonzero(hides > 0.2)
    assert len(turns) > 500
    shares = np.array([tells[k - 1 : k + 2].sum() / hides[k] for k in turns])
    assert np.quantile(shares, [0.05, 0.95]) == pytest.approx(np.full(2, shares.mean()), rel=0.25)
    assert np.corrcoef(hides, tells)[0, 1] > 0.95


def test_a_log_of_three_rows_is_told_of_by_its_pair():
    assert told(np.array([5.0, 5.0, -5.0]), 1.0)[0] > 0


def test_nothing_is_told_of_a_turn_next_to_missing_samples():
    """A step that spans missing samples says nothing of how the current turned."""
    rate = np.array([5.0, 5.0, 1.0, -5.0, -4.0, -3.0])
    assert told(rate, 1.0, np.ones(5, dtype=bool))[0] > 0
    assert told(rate, 1.0, np.array([True, False, True, True, True]))[0] == 0


def test_a_jump_between_two_steady_values_hides_nothing():
    """Five steps at 5 A and then five at −5 A: no step holds both; with 1 A between them one may."""
    edge = np.repeat([5.0, -5.0], 5)
    assert told(edge, 1.0)[0] == 0
    assert told(np.insert(edge, 5, 1.0), 1.0)[0] > 0


def test_a_log_without_return_hides_nothing():
    """Where the current never turns nothing is put back and nothing is unsure."""
    assert told(np.linspace(1.0, 9.0, 50), 1.0) == (0.0, 0.0, 0.0)


def test_twice_the_current_hides_twice_as_much():
    """What is hidden scales with the current: nothing in the rule knows how many amperes a bike draws."""
    rate = means(square, 1.0, 0.3, 600.0)
    assert told(2 * rate, 1.0) == pytest.approx(tuple(2 * part for part in told(rate, 1.0)))
