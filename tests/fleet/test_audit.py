"""Many bikes, many rides: each is measured once, and every number is that of the ride measured alone."""

import json
import shutil
from dataclasses import replace
from datetime import timedelta
from threading import Event

import pytest

import ridelog
from ridelog.fleet import audit as module
from ridelog.fleet import summary, together
from ridelog.fleet.audit import Hands, audit, default_store
from ridelog.fleet.store.store import open_store
from tests.fleet.recordings import MONDAY, write_log, write_track

ALONE = Hands(workers=1)


@pytest.fixture
def folder(tmp_path):
    """Two bikes of two rides each."""
    for k, name in enumerate(("avocet", "heron")):
        (tmp_path / "bikes" / name).mkdir(parents=True)
        (tmp_path / "bikes" / name / "bike.toml").write_text("[bike]\ntotal_mass_kg = 100.0\n")
        for n in (0, 1):
            start = MONDAY + timedelta(days=n, hours=k)
            write_log(tmp_path / "bikes" / name / f"day{n}" / "log.csv", start, current_a=2.0 + k)
            write_track(tmp_path / "bikes" / name / f"day{n}" / "t.gpx", start)
    return tmp_path / "bikes"


@pytest.fixture
def store(tmp_path):
    return open_store(tmp_path / "store", create=True)


def counts(result):
    return result.measured, result.unchanged, len(result.failed)


def test_every_ride_is_in_the_store_as_measured_alone(folder, store):
    result = audit([folder], store, hands=ALONE)
    assert counts(result) == (4, 0, 0)
    assert [(bike.bike, bike.rides) for bike in result.bikes] == [("avocet", 2), ("heron", 2)]
    rides = store.answers(columns=["key", "bike", "name"])
    for key, bike, name in rides.itertuples(index=False):
        files = sorted((folder / bike / name).iterdir())
        alone = ridelog.measure(ridelog.load_ride([str(path) for path in files], bike=str(folder / bike / "bike.toml")))
        assert store.answer(key).to_dict() == json.loads(json.dumps(alone.to_dict()))


def test_what_has_not_changed_is_not_measured_again_and_tells_the_same(folder, store):
    first = audit([folder], store, hands=ALONE)
    second = audit([folder], store, hands=ALONE)
    assert counts(second) == (0, 4, 0)
    assert replace(second, measured=4, unchanged=0) == first
    assert second.to_dict()["bikes"] == first.to_dict()["bikes"]


def test_only_the_new_ride_is_measured(folder, store):
    audit([folder], store, hands=ALONE)
    write_log(folder / "heron" / "day5" / "log.csv", MONDAY + timedelta(days=5))
    assert counts(audit([folder], store, hands=ALONE)) == (1, 4, 0)


def test_another_bike_file_measures_its_rides_anew_and_their_old_answers_go(folder, store):
    audit([folder], store, hands=ALONE)
    before = store.keys()
    (folder / "heron" / "bike.toml").write_text("[bike]\ntotal_mass_kg = 120.0\n")
    assert counts(audit([folder], store, hands=ALONE)) == (2, 2, 0)
    assert len(store.keys()) == 4
    assert len(set(store.keys()) & set(before)) == 2


def test_rides_whose_files_are_gone_stay_in_the_store_and_out_of_the_answer(folder, store):
    audit([folder], store, hands=ALONE)
    shutil.rmtree(folder / "heron" / "day0")
    result = audit([folder], store, hands=ALONE)
    assert counts(result) == (0, 3, 0)
    assert [bike.rides for bike in result.bikes] == [2, 1]
    assert len(store.keys()) == 4


def test_what_is_broken_is_listed_each_time_and_tried_once(folder, store, monkeypatch):
    (folder / "heron" / "day7").mkdir()
    log = write_log(folder / "heron" / "day7" / "log.csv", MONDAY + timedelta(days=7))
    log.write_text(log.read_text().replace("battery current [A],battery voltage [V]", "I1 [A],I2 [A]"))
    junk = folder / "avocet" / "junk.fit"
    junk.write_bytes(b"junk")
    first = audit([folder], store, hands=ALONE)
    assert counts(first) == (4, 0, 2)
    assert [failure.path.rpartition("/")[2] for failure in first.failed] == ["junk.fit", "log.csv"]
    assert all(failure.reason and failure.hint for failure in first.failed)
    assert first.grave
    assert audit([folder], store, hands=ALONE).failed == first.failed
    tried = []
    monkeypatch.setattr(Hands, "measure", lambda _, tasks: tried.extend(tasks) or iter(()))
    audit([folder], store, hands=ALONE)
    assert tried == []
    monkeypatch.setattr(module, "__version__", "99.0.0")  # a newer ridelog may read it
    audit([folder], store, hands=ALONE)
    assert [task.ride.name for task in tried] == ["day7"]


def test_a_ride_of_a_version_that_answered_otherwise_is_measured_again(folder, store, monkeypatch):
    audit([folder], store, hands=ALONE)
    monkeypatch.setattr("ridelog.fleet.versions.answers_alike.__defaults__", ("99.0.0",))
    assert counts(audit([folder], store, hands=ALONE)) == (4, 0, 0)
    assert len(store.keys()) == 4


def test_an_interrupt_leaves_what_was_done_and_the_next_audit_goes_on(folder, store):
    def interrupted(progress):
        if progress.done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        audit([folder], store, hands=ALONE, told=interrupted)
    done = len(store.keys())
    assert 2 <= done < 4
    assert counts(audit([folder], store, hands=ALONE)) == (4 - done, done, 0)


def test_progress_begins_at_nothing_and_ends_at_all(folder, store):
    seen = []
    audit([folder], store, hands=ALONE, told=seen.append)
    assert [(each.done, each.of) for each in seen] == [(k, 4) for k in range(5)]


def test_what_telling_needs_is_loaded_while_other_processes_begin_and_once(folder, store, monkeypatch):
    begun, seen = Event(), []
    monkeypatch.setattr(module, "FEWEST_SHARED", 1)  # files are looked at beside, too
    monkeypatch.setattr(module, "load_statistics", lambda: (seen.append("loaded"), begun.set()))

    def told(progress):
        if progress.done == 0:
            seen.append(begun.wait(10))

    audit([folder], store, hands=ALONE, told=told)
    assert seen == ["loaded", True]


def test_nothing_is_loaded_for_an_audit_that_finds_nothing_new(folder, store, monkeypatch):
    audit([folder], store, hands=ALONE)
    monkeypatch.setattr(module, "load_statistics", lambda: pytest.fail("loaded"))
    monkeypatch.setattr(module, "FEWEST_SHARED", 1)
    assert counts(audit([folder], store, hands=ALONE)) == (0, 4, 0)


def test_without_a_word_the_store_lies_in_the_first_folder_and_is_no_ride(folder):
    store = open_store(default_store([folder]), create=True)
    audit([folder], store, hands=ALONE)
    assert counts(audit([folder], store, hands=ALONE)) == (0, 4, 0)


def test_a_ride_that_lies_with_two_bikes_stays_with_both(folder, store):
    """A copy by mistake, or a bike that was handed on: neither is thrown out, nor measured again each time."""
    shutil.copytree(folder / "heron" / "day0", folder / "avocet" / "copy")
    (folder / "avocet" / "bike.toml").write_text("[bike]\ntotal_mass_kg = 90.0\n")
    first = audit([folder], store, hands=ALONE)
    assert [(bike.bike, bike.rides) for bike in first.bikes] == [("avocet", 3), ("heron", 2)]
    assert counts(audit([folder], store, hands=ALONE)) == (0, 5, 0)


def manifest(folder, name, group):
    text = f'[[ride]]\nfiles = ["day0/log.csv", "day0/t.gpx"]\nname = "{name}"\ngroup = "{group}"\n'
    (folder / "heron" / "rides.toml").write_text(text)


@pytest.mark.parametrize("with_catalogue", [True, False])
def test_a_ride_that_is_renamed_is_called_so_without_being_measured(folder, store, with_catalogue, monkeypatch):
    manifest(folder, "to work", "strong")
    audit([folder], store, hands=ALONE)
    if not with_catalogue:
        monkeypatch.setattr(type(store), "catalogue", None)
    manifest(folder, "home", "weak")
    renamed = audit([folder], store, hands=ALONE)
    assert counts(renamed) == (0, 4, 0)
    (heron,) = (bike for bike in renamed.bikes if bike.bike == "heron")
    assert [ride.name for ride in heron.history] == ["home", "day1"]
    assert store.answers(bikes=["heron"], columns=["group"])["group"].iloc[0] == "weak"
    assert audit([folder], store, hands=ALONE).bikes == renamed.bikes


def test_a_bike_whose_folder_is_renamed_keeps_its_rides_under_its_new_name(folder, store):
    first = audit([folder], store, hands=ALONE)
    keys = store.keys()
    (folder / "heron").rename(folder / "bittern")
    renamed = audit([folder], store, hands=ALONE)
    assert counts(renamed) == (0, 4, 0)
    assert store.keys() == keys
    assert [(bike.bike, bike.rides) for bike in renamed.bikes] == [("avocet", 2), ("bittern", 2)]
    assert {hill.id: hill.passes for hill in renamed.hills} == {hill.id: hill.passes for hill in first.hills}
    assert set(store.findings()["bike"]) == {"avocet", "bittern"}
    found = [each for each in store.catalogue.attempts().values() if each.bike == "bittern"]
    assert len(found) == 2
    assert all("bittern" in path for each in found for path in each.paths.splitlines())


def test_what_was_told_by_other_code_is_told_anew(folder, store, monkeypatch):
    audit([folder], store, hands=ALONE)
    told, audit_of = [], summary.audit_of
    monkeypatch.setattr(summary, "audit_of", lambda *rest: told.append(rest) or audit_of(*rest))
    audit([folder], store, hands=ALONE)
    assert told == []
    monkeypatch.setattr(together, "code_digest", lambda: "other code")
    audit([folder], store, hands=ALONE)
    assert len(told) == 1
