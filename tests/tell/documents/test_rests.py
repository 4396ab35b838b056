"""What a comparison rests on, in words: what rides have alike stands once, what differs by ride says where."""

from dataclasses import replace

import pytest

from ridelog.answer.provenance import BikeValue
from ridelog.findings import Finding
from ridelog.tell.documents import rests
from ridelog.tell.numbers import METRIC
from tests.compare.made_up import rides_at_hand
from tests.scenarios import sample_answer

COMMUTE = sample_answer("commute")


def with_mass(value, limit=3.0, source="entered"):
    return replace(COMMUTE, bike=replace(COMMUTE.bike, total_mass_kg=BikeValue(value, limit, source)))


def rows(table, key="bike.total_mass_kg"):
    return next(row for row in table.rows if row[0] == key)


def test_groups_with_the_same_values_share_a_column():
    table = rests.values(rides_at_hand(one=COMMUTE, two=COMMUTE), METRIC)
    assert [column.name for column in table.columns] == ["key", "what it is", "value", "origin"]
    assert table.note == rests.LIMITS


def test_values_of_a_group_that_differ_stand_from_the_least_to_the_largest_with_every_origin():
    rides = rides_at_hand(a=with_mass(90.0), b=with_mass(95.0), c=with_mass(88.0), d=with_mass(95.0, source="assumed"))
    table = rests.values(rides, METRIC)
    assert [column.name for column in table.columns][2:4] == ["off", "on"]
    assert rows(table)[2:] == ("88 ± 3 kg to 90 ± 3 kg", "95 ± 3 kg", "entered, assumed")
    assert table.note.startswith(rests.SEVERAL)


def test_a_value_that_a_group_does_not_have_is_left_out_there():
    rides = rides_at_hand(a=with_mass(None, None, None), b=with_mass(95.0))
    assert rows(rests.values(rides, METRIC))[2:4] == (None, "95 ± 3 kg")


def test_files_that_were_read_alike_stand_once_with_their_rides():
    again = replace(COMMUTE, sources=tuple(replace(source, path=f"/far/{source.path}.2") for source in COMMUTE.sources))
    told = rests.readings(rides_at_hand(one=COMMUTE, two=again), METRIC)
    assert len(told) == sum(bool(source.columns) for source in COMMUTE.sources)
    assert told[0].heading == "Electrical log, CSV"
    assert told[0].told.endswith("2 files of all rides.")
    assert "/far" not in told[0].told
    flipped = tuple(replace(use, sign=-1) for use in COMMUTE.sources[0].columns)
    other = replace(COMMUTE, sources=(replace(COMMUTE.sources[0], columns=flipped), *COMMUTE.sources[1:]))
    assert len(rests.readings(rides_at_hand(one=COMMUTE, two=other), METRIC)) == len(told) + 1


@pytest.mark.parametrize(
    ("names", "said"),
    [("ab", "off a and on b"), ("ac", "all of off"), ("abcd", "all rides"), ("abc", "all of off and on b")],
)
def test_rides_are_named_as_shortly_as_tells_them_apart(names, said):
    rides = rides_at_hand(**dict.fromkeys("abcd", COMMUTE))
    assert rests.which([ride for ride in rides if ride.name in names], rides) == said


def test_files_stand_ride_by_ride_and_a_bike_file_once():
    rides = rides_at_hand(one=COMMUTE, two=COMMUTE)
    table = rests.files(rides)
    n_sources = len(COMMUTE.sources)
    assert len(table.rows) == 2 * (n_sources + 1) + 1
    assert table.rows[-1] == ("bike.toml (bike file)", "", "all rides", "b" * 64)
    assert table.rows[n_sources] == (rests.KEY, "one", "off", rides[0].key)
    by_files = " + ".join(name for name, _ in rests.files_of(rides[0])[:-1])
    assert rests.files([replace(rides[0], name=by_files)]).rows[0][1] == ""
    assert rests.files_of(rides[0])[-1] == ("bike.toml", "b" * 64)


def test_findings_of_rides_stand_gravest_first_with_how_many_rides_have_them():
    facts = {"group": "x", "quantities": ("captured_pct",)}
    note, danger = Finding("one-ride-in-group", "note", facts), Finding("quantity-unknown-in-group", "danger", facts)
    rides = rides_at_hand(one=replace(COMMUTE, findings=(note,)), two=replace(COMMUTE, findings=(note, danger)))
    table = rests.found(rides, METRIC)
    assert [row[:4] for row in table.rows] == [
        ("quantity-unknown-in-group", "danger", 1, "all of on"), ("one-ride-in-group", "note", 2, "all rides"),
    ]  # fmt: skip


def test_findings_call_files_by_their_names_alone():
    path = COMMUTE.sources[0].path
    kept = replace(COMMUTE, findings=(Finding("check-sum", "warning", {"file": path}),))
    assert "/" in path
    row = rests.found(rides_at_hand(one=kept), METRIC).rows[0]
    assert path.rpartition("/")[2] in row[4]
    assert "/" not in row[4]


def test_thresholds_of_other_versions_stand_apart():
    older = replace(COMMUTE, settings={"hills": {"min_height_m": 4.0}})
    told = rests.settings(rides_at_hand(one=COMMUTE, two=older, three=COMMUTE))
    assert [[ride.name for ride in some] for _, some in told] == [["one", "three"], ["two"]]
