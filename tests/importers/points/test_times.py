"""Time stamps: as gpxpy reads each by itself, whether they are written alike or not."""

from datetime import timedelta

import numpy as np
import pytest
from gpxpy.gpxfield import TIME_TYPE

from ridelog.importers.points.times import EPOCH, microseconds, stamps_of

MOST = np.array([9999, 13, 32, 25, 61, 61])
FORMS = (
    "{:04d}-{:02d}-{:02d}T{:02d}:{:02d}:{:02d}Z",
    "{:04d}-{:02d}-{:02d} {:02d}:{:02d}:{:02d}",
    "{:04d}-{:02d}-{:02d}T{:02d}:{:02d}:{:02d}.5Z",
    "{:04d}-{:02d}-{:02d}T{:02d}:{:02d}:{:02d}.123456",
    "{:04d}-{:02d}-{:02d}T{:02d}:{:02d}:{:02d}.1234567Z",
    "{:04d}-{:02d}-{:02d}T{:02d}:{:02d}:{:02d}+02:00",
    "{:04d}-{:02d}-{:02d}T{:02d}:{:02d}Z",
    "{}-{}-{}T{}:{}:{}Z",
    "at {}/{}/{} {}:{}:{}",
)


def by_gpxpy(text):
    time = TIME_TYPE.from_string(text)
    if time is None:
        return None
    zoned = time.tzinfo is not None
    since = (time if zoned else time.replace(tzinfo=EPOCH.tzinfo)) - EPOCH
    return since // timedelta(microseconds=1), zoned


def told(texts):
    time_us, zoned_mask, readable_mask = stamps_of(texts)
    rows = zip(time_us.tolist(), zoned_mask.tolist(), readable_mask.tolist(), strict=True)
    return [(time, zoned) if readable else None for time, zoned, readable in rows]


@pytest.mark.parametrize("form", FORMS)
def test_stamps_of_one_form_are_read_as_gpxpy_reads_each(form):
    """Two thousand stamps by chance, some of no calendar; and those of the calendar once more without the others."""
    rng = np.random.default_rng(4)
    texts = [form.format(*parts) for parts in rng.integers(0, MOST + 1, (2_000, 6)).tolist()]
    expected = [by_gpxpy(text) for text in texts]
    assert told(texts) == expected
    good = [text for text, time in zip(texts, expected, strict=True) if time is not None]
    assert told(good) == [time for time in expected if time is not None]


def test_stamps_of_many_forms_keep_their_order():
    rng = np.random.default_rng(5)
    drawn = zip(
        rng.integers(0, len(FORMS), 3_000).tolist(), rng.integers(1, MOST + 1, (3_000, 6)).tolist(), strict=True
    )
    texts = [FORMS[form].format(*parts) for form, parts in drawn]
    assert told([*texts, ""]) == [*map(by_gpxpy, texts), None]


@pytest.mark.parametrize("text", ["", "0000-01-01T00:00:00Z", "NaT", "today", "2026-05-01T08:00:03+99:00", "a\nb"])
def test_what_is_no_time_of_the_calendar_is_none(text):
    assert told([text]) == [None]
    assert microseconds(text) is None
