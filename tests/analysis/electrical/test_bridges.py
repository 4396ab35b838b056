"""What a straight line across missing samples misses, learnt from the rest of the log."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ridelog.analysis.electrical.bridges import Bridges, BridgeSettings, Readings, bridges, missing_steps
from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.electrical.gaps.trials import Across
from ridelog.analysis.electrical.rest import Rest
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection
from tests.places import REFERENCE

N, N_TRIALS = 3600, 400
REST = Rest(0.0, 100, 100.0, 0.0, 0.0)
NONE = Across(0, 1, lambda _gap: np.zeros((2, 1), dtype=np.float32))


def readings(current_a, lost):
    """A log at 1 Hz without the samples that are lost; its steps across them are bridged."""
    kept = np.ones(N, dtype=bool)
    for first, last in lost:
        kept[first:last] = False
    time_s = np.arange(float(N))[kept]
    steps = np.diff(time_s)
    current = np.asarray(current_a, dtype=float)[kept]
    standing = np.zeros(len(time_s), dtype=bool)
    return Readings(time_s, current, np.ones(len(time_s)), [], standing, steps > 0, steps > 1.5, REST)


def missed(current_a, lost, **how):
    log = readings(current_a, lost)
    return bridges(log.current_a, log, N_TRIALS, **how)


def test_a_log_without_a_gap_misses_nothing():
    found = missed(np.full(N, 5.0), [])
    assert found.best.shape == (0, 2)
    for part in found.within(0, N):
        assert part.tolist() == [[0.0], [0.0]]


@pytest.mark.parametrize("current", [np.full(N, 5.0), np.linspace(-5, 15, N)], ids=["steady", "straight"])
def test_across_a_straight_line_nothing_is_missed(current):
    """The crossing of 0 A apart, at which a step or two of the slope of 5.6 mA/s are clipped."""
    found = missed(current, [(2000, 2010)])
    assert np.abs(found.trials.of(0)).max() < 1e-4


def test_a_stop_that_the_gap_hides_is_put_back_as_it_was_elsewhere():
    """A pulse of −10 A for 4 s in the middle of every 20 s of 5 A; the gap lies over one of them, from 5 A to 5 A.

    By hand: a line over 6 s from 5 to 5 A says 30 As drawn and none returned. Where the log was 5 A on both sides of
    6 s there was mostly no pulse, and sometimes a whole one of 37.5 or 40 As, and nothing else. As often as it was so
    elsewhere it may have been so here.
    """
    current = np.where(np.arange(N) % 20 < 4, -10.0, 5.0)
    every = BridgeSettings(n_near=100, n_alike=100, apart_s=1.0)
    found = missed(current, [(1999, 2004)], settings=every)
    returned = found.trials.of(0)[1] * 3600
    assert found.time_s == pytest.approx([2001.0])
    assert returned.min() == pytest.approx(0.0, abs=6.0)  # to what the mean of a hundred places is unsure by
    assert returned.max() == pytest.approx(40.0, abs=6.0)
    assert np.mean((returned > 8) & (returned < 30)) < 0.01
    assert 0 < np.mean(returned > 30) < 0.5
    drawn = found.trials.of(0)[0] * 3600
    assert np.corrcoef(drawn, returned)[0, 1] < -0.99  # what came back then was not drawn


def test_where_no_place_is_quite_alike_the_nearest_tell_the_mean():
    """Half-waves of 3 to 30 A, 10 s long: the gap of 2 s lies at the top of the highest, between two samples of it.

    By hand: the lost sample is the top, between two of 30·cos(π/10) = 28.5 A. With it the log says 58.5 As for these
    two seconds, without it 57.1. Lower half-waves miss less; a mean over fifty places is drawn towards them.
    """
    time_s = np.arange(float(N))
    height = 3.0 + 27.0 * (np.arange(N) // 40) / (N // 40 - 1)
    current = np.where(time_s % 20 < 10, -height * np.sin(np.pi * (time_s % 20) / 10), 4.0)
    top = [(N - 15, N - 14)]
    found, few = missed(current, top), missed(current, top, settings=BridgeSettings(n_near=50))
    true_as = 30.0 * (1 - np.cos(np.pi / 10))
    near, wide = (float(one.trials.of(0)[1].mean()) * 3600 for one in (found, few))
    assert near == pytest.approx(true_as, rel=0.15)
    assert abs(wide - true_as) > 2 * abs(near - true_as)


def test_only_the_gaps_of_a_window_count_in_it():
    current = np.where(np.arange(N) % 20 < 4, -10.0, 5.0)
    found = missed(current, [(999, 1004), (1999, 2004)])
    for window, bridged in (((0, N), [0, 1]), ((1500, N), [1])):
        best, trials = found.within(*window)
        assert best[:, 0] == pytest.approx(found.best[bridged].sum(axis=0))
        assert trials == pytest.approx(sum(found.trials.of(gap) for gap in bridged))
    assert not any(part.any() for part in found.within(1100, 1900))


def test_in_no_gap_less_than_nothing_flowed_and_all_gaps_together_keep_what_did():
    """By hand: of −1, 4 and 2 Wh with the lines 5 are left; the first gap gets nothing, the others 5/6 of theirs."""
    lines = np.array([[3.0, 0.0], [3.0, 3.0], [3.0, 2.0]])
    best = np.array([[1.0, -1.0], [1.0, 1.0], [1.0, 0.0]])
    held = Bridges(np.arange(3.0), NONE, best).above_nothing(lines)
    assert held.best + lines == pytest.approx(np.array([[4.0, 0.0], [4.0, 4 * 5 / 6], [4.0, 2 * 5 / 6]]))
    less = Bridges(np.arange(3.0), NONE, best - 4.0).above_nothing(lines)
    assert less.best + lines == pytest.approx(np.zeros((3, 2)))


def test_the_same_log_gives_the_same_trials():
    current = 5 * np.sin(np.arange(N) / 7)
    first, second = (missed(current, [(500, 520)]).trials.of(0) for _ in range(2))
    assert np.array_equal(first, second)


def test_a_gap_longer_than_half_the_log_is_like_nothing_in_it():
    found = missed(np.where(np.arange(N) % 20 < 4, -10.0, 5.0), [(500, 3000)])
    assert not found.trials.of(0).any()


REAL_STAMPS_S = {name: np.loadtxt(REFERENCE / "stamps" / f"{name}.csv", skiprows=1) for name in ("v1", "v5", "v10")}


def charge_of(time_s, current_a, *, averaged):
    """Drawn and returned charge of a steady current by a faultless sensor [A·s]."""
    frame = pd.DataFrame({"current_a": current_a}, index=pd.Index(time_s, name="time_s"))
    sensor = SensorSection(
        current_zero_limit_a=0.0, current_gain_limit_pct=0.0, charge_gain_limit_pct=0.0, averaged=averaged
    )
    log = Recording("log.csv", "log", "csv", frame, None, "elapsed", can_show_return=True)
    flowed = electrical_flow(log, sensor=sensor, gap_limit_s=1e9).total.charge
    return flowed.drawn.quantity(), flowed.returned.quantity()


def steady_comes_out_exactly(time_s, steady_a, *, averaged):
    charge_ah = abs(steady_a) * float(time_s[-1] - time_s[0]) / 3600
    drawn, returned = charge_of(time_s, np.full(len(time_s), steady_a), averaged=averaged)
    flowed, other = (drawn, returned) if steady_a > 0 else (returned, drawn)
    for number in (flowed.value, flowed.low95, flowed.high95):
        assert number == pytest.approx(charge_ah, rel=1e-9)
    assert other.value == pytest.approx(0.0, abs=1e-12)  # pulses shorter than a step may be unseen: its upper bound


@pytest.mark.parametrize("averaged", [False, True])
@pytest.mark.parametrize("steady_a", [10.0, -3.7])
@pytest.mark.parametrize("name", REAL_STAMPS_S)
def test_a_steady_current_at_the_stamps_of_real_logs_comes_out_exactly(name, steady_a, averaged):
    """10 A read at irregular stamps is 10 A times the time, and nothing is unsure of it."""
    steady_comes_out_exactly(REAL_STAMPS_S[name], steady_a, averaged=averaged)


@settings(max_examples=40)
@given(
    steps=st.lists(st.integers(1, 60), min_size=20, max_size=120),
    steady_a=st.floats(-50, 50).filter(lambda a: abs(a) > 1.5),
    averaged=st.booleans(),
)
def test_a_steady_current_at_any_stamps_comes_out_exactly(steps, steady_a, averaged):
    """Steps of 0.1 to 6 s in any order."""
    time_s = np.concatenate(([0.0], np.cumsum(np.array(steps) / 10)))
    steady_comes_out_exactly(time_s, steady_a, averaged=averaged)


def test_uneven_steps_are_sampling_and_only_the_long_ones_span_missing_samples():
    """Real stamps have nine of ten steps up to 1.1 s; of them 1 to 4 in 100 are longer than one and a half of that."""
    for stamps_s in REAL_STAMPS_S.values():
        mask = missing_steps(stamps_s, np.ones(len(stamps_s) - 1, dtype=bool))
        assert 0.005 < mask.mean() < 0.04
        assert np.diff(stamps_s)[mask].min() > 1.4


def test_many_gaps_are_told_as_few_are(monkeypatch):
    """Of forty gaps all are held, or five and those after them in sums of three; a tree finds the same places."""
    current = np.round(6 * np.sin(np.arange(N) / 9) * (np.arange(N) % 97 < 70), 1)
    lost = [(first, first + 3 + first % 5) for first in range(60, N - 60, 88)]
    held = missed(current, lost)
    monkeypatch.setattr("ridelog.analysis.electrical.gaps.trials.MOST_HELD", 5)
    monkeypatch.setattr("ridelog.analysis.electrical.gaps.trials.TOGETHER", 3)
    monkeypatch.setattr("ridelog.analysis.electrical.gaps.places.MOST_LOOKED_AT", 0)
    others = missed(current, lost)
    assert np.array_equal(others.best, held.best)
    for gap in range(len(lost)):
        assert np.array_equal(others.trials.of(gap), held.trials.of(gap))
    for window in ((0, N), (0, 400), (700, 2000), (1000, 1100), (N, N + 9)):
        for one, other in zip(others.within(*window), held.within(*window), strict=True):
            assert one == pytest.approx(other, rel=1e-12, abs=1e-15)
