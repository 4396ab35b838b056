"""Where the rides of a group are, as it is written on a command line."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from ridelog.compare.places import Query, group_place
from ridelog.errors import UsageError


def test_a_folder_and_a_file_are_what_they_are(tmp_path):
    (tmp_path / "log.csv").write_text("")
    assert group_place(f"weak={tmp_path}").place == tmp_path
    assert group_place(f" weak ={tmp_path / 'log.csv'}").place == Path(tmp_path / "log.csv")
    assert group_place(f" weak ={tmp_path}").name == "weak"


def test_a_store_is_asked_by_bike_by_day_and_by_group(tmp_path):
    text = f"a={tmp_path}?bike=Kittiwake&bike=Red+Kite%20II&from=2026-03-01&to=2026-03-31&group=weak"
    query = group_place(text).place
    assert query == Query(
        str(tmp_path),
        ("Kittiwake", "Red Kite II"),
        ("weak",),
        datetime(2026, 3, 1, tzinfo=UTC),
        datetime(2026, 4, 1, tzinfo=UTC),  # the last day counts
    )


@pytest.mark.parametrize("text", ["2026-03-01T08:30:00+02:00", "2026-03-01T06:30Z", "2026-03-01T06:30"])
def test_a_time_is_taken_with_its_zone_else_as_utc(tmp_path, text):
    query = group_place(f"a={tmp_path}?to={text}").place
    assert query.until == datetime(2026, 3, 1, 6, 30, tzinfo=UTC)


def test_a_query_is_written_so_that_it_is_read_again():
    query = Query("memory://x", since=datetime(1, 1, 1, tzinfo=UTC), until=datetime(2026, 4, 1, tzinfo=UTC))
    assert query.text == "memory://x?from=0001-01-01T00%3A00%3A00Z&to=2026-04-01T00%3A00%3A00Z"
    assert group_place(f"a={query.text}").place == query


def test_a_folder_that_is_a_store_and_an_address_are_stores(tmp_path):
    (tmp_path / "store.json").write_text("{}")
    assert group_place(f"a={tmp_path}").place == Query(str(tmp_path))
    assert group_place("a=memory://rides").place == Query("memory://rides")
    assert group_place("a=s3://bucket/rides?bike=B").place == Query("s3://bucket/rides", ("B",))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("rides", "--group rides: is not a name and a path"),
        ("=rides", "--group =rides: is not a name and a path"),
        ("weak=", "--group weak=: is not a name and a path"),
        ("store?bike=B", "--group store?bike=B: is not a name and a path"),
        ("we\x1b[31mak=.", "--group we�[31mak: is no name: it has control characters, or more than 100 letters"),
        ("we\nak=.", "--group we�ak: is no name: it has control characters, or more than 100 letters"),
        ("x" * 101 + "=.", f"--group {'x' * 20}…: is no name: it has control characters, or more than 100 letters"),
        ("weak=nowhere", "--group weak=nowhere: there is nothing at nowhere"),
        ("weak=memory://x?bikes=B", "memory://x?bikes=B: asks for bikes, which is not known"),
        ("weak=memory://x?from=May", "memory://x?from=May: from=May: is not a date"),
        ("weak=memory://x?to=2026-02-30", "memory://x?to=2026-02-30: to=2026-02-30: is not a date"),
        ("weak=memory://x?to=9999-12-31", "memory://x?to=9999-12-31: to=9999-12-31: is not a date"),
        (
            "weak=memory://x?to=9999-12-31T23:00-05:00",
            "memory://x?to=9999-12-31T23:00-05:00: to=9999-12-31T23:00-05:00: is not a date",
        ),
        ("weak=memory://x?from=", "memory://x?from=: from=: is not a date"),
    ],
)
def test_what_is_none_is_refused_in_a_sentence(text, said):
    with pytest.raises(UsageError) as refused:
        group_place(text)
    assert refused.value.message == said
    assert refused.value.hint
