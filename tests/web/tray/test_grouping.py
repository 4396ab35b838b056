"""Which files are one ride: overlapping times, one drop, or the visitor's own hand."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from ridelog.errors import InputError
from ridelog.fleet.look import Look
from ridelog.web.tray.grouping import KeptFile, grouped, likely_halves

NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)


def file(key, start_min=None, minutes=30, drop="a", **look):
    start = None if start_min is None else NOON + timedelta(minutes=start_min)
    path = Path(f"/{drop}/{key}")
    seen = Look(path, f"sha {key}", start, None if start is None else start + timedelta(minutes=minutes), **look)
    return KeptFile(key, f"{key}.csv", path, 1, seen)


@pytest.mark.parametrize(
    ("files", "rides"),
    [
        ([file("log", 0), file("track", 5)], [(("log", "track"), "overlap")]),
        ([file("one", 0), file("two", 60)], [(("one",), "alone"), (("two",), "alone")]),
        ([file("log", 0), file("other", 60), file("track", 10, drop="b")],
         [(("log", "track"), "overlap"), (("other",), "alone")]),
        ([file("log"), file("track", 0)], [(("log", "track"), "no-wall-time")]),
        ([file("log"), file("track", 0, drop="b")], [(("log",), "alone"), (("track",), "alone")]),
        ([file("log"), file("one", 0), file("two", 60)],
         [(("log",), "several-fit"), (("one",), "alone"), (("two",), "alone")]),
        ([file("log", 60, local=True, electrical=True), file("track", 0, track=True)], [(("log", "track"), "no-zone")]),
        ([file("bad", error=InputError("bad", "x")), file("log", 0)], [(("bad",), "alone"), (("log",), "alone")]),
    ],
)  # fmt: skip
def test_files_are_put_together_by_time_and_by_what_was_given_at_once(files, rides):
    found = [(tuple(sorted(group.keys)), group.why) for group in grouped(files, {})]
    assert sorted(found) == sorted(rides)


def test_what_the_visitor_puts_together_overrules_the_times():
    files = [file("one", 0), file("two", 60), file("three", 70)]
    found = grouped(files, {"one": "x", "two": "x"})
    assert [(set(group.keys), group.why) for group in found] == [({"one", "two"}, "by-hand"), ({"three"}, "alone")]


def test_what_two_bikes_recorded_at_the_same_time_is_two_rides():
    one, other = file("one", 0), replace(file("other", 5), home="fleet/heron")
    track = replace(file("track", 6, drop="b"), home="fleet/heron")
    found = grouped([one, other, track], {})
    assert [(set(group.keys), group.why) for group in found] == [({"one"}, "alone"), ({"other", "track"}, "overlap")]


LOG, TRACK = {"electrical": True, "local": True}, {"track": True, "drop": "b"}


@pytest.mark.parametrize(
    ("files", "pairs"),
    [
        ([file("log", 60, **LOG), file("track", 2, **TRACK)], [("log", "track")]),
        ([file("log", 60, **LOG), file("track", 7, **TRACK)], []),  # seven minutes apart whatever the zone
        ([file("log", 60, **LOG), file("track", 2, minutes=40, **TRACK)], []),
        ([file("log", 60, electrical=True), file("track", 2, **TRACK)], []),  # both say UTC
        ([file("log", 60 * 30, **LOG), file("track", 0, **TRACK)], []),  # no zone is so far from UTC
        ([file("log", 60, **LOG), file("track", 0, **TRACK), file("back", 600, **TRACK)], []),  # either of two
    ],
)  # fmt: skip
def test_a_log_and_a_track_given_apart_are_proposed_where_a_zone_alone_parts_them(files, pairs):
    groups = [group.keys for group in grouped(files, {})]
    assert len(groups) == len(files)
    assert likely_halves(files, groups) == pairs
