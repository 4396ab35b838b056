"""Which samples are kept for their times: small cases worked by hand."""

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.errors import InputError
from ridelog.importers.sample_times import (
    TEXT_LOG_TIMES,
    TimeRules,
    believable_start,
    increasing_mask,
    settle,
)

DAY_S = 86_400.0
NOW = datetime(2026, 6, 1, tzinfo=UTC)


@pytest.mark.parametrize(
    ("times", "kept"),
    [
        ([], []),
        ([5], [0]),
        ([1, 2, 3], [0, 1, 2]),
        ([1, 1, 2, 2, 2, 3], [0, 2, 5]),  # of equal times the first
        ([1, 2, 900, 3, 4], [0, 1, 3, 4]),  # one time far ahead costs one sample, not all after it
        ([1, 2, 3, 4, 2, 3, 4, 5], [0, 1, 2, 3, 7]),  # a clock set back: what it repeats is dropped
        ([9, 1, 2, 3], [1, 2, 3]),
        ([3, 2, 1], [2]),  # all equally long: the last, by the patience method
    ],
)
def test_kept_samples_are_the_most_that_increase(times, kept):
    """The most samples with increasing times are kept."""
    assert np.flatnonzero(increasing_mask(times)).tolist() == kept


@given(st.lists(st.integers(0, 12), max_size=9))
def test_no_selection_keeps_more(times):
    """No selection of the samples that increases is longer: every one is tried."""
    mask = increasing_mask(times)
    assert (np.diff(np.array(times)[mask]) > 0).all()
    longest = [1] * len(times)  # of the increasing selections that end here, by the plain quadratic rule
    for i, time in enumerate(times):
        longest[i] = 1 + max((longest[j] for j in range(i) if times[j] < time), default=0)
    assert mask.sum() == max(longest, default=0)


def test_far_off_samples_are_told_from_backward_ones():
    """Samples days away are counted apart from samples that go back or repeat."""
    seconds = np.array([-3 * DAY_S, 0, 1, 1, 2, 0.5, 3, 9 * DAY_S, 4, 12 * DAY_S])
    settled = settle((seconds * 1e6).astype(np.int64), "x")
    assert settled.rows.tolist() == [1, 2, 4, 6, 8]
    counted = {finding.code: (finding.facts["n_dropped"], finding.facts["n_all"]) for finding in settled.findings}
    assert counted == {"time-repeated": (1, 10), "clock-backward": (1, 10), "far-off-times": (3, 10)}
    assert next(finding.start_s for finding in settled.findings if finding.code == "time-repeated") == 1.0


@pytest.mark.parametrize("rules", [TimeRules(), TEXT_LOG_TIMES])
def test_both_days_of_a_ride_are_kept_and_the_gap_is_said(rules):
    """Two parts of a ride, days apart, are both kept, whatever the format."""
    seconds = np.concatenate([np.arange(300.0), 2 * DAY_S + np.arange(100.0)])
    settled = settle(seconds, "x", rules)
    assert len(settled.rows) == 400
    (finding,) = settled.findings
    assert (finding.code, finding.severity) == ("clock-leap", "warning")
    assert finding.facts == {"file": "x", "leap_s": 2 * DAY_S - 299, "place": "sample 301"}


def test_a_part_from_another_year_is_no_part_of_the_ride():
    """A minute and more stamped in 1980, before the clock was set, is left out of a ride of 2026."""
    seconds = np.concatenate([np.arange(100.0), 46 * 366 * DAY_S + np.arange(300.0)])
    settled = settle(seconds, "x")
    assert settled.rows.tolist() == list(range(100, 400))
    assert [finding.code for finding in settled.findings] == ["far-off-times"]
    with pytest.raises(InputError, match="the clock leaps by"):  # a quarter of a text log is too much to drop
        settle(seconds, "x", TEXT_LOG_TIMES)


def test_a_few_rows_from_before_the_clock_was_set_are_left_out_of_a_text_log_too():
    seconds = np.concatenate([np.arange(3.0), 46 * 366 * DAY_S + np.arange(300.0)])
    settled = settle(seconds, "x", TEXT_LOG_TIMES)
    assert settled.rows.tolist() == list(range(3, 303))
    (finding,) = (each for each in settled.findings if each.code == "far-off-times")
    assert (finding.facts["n_dropped"], finding.facts["n_all"], finding.facts["of"]) == (3, 303, "row")


def test_longest_gap_can_be_set():
    """What counts as a far-off sample follows the rule given."""
    times_us = np.array([0, 1, 2, 5000]) * 1_000_000
    assert len(settle(times_us, "x").rows) == 4
    assert len(settle(times_us, "x", TimeRules(longest_gap_s=3600)).rows) == 3


def test_few_dropped_samples_are_a_note():
    """Up to one sample in a hundred dropped is a note, more is a warning."""
    few = np.concatenate([[0], np.arange(200)])
    many = np.concatenate([[0], np.arange(20)])
    assert settle(few * 1_000_000, "x").findings[0].severity == "note"
    assert settle(many * 1_000_000, "x").findings[0].severity == "warning"


def test_microseconds_and_seconds_are_settled_alike():
    """Whole microseconds give the seconds that floating seconds give, less what those cannot hold."""
    seconds = np.array([0.25, 1.5, 1.5, 2.75])
    by_us, by_s = settle((seconds * 1e6).astype(np.int64), "x"), settle(seconds, "x")
    assert by_us.time_s.tolist() == by_s.time_s.tolist() == [0, 1.25, 2.5]
    assert by_us.first_s == by_s.first_s == 0.25


def test_a_place_in_the_file_is_named():
    settled = settle(np.array([0.0, 1, 1, 2]), "x", place=lambda row: f"line {row + 2}")
    facts = settled.findings[0].facts
    assert (facts["first_place"], facts["first_s"]) == ("line 4", 1.0)


def test_no_sample_is_an_error():
    """No sample at all is an error."""
    with pytest.raises(InputError, match="no sample that has a time"):
        settle(np.array([], dtype=np.int64), "x")


@pytest.mark.parametrize(
    ("start", "believed"),
    [
        (datetime(2026, 5, 1, tzinfo=UTC), True),
        (datetime(2026, 6, 1, 23, tzinfo=UTC), True),  # a device ahead by a zone
        (datetime(2026, 6, 3, tzinfo=UTC), False),
        (datetime(1989, 12, 31, tzinfo=UTC), False),
    ],
)
def test_start_is_believed_between_1990_and_tomorrow(start, believed):
    """A start before 1990 or after tomorrow is not believed, and a finding says so."""
    result, findings = believable_start(start, "x", now=NOW)
    assert (result == start) is believed
    assert bool(findings) is not believed
