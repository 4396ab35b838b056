"""Names of files tell the ride."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.fleet.store.layout import Entry, entries, latest, month_of, shared_paths

KEY = "0123456789abcdef" * 4
CHARACTERS = st.characters(exclude_categories=["Cs"])


@given(st.text(CHARACTERS, min_size=1), st.from_regex(r"\d+\.\d+\.\d+(\.dev\d+)?(\+[a-z0-9]+)?", fullmatch=True))
def test_a_path_tells_the_ride(bike, version):
    entry = Entry(KEY, version, bike, "2026-03")
    path = entry.path("answers")
    assert path.count("/") == 3
    assert path.isascii()
    assert entries([path, "answers/notes.parquet", entry.path("hills")], {}) == {KEY: {entry}}
    shared = Entry(KEY, version, bike, "2026-03", "0123456789abcdef")
    path = shared.path("answers")
    assert path.count("/") == 3
    assert shared_paths([path, entry.path("answers")]) == [path]
    assert entries([path], {path: [(KEY, version)]}) == {KEY: {shared}}
    assert shared.path("hills") == "hills/merged-0123456789abcdef.parquet"
    assert shared.path("series") == entry.path("series")


def test_a_detail_lies_flat():
    assert Entry(KEY, "0.1.0", "a b", "unknown").path("series") == f"series/{KEY}-0.1.0.parquet"


def test_a_month_is_that_of_utc():
    assert month_of(datetime(2026, 3, 1, 0, 30, tzinfo=timezone(timedelta(hours=1)))) == "2026-02"
    assert month_of(None) == "unknown"


@pytest.mark.parametrize("versions", [("0.9.0", "0.10.0"), ("0.1.0.dev3", "0.1.0"), ("1.2", "1.2.1")])
def test_versions_have_their_order(versions):
    found = [Entry(KEY, version, "a", "2026-03") for version in versions]
    assert latest(found) == latest(found[::-1]) == found[1]


def test_of_one_version_the_ride_s_own_file_is_read_and_of_two_the_later_one():
    own, shared = (Entry(KEY, "0.2.0", "a", "2026-03", digest) for digest in ("", "f" * 16))
    later = Entry(KEY, "0.3.0", "a", "2026-03", "0" * 16)
    assert latest({own, shared}) == own
    assert latest({own, shared, later}) == later


def test_a_month_tells_whether_a_ride_may_be_meant():
    entry = Entry(KEY, "1", "a", "2026-03")
    day = [datetime(2026, month, 31 if month == 3 else 1, tzinfo=UTC) for month in (2, 3, 4)]
    assert [entry.may_begin(each, None) for each in day] == [True, True, False]
    assert [entry.may_begin(None, each) for each in day] == [False, True, True]
    assert Entry(KEY, "1", "a", "unknown").may_begin(None, None)
    assert not Entry(KEY, "1", "a", "unknown").may_begin(day[0], None)
