"""Logs that a device began anew on the way."""

from dataclasses import replace
from datetime import timedelta

import numpy as np

from ridelog.findings import Finding
from ridelog.recording import Recording
from ridelog.timeline.continued import continued
from tests.timeline.simulated import START, recording

LATE = Finding("no-voltage", "note", {"file": "b.csv"}, 1.0, None)


def _part(name: str, after_s: float, **options: object) -> Recording:
    start = START + timedelta(seconds=after_s)
    return recording(name, np.arange(10.0), start=start, current_a=np.full(10, after_s), **options)  # type: ignore[arg-type]


def test_two_logs_that_follow_one_another_are_one_with_a_pause_between() -> None:
    second = replace(_part("b.csv", 40), pauses_s=((2.0, 3.0),), findings=(LATE,))
    (whole,), (finding,) = continued([second, _part("a.csv", 0)])
    assert whole.name == "a.csv + b.csv"
    assert whole.start == START
    assert whole.time_s.tolist() == [*range(10), *range(40, 50)]
    assert whole.pauses_s == ((9.0, 40.0), (42.0, 43.0))
    assert whole.findings == (replace(LATE, start_s=41.0),)
    assert finding.code == "log-continued"
    assert finding.facts == {"files": ("a.csv", "b.csv")}


def test_three_logs_in_any_order_are_one() -> None:
    (whole,), _ = continued([_part("c.csv", 60), _part("a.csv", 0), _part("b.csv", 20)])
    assert whole.name == "a.csv + b.csv + c.csv"
    assert (np.diff(whole.time_s) > 0).all()


def test_logs_that_overlap_or_are_a_day_apart_stay_two() -> None:
    for after_s in (5, 9, 86400):
        parts, findings = continued([_part("a.csv", 0), _part("b.csv", after_s)])
        assert [part.name for part in parts] == ["a.csv", "b.csv"]
        assert findings == []


def test_logs_with_other_channels_another_clock_or_no_wall_time_stay_two() -> None:
    other = recording("b.csv", np.arange(10.0), start=START + timedelta(seconds=40), voltage_v=np.ones(10))
    local, elapsed = _part("b.csv", 40, clock="local"), _part("b.csv", 40, clock="elapsed")
    for second in (other, local, elapsed):
        parts, findings = continued([_part("a.csv", 0), second])
        assert len(parts) == 2
        assert findings == []


def test_what_is_not_a_part_keeps_its_place() -> None:
    track = recording("t.gpx", np.arange(10.0), latitude_deg=np.ones(10))
    parts, _ = continued([track, _part("a.csv", 0), _part("b.csv", 40)])
    assert [part.name for part in parts] == ["t.gpx", "a.csv + b.csv"]


def _rows(name: str, first: int, last: int, **options: object) -> Recording:
    """Rows first to last of one log at 1 Hz, whose current is the number of its row."""
    start = START + timedelta(seconds=first)
    rows = np.arange(first, last + 1.0)
    return recording(name, rows - first, start=start, current_a=rows, **options)  # type: ignore[arg-type]


def test_two_parts_that_share_a_row_are_one_log_and_the_row_counts_once() -> None:
    (whole,), (finding,) = continued([_rows("a.csv", 0, 20), _rows("b.csv", 20, 40)])
    assert whole.frame["current_a"].tolist() == list(range(41))
    assert whole.time_s.tolist() == list(range(41))
    assert whole.pauses_s == ()
    assert finding.code == "log-continued"


def test_two_parts_that_share_times_and_not_values_stay_two() -> None:
    other = recording("b.csv", np.arange(21.0), start=START + timedelta(seconds=20), current_a=np.full(21, 7.0))
    parts, findings = continued([_rows("a.csv", 0, 20), other])
    assert (len(parts), findings) == (2, [])


def test_an_elapsed_clock_that_goes_on_makes_one_log() -> None:
    """The second log begins at 21 s of the same clock; one that begins anew at 0 is another's."""
    parts = [replace(_rows(name, *rows), start=None, clock="elapsed", clock_s=float(rows[0]))
             for name, rows in (("a.csv", (0, 20)), ("b.csv", (21, 40)))]  # fmt: skip
    (whole,), _ = continued(parts)
    assert whole.frame["current_a"].tolist() == list(range(41))
    assert whole.pauses_s == ()
    anew, findings = continued([parts[0], replace(parts[1], clock_s=0.0)])
    assert (len(anew), findings) == (2, [])
