"""Which samples are kept for their times: small cases worked by hand."""

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.errors import InputError
from ridelog.importers.sample_times import TimeRules, believable_start, increasing_mask, usable_mask

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
    day = 86_400
    seconds = np.array([-3 * day, 0, 1, 1, 2, 0.5, 3, 9 * day, 4, 12 * day])
    mask, findings = usable_mask((seconds * 1e6).astype(np.int64), "x")
    assert np.flatnonzero(mask).tolist() == [1, 2, 4, 6, 8]
    assert {finding.code: finding.message.split(": ")[1].split(" samples")[0] for finding in findings} == {
        "time-repeated": "1 of 10",
        "clock-backward": "1 of 10",
        "far-off-times": "3 of 10",
    }
    assert next(finding.start_s for finding in findings if finding.code == "time-repeated") == 1.0


def test_longest_gap_can_be_set():
    """What counts as a far-off sample follows the rule given."""
    times_us = np.array([0, 1, 2, 5000]) * 1_000_000
    assert usable_mask(times_us, "x")[0].all()
    assert usable_mask(times_us, "x", rules=TimeRules(largest_gap_s=3600))[0].sum() == 3


def test_few_dropped_samples_are_a_note():
    """Up to one sample in a hundred dropped is a note, more is a warning."""
    few = np.concatenate([[0], np.arange(200)])
    many = np.concatenate([[0], np.arange(20)])
    assert usable_mask(few * 1_000_000, "x")[1][0].severity == "note"
    assert usable_mask(many * 1_000_000, "x")[1][0].severity == "warning"


def test_no_sample_is_an_error():
    """No sample at all is an error."""
    with pytest.raises(InputError, match="no sample that has a time"):
        usable_mask(np.array([], dtype=np.int64), "x")


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
