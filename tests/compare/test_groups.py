"""Rides into groups: measured as they are alone, a bad file listed, each ride in one group."""

import hashlib
from dataclasses import replace
from datetime import timedelta

import pytest

import ridelog
from ridelog.compare.groups import Beside, compared, logger_of
from ridelog.compare.places import group_place
from ridelog.errors import BikeFileError, UsageError
from ridelog.fleet.audit import Hands, audit
from ridelog.fleet.store.measured import MeasuredRide
from ridelog.fleet.store.store import open_store
from ridelog.tell.documents import rests
from tests.fleet.recordings import MONDAY, write_log, write_track
from tests.scenarios import sample_answer

ALONE = Hands(workers=1)


@pytest.fixture
def rides(tmp_path):
    """Two folders of two rides each on one bike."""
    for k, group in enumerate(("off", "on")):
        (tmp_path / group).mkdir()
        (tmp_path / group / "bike.toml").write_text('[bike]\nname = "Avocet"\ntotal_mass_kg = 100.0\n')
        for n in (0, 1):
            start = MONDAY + timedelta(days=n, hours=k)
            write_log(tmp_path / group / f"day{n}" / "log.csv", start, current_a=2.0 - 3 * k)
            write_track(tmp_path / group / f"day{n}" / "t.gpx", start)
    return tmp_path


def of(*texts, **options):
    return compared([group_place(text) for text in texts], hands=ALONE, **options)


def test_each_ride_is_in_its_group_and_measured_as_it_is_alone(rides):
    told = []
    result = of(f"on={rides / 'on'}", f"off={rides / 'off'}", told=told.append)
    assert result.groups == ("on", "off")
    assert [(ride.group, ride.name) for ride in result.rides] == [
        ("on", "day0"), ("on", "day1"), ("off", "day0"), ("off", "day1"),
    ]  # fmt: skip
    for ride in result.rides:
        folder = rides / ride.group / ride.name
        alone = ridelog.measure(
            ridelog.load_ride([folder / "log.csv", folder / "t.gpx"], bike=rides / ride.group / "bike.toml")
        )
        assert ride.answer == alone
        assert ride.start == alone.ride.start
        assert ride.bike == "Avocet"
        content = (rides / ride.group / "bike.toml").read_bytes()
        assert ride.beside == (Beside("bike.toml", "bike", hashlib.sha256(content).hexdigest()),)
    assert len({ride.logger for ride in result.rides}) == 1
    assert list(result.table["key"]) == [ride.key for ride in result.rides]
    assert list(result.table["group"]) == ["on", "on", "off", "off"]
    assert (told[0].of, told[-1].done, told[-1].failed) == (4, 4, 0)
    assert not list(rides.glob("**/store.json"))


def test_paths_of_one_name_add_up_and_a_ride_named_twice_counts_once(rides):
    result = of(f"off={rides / 'off'}", f"off={rides / 'off' / 'day0'}", f"on={rides / 'on' / 'day1'}")
    assert [(ride.group, ride.bike) for ride in result.rides] == [
        ("off", "Avocet"),
        ("off", "Avocet"),
        ("on", "Avocet"),
    ]
    audit([rides / "off"], open_store(rides / "store", create=True), hands=ALONE)
    again = of(f"off={rides / 'off' / 'day0'}", f"off={rides / 'store'}", f"on={rides / 'on' / 'day1'}")
    assert [ride.name for ride in again.rides] == ["day0", "day1", "log.csv + t.gpx"]


def test_rides_of_a_store_say_which_bike_file_they_were_measured_with(rides):
    audit([rides / "off"], open_store(rides / "store", create=True), hands=ALONE)
    result = of(f"off={rides / 'store'}", f"on={rides / 'on'}")
    sha256 = hashlib.sha256((rides / "off" / "bike.toml").read_bytes()).hexdigest()
    assert {ride.beside for ride in result.rides if ride.group == "off"} == {(Beside("", "bike", sha256),)}
    files = {row[0]: row for row in rests.files(result.rides).rows}
    assert files["bike file"] == ("bike file", "", "all of off", sha256)
    assert ("bike file", sha256) in rests.files_of(next(ride for ride in result.rides if ride.group == "off"))


def test_a_file_is_a_ride_and_the_bike_file_given_is_that_of_rides_without(rides):
    bike = rides / "on" / "bike.toml"
    log = rides / "off" / "day0" / "log.csv"
    result = of(f"file={log}", f"on={rides / 'on'}", f"bare={rides / 'off' / 'day1'}", bike=bike)
    alone = ridelog.measure(ridelog.load_ride([log], bike=bike))
    assert result.rides[0].answer == alone
    assert {ride.bike for ride in result.rides} == {"Avocet"}
    with pytest.raises(UsageError, match="no ride takes it"):
        of(f"off={rides / 'off'}", f"on={rides / 'on'}", bike=bike)
    (rides / "other.toml").write_text("[bike]\nmass = 3\n")
    with pytest.raises(BikeFileError):
        of(f"file={log}", f"on={rides / 'on'}", bike=rides / "other.toml")


def test_set_ups_in_folders_of_one_bike_are_of_that_bike(rides):
    """``rides/bike.toml``, ``rides/off`` and ``rides/on``: nothing is assumed that the bike file states."""
    for group in ("off", "on"):
        (rides / group / "bike.toml").unlink()
    (rides / "bike.toml").write_text('[bike]\nname = "Avocet"\ntotal_mass_kg = 100.0\n')
    result = of(f"off={rides / 'off'}", f"on={rides / 'on' / 'day1' / 'log.csv'}")
    assert {ride.bike for ride in result.rides} == {"Avocet"}
    assert {ride.answer.bike.total_mass_kg.value for ride in result.rides} == {100.0}
    assert len({ride.logger for ride in result.rides}) == 1
    (rides / "other.toml").write_text('[bike]\nname = "Dunlin"\n')
    named = of(f"off={rides / 'off'}", f"on={rides / 'on'}", bike=rides / "other.toml")
    assert {ride.bike for ride in named.rides} == {"Dunlin"}


def test_rides_of_a_store_are_those_that_it_is_asked_for(rides):
    store = open_store(rides / "store", create=True)
    audit([rides / "off", rides / "on"], store, hands=ALONE)
    result = of(f"first={rides / 'store'}?to=2026-03-09", f"later={rides / 'store'}?bike=Avocet&from=2026-03-10")
    assert [(ride.group, ride.name) for ride in result.rides] == [("first", "day0")] * 2 + [("later", "day1")] * 2
    measured = of(f"off={rides / 'off'}", f"on={rides / 'on'}")
    assert {ride.key: ride.answer for ride in result.rides} == {ride.key: ride.answer for ride in measured.rides}
    with pytest.raises(UsageError, match="group none: holds no ride"):
        of(f"first={rides / 'store'}", f"none={rides / 'store'}?bike=Nobody")


def test_rides_of_a_store_and_of_a_folder_may_stand_side_by_side(rides):
    audit([rides / "off"], open_store(rides / "store", create=True), hands=ALONE)
    result = of(f"kept={rides / 'store'}", f"on={rides / 'on'}")
    assert [ride.group for ride in result.rides] == ["kept", "kept", "on", "on"]
    with pytest.raises(UsageError, match="the ride day0 is in the group"):
        of(f"kept={rides / 'store'}", f"off={rides / 'off'}")


def test_a_store_may_be_anywhere():
    address = "memory://rides-to-compare"
    store = open_store(address, create=True)
    for name, group in (("one", "off"), ("two", "on")):
        key = hashlib.sha256(name.encode()).hexdigest()
        store.write(MeasuredRide(key, "Avocet", name, group, sample_answer("commute"), {"recordings": key}))
    result = of(f"a={address}?group=off", f"b={address}?bike=Avocet&group=on")
    assert [(ride.group, ride.name) for ride in result.rides] == [("a", "one"), ("b", "two")]


def test_one_bad_file_is_listed_and_stops_nothing(rides):
    (rides / "off" / "day0" / "log.csv").write_text("this is no log\n")
    (rides / "off" / "day1" / "odd.csv").write_text("")
    result = of(f"off={rides / 'off'}", f"on={rides / 'on'}")
    assert [ride.group for ride in result.rides].count("on") == 2
    assert {failure.path.rsplit("/", 2)[-1] for failure in result.failed} == {"log.csv", "odd.csv"}
    assert all(failure.reason for failure in result.failed)


def test_a_group_of_which_nothing_can_be_measured_is_refused_with_the_reason(rides):
    (rides / "bad.csv").write_text("this is no log\n")
    with pytest.raises(UsageError, match=r"group bad: nothing in it could be measured: .*bad.csv"):
        of(f"bad={rides / 'bad.csv'}", f"on={rides / 'on'}")


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        (["off={0}/off"], "there is one group only, off, and a comparison takes two"),
        (["off={0}/off", "off={0}/on"], "there is one group only, off, and a comparison takes two"),
        (["off={0}/off", "on={0}/empty"], "{0}/empty: holds no ride: no GPX, FIT or delimited log lies in it"),
        (["off={0}/off", "on={0}/off/bike.toml"], "{0}/off/bike.toml: is no log: GPX, FIT or delimited text"),
        (["off={0}/off", "on={0}/off/day1"], "the ride day1 is in the group off and in the group on"),
    ],
    ids=["one", "one name", "empty", "bike file", "twice"],
)  # fmt: skip
def test_what_cannot_be_compared_is_refused_in_a_sentence(rides, texts, said):
    (rides / "empty").mkdir()
    with pytest.raises(UsageError) as refused:
        of(*(text.format(rides) for text in texts))
    assert refused.value.message == said.format(rides)
    assert refused.value.hint


def test_one_logger_is_one_bike_one_layout_and_one_set_of_limits():
    answer = sample_answer("commute")
    sensor = {
        **answer.bike.sensor,
        "current_zero_limit_a": replace(answer.bike.sensor["current_zero_limit_a"], value=1),
    }
    other = replace(answer, bike=replace(answer.bike, sensor=sensor))
    same = logger_of("A", "x", answer, "k" * 64)
    assert same == logger_of("A", "x", answer, "m" * 64)
    others = logger_of("B", "x", answer, "k"), logger_of("A", "y", answer, "k"), logger_of("A", "x", other, "k")
    assert len({same, *others}) == 4
    assert logger_of("A", None, answer, "k" * 64) != logger_of("A", None, answer, "m" * 64)
