"""What cancels within the steps of an averaged log, against waveforms whose means are known in closed form."""

import numpy as np
import pytest

from ridelog.analysis.electrical.means import hidden


def means(integral, step_s: float, phase_s: float, until_s: float) -> np.ndarray:
    """Means over each step, from the waveform's integral."""
    edges = np.arange(phase_s, until_s, step_s)
    return np.diff(integral(edges)) / step_s


def lost(rate: np.ndarray, returned: float, step_s: float) -> float:
    """What the means do not show of what came back [A·s]."""
    return returned - float(np.maximum(-rate, 0).sum()) * step_s


def triangle(at_s: np.ndarray) -> np.ndarray:
    """Integral of a current along straight lines of ± 1 A/s between +10 A and −10 A, period 40 s, from 0 A rising."""
    phase = np.mod(at_s, 40.0)
    rising, falling = phase**2 / 2, 100 - (phase - 20) ** 2 / 2
    return np.where(phase < 10, rising, np.where(phase < 30, falling, (phase - 40) ** 2 / 2))


def square(at_s: np.ndarray) -> np.ndarray:
    """Integral of a current that jumps between +10 A for 8.3 s and −5 A for 4.1 s."""
    whole, phase = np.divmod(at_s, 12.4)
    return whole * (83.0 - 20.5) + np.where(phase < 8.3, 10 * phase, 83.0 - 5 * (phase - 8.3))


def test_along_straight_lines_what_cancels_is_put_back():
    """A triangle wave of 1 A/s read as means over 1 s: over all phases 1/24 A·s a turn is put back.

    By hand: a step whose mean is x hides (1/2 − |x|)²/2 A·s, x uniform in ± 1/2 A; its mean is 1/24.
    """
    found = []
    for phase_s in np.arange(0.0, 1.0, 0.05):
        rate = means(triangle, 1.0, phase_s, 4001.0 + phase_s)
        found.append(float(hidden(rate, np.ones(len(rate) - 1, dtype=bool)).best.sum()))
    assert np.mean(found) / 200 == pytest.approx(1 / 24, rel=0.10)  # the usual sharpness adds a little


def test_a_log_of_jumps_shows_that_it_is_sharp():
    """Of a square wave nearly all that jumps can hide is put back, and the truth lies within the stated spread."""
    errors = []
    for phase_s in np.arange(0.0, 1.0, 0.1):
        rate = means(square, 1.0, phase_s, 6000.0)
        result = hidden(rate, np.ones(len(rate) - 1, dtype=bool))
        span_s = np.array([phase_s, phase_s + len(rate)])
        positive = np.diff(square(span_s))[0]
        whole, phase = np.divmod(span_s, 12.4)
        returned = float(np.diff(whole * 20.5 + np.maximum(phase - 8.3, 0.0) * 5)[0])
        assert positive == pytest.approx(rate.sum())
        hidden_as = lost(rate, returned, 1.0)
        step_h = np.full(len(rate) - 1, 1.0 / 3600)
        common_as = 3600 * np.linalg.norm(result.in_common(step_h)[:, -1])
        errors.append((float(result.best.sum()) - hidden_as) / common_as)
        assert result.best.sum() > 0.5 * result.most.sum()
    assert np.max(np.abs(errors)) < 2


def test_nothing_is_told_of_a_turn_next_to_missing_samples():
    """A step that spans missing samples says nothing of how the current turned."""
    rate = np.array([5.0, 5.0, 0.5, -5.0, -5.0])
    assert hidden(rate, np.ones(4, dtype=bool)).most.sum() > 0
    assert hidden(rate, np.array([True, True, False, True])).most.sum() == 0


def test_a_log_without_return_hides_nothing():
    """Where the current never turns nothing is put back and nothing is unsure."""
    rate = np.linspace(1.0, 9.0, 50)
    result = hidden(rate, np.ones(49, dtype=bool))
    assert result.best.sum() == result.most.sum() == result.coarse.sum() == result.sharpness_u == 0
