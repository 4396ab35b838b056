"""A device's own counters against its samples; totals are worked by hand."""

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.rest import Rest
from ridelog.analysis.quality.counters import (
    Counter,
    break_mask,
    compare_counter,
    counter_findings,
    counter_steps,
    counters_alone,
)

HOUR_S = 3600
REST = Rest(mean_a=0.0, noise_a=0.0, n=100, resolution_a=0.01, duration_s=100.0)


def an_hour(current_a):
    """An hour at 1 Hz of a current given for each sample, and the charge drawn and returned so far [Ah]."""
    time_s = np.arange(HOUR_S + 1.0)
    current = np.broadcast_to(current_a, HOUR_S + 1).astype(float)
    middle = (current[1:] + current[:-1]) / 2 / 3600
    drawn, returned = (np.concatenate(([0.0], np.cumsum(np.clip(way * middle, 0, None)))) for way in (1, -1))
    return time_s, current, drawn, returned


def floored(values, step):
    """As a counter shows them that counts whole steps."""
    return np.floor(values / step + 1e-9) * step


def test_a_counter_is_read_where_its_last_digit_changes():
    """By hand: steps of 0.1 at the samples 2, 4 and 5."""
    at, step = counter_steps(np.array([0.0, 0.0, 0.1, np.nan, 0.2, 0.3]))
    assert at.tolist() == [2, 4, 5]
    assert step == pytest.approx(0.1)


@pytest.mark.parametrize("counter", [[], [1.0], [np.nan, np.nan]])
def test_a_counter_of_less_than_two_values_tells_nothing(counter):
    at, _ = counter_steps(np.array(counter))
    assert len(at) == 0


def test_a_reset_and_a_leap_are_no_counting():
    """1 A for 5 s between changes is 0.0014 Ah; back to 0, and 3 Ah at once, are neither."""
    counter = np.array([5.0, 5.01, 0.0, 0.01, 3.01, 3.02])
    time_s = 36.0 * np.arange(6)
    broken = break_mask(time_s, counter, np.arange(6), 0.01, 1.0, falls=False)
    assert broken.tolist() == [False, True, False, True, False]


def test_a_true_counter_agrees():
    """10 A for an hour: 10 Ah."""
    time_s, current, drawn, _ = an_hour(10.0)
    count = compare_counter(time_s, current, Counter("drawn", "Ah", floored(drawn, 0.1)), REST)
    assert count.summed == pytest.approx(9.9, abs=0.1)  # from the first change to the last
    assert count.counted == pytest.approx(count.summed, abs=0.05)
    assert count.agrees
    assert count.tells
    assert not count.is_net


def test_a_counter_that_is_a_tenth_off_disagrees():
    time_s, current, drawn, _ = an_hour(10.0)
    count = compare_counter(time_s, current, Counter("drawn", "Ah", floored(1.1 * drawn, 0.01)), REST)
    assert count.counted / count.summed == pytest.approx(1.1, abs=0.005)
    assert not count.agrees


def test_a_counter_of_what_was_drawn_that_takes_off_what_came_back_is_known():
    """8 A out for 50 s, 8 A in for 10 s, all hour: drawn 6.7 Ah, net 5.3 Ah."""
    swing = np.where(np.arange(HOUR_S + 1) % 60 < 50, 8.0, -8.0)
    time_s, current, drawn, returned = an_hour(swing)
    count = compare_counter(time_s, current, Counter("drawn", "Ah", floored(drawn - returned, 0.001)), REST)
    assert count.is_net
    assert not count.agrees
    count = compare_counter(time_s, current, Counter("net", "Ah", floored(drawn - returned, 0.001)), REST)
    assert count.agrees


def test_a_log_without_counters_has_no_finding():
    frame = pd.DataFrame({"current_a": np.full(100, 5.0)}, index=pd.Index(np.arange(100.0), name="time_s"))
    assert counter_findings("log.csv", frame, REST) == []


def test_each_counter_of_a_log_is_held_against_its_samples():
    """Ah that fit and Wh that are half of what flowed."""
    time_s, current, drawn, _ = an_hour(10.0)
    frame = pd.DataFrame(
        {
            "current_a": current,
            "voltage_v": 50.0,
            "drawn_counter_ah": floored(drawn, 0.01),
            "drawn_counter_wh": floored(25 * drawn, 0.1),
        },
        index=pd.Index(time_s, name="time_s"),
    )
    assert [f.code for f in counter_findings("log.csv", frame, REST)] == ["counters-disagree", "counters-agree"]


def counted_alone(**counters):
    index = pd.Index(np.arange(HOUR_S + 1.0), name="time_s")
    return counters_alone("log.csv", pd.DataFrame(counters, index=index))


def test_counters_without_a_current_are_told_as_they_stand():
    """7 Ah out and 0.7 Ah in, from counters that begin somewhere and start again once."""
    way = np.linspace(0, 1, HOUR_S + 1)
    drawn, returned = 3 + 7 * way, 1.2 + 0.7 * way
    drawn[HOUR_S // 2 :] -= drawn[HOUR_S // 2]
    (found,) = counted_alone(drawn_counter_ah=drawn, returned_counter_ah=returned)
    assert found.facts["drawn_ah"] == pytest.approx(7.0, abs=0.003)
    assert found.facts["returned_ah"] == pytest.approx(0.7, abs=0.001)
    assert found.facts["share_pct"] == pytest.approx(10.0, abs=0.01)
    assert found.facts["drawn_wh"] is None


@pytest.mark.parametrize("drawn", [np.full(HOUR_S + 1, 4.0), np.full(HOUR_S + 1, np.nan)], ids=["still", "unknown"])
def test_counters_that_say_nothing_are_not_told(drawn):
    assert counted_alone(drawn_counter_ah=drawn, returned_counter_ah=np.linspace(0, 1, HOUR_S + 1)) == []


def test_one_counter_tells_no_share():
    assert counted_alone(drawn_counter_ah=np.linspace(0, 7, HOUR_S + 1)) == []
