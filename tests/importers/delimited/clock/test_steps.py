"""Sample times are made to increase without losing more than need be; expected times are worked by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from ridelog.errors import InputError
from ridelog.importers.delimited.clock.steps import steady


def made(times_s, **more):
    return steady(np.asarray(times_s, dtype=float), "b.csv", lambda row: row + 2, **more)


def codes(result) -> list[str]:
    return [finding.code for finding in result.findings]


def test_increasing_times_are_left_alone():
    result = made([5, 6, 7.5])
    assert result.time_s.tolist() == [0, 1, 2.5]
    assert result.first_s == 5
    assert result.findings == ()


def test_a_day_s_end_is_passed():
    result = made([86398, 86399, 0, 1, 2], wraps_s=(86400.0,))
    assert result.time_s.tolist() == [0, 1, 2, 3, 4]
    assert codes(result) == ["clock-wrapped"]


def test_stamps_of_two_seconds_hold_their_samples_evenly():
    """Four samples to each stamp of 2 s are 0.5 s apart; of the first stamp only the last two were logged."""
    result = made([0, 0, 2, 2, 2, 2, 4, 4, 4, 4, 6, 6, 6, 6, 8, 8])
    assert result.time_s == pytest.approx(0.5 * np.arange(16))
    assert result.first_s == 1.0
    assert codes(result) == ["time-spread"]


def test_a_gap_between_coarse_stamps_stays_a_gap():
    """Between the stamps 2 s and 10 s nothing was logged, and nothing is put there."""
    result = made([0, 0, 1, 1, 2, 2, 10, 10, 11, 11])
    assert result.time_s == pytest.approx([0, 0.5, 1, 1.5, 2, 2.5, 10, 10.5, 11, 11.5])


def test_a_stamp_cut_off_to_the_second_before_costs_no_sample():
    """A 1 Hz logger that wakes late now and then stamps one second twice and skips the next."""
    times = np.arange(40.0)
    times[5::10] -= 1
    result = made(times)
    assert len(result.rows) == 40
    assert codes(result) == ["time-spread"]


def test_rows_written_twice_are_dropped_not_spread():
    times = np.repeat(np.arange(30.0), 2)
    twice = np.tile([False, True], 30)
    result = made(times, same_as_before=twice)
    assert result.time_s.tolist() == list(range(30))
    assert codes(result) == ["rows-repeated"]


def test_a_single_stamp_far_ahead_costs_one_row():
    times = np.arange(100.0)
    times[40] = 1e6
    result = made(times)
    assert len(result.rows) == 99
    assert 40 not in result.rows


def test_a_few_rows_from_before_the_clock_was_set_are_dropped():
    result = made([900, 901, *range(100)])
    assert result.rows.tolist() == list(range(2, 102))
    assert codes(result) == ["clock-backward"]


def test_rows_without_a_time_are_dropped_and_counted():
    times = np.arange(50.0)
    times[[3, 7]] = np.nan
    result = made(times)
    assert len(result.rows) == 48
    assert result.findings[0].facts == {"file": "b.csv", "n_lost": 2, "n_all": 50, "of": "row"}


def test_a_gap_of_days_is_said():
    assert codes(made([0, 1, 2, 2 * 86400, 2 * 86400 + 1])) == ["clock-leap"]


@pytest.mark.parametrize(("back_s", "hinted"), [(3599.0, True), (3600.0, True), (1800.0, False)])
def test_a_clock_that_goes_back_an_hour_may_have_left_summer_time(back_s, hinted):
    """Local time without zone goes back from 3:00 to 2:00 when summer time ends; a restart goes back by any time."""
    times_s = np.arange(10000.0)
    times_s[8000:] -= back_s + 1
    with pytest.raises(InputError, match="line 8002: the clock starts again") as caught:
        made(times_s)
    assert caught.value.hint.startswith("did summer time end there?") == hinted


def test_hardly_any_time_is_refused():
    with pytest.raises(InputError, match=r"b\.csv, line 3: 3 of 4 rows have no time that can be read"):
        made([0, np.nan, np.nan, np.nan])


@given(arrays(float, st.integers(1, 80), elements=st.one_of(st.integers(0, 40).map(float), st.just(np.nan))))
def test_times_increase_strictly_or_are_refused(times):
    try:
        result = made(times)
    except InputError:
        return
    assert (np.diff(result.time_s) > 0).all()
    assert len(result.rows) == len(result.time_s)
    assert np.isfinite(times[result.rows]).all()
