"""The same audit through a real Dask scheduler and two workers, into object storage, and after the worst interrupts."""

import json
import os
import signal
import subprocess
import sys
import time
from datetime import timedelta

import pytest

from ridelog.fleet.audit import Hands, audit
from ridelog.fleet.store.store import open_store
from sample_rides.fleet import LogPlan, write_fleet
from tests.fleet.cluster import SETTINGS, kill, running_cluster
from tests.fleet.recordings import MONDAY, write_log

ALONE = Hands(workers=1)


def write_bike(folder, n_rides, *, seconds=60):
    (folder / "heron").mkdir(parents=True)
    (folder / "heron" / "bike.toml").write_text("[bike]\ntotal_mass_kg = 100.0\n")
    for k in range(n_rides):
        start = MONDAY + timedelta(hours=k)
        write_log(folder / "heron" / f"ride{k}" / "log.csv", start, seconds=seconds, current_a=k)
    return folder


@pytest.fixture
def cluster(tmp_path):
    with running_cluster(tmp_path) as running:
        yield running


def told_alike(one, other):
    return {**one.to_dict(), "measured": 0, "unchanged": 0} == {**other.to_dict(), "measured": 0, "unchanged": 0}


def test_a_cluster_measures_the_same_also_where_a_worker_is_killed_in_the_middle(tmp_path, cluster):
    address, workers = cluster
    folder = write_bike(tmp_path / "bikes", 8)
    stores = [open_store(tmp_path / name, create=True) for name in ("alone", "cluster")]
    alone = audit([folder], stores[0], hands=ALONE)

    def told(progress):
        if progress.done == 2:
            kill(workers[0])

    together = audit([folder], stores[1], hands=Hands(scheduler=address), told=told)
    assert (together.measured, together.failed) == (8, ())
    assert told_alike(alone, together)
    assert stores[0].keys() == stores[1].keys()


def test_object_storage_takes_an_audit_as_a_folder_does(tmp_path, bucket):
    folder = write_bike(tmp_path / "bikes", 3)
    far = open_store(f"{bucket}/audit-{time.time_ns()}", create=True)
    alone = audit([folder], open_store(tmp_path / "store", create=True), hands=ALONE)
    first, second = (json.loads(begun(folder, far.address).communicate(timeout=120)[0]) for _ in range(2))
    assert [first["measured"], first["failed"], second["measured"], second["unchanged"]] == [3, [], 0, 3]
    assert first["bikes"] == second["bikes"] == alone.to_dict()["bikes"]
    assert first["hills"] == second["hills"] == alone.to_dict()["hills"]


PROGRAM = """
import sys
from ridelog.cli import main
sys.exit(main(["audit", sys.argv[1], "--store", sys.argv[2], "--workers", "2", "--json"], sys.stdout, sys.stderr))
"""

HELD = """
import time
import ridelog.fleet.audit as module
audit = module.audit
def held(folders, store, hands, told):
    def heard(progress):
        told(progress)
        if progress.done == 2:
            print("two are there", flush=True)
            time.sleep(600)
    return audit(folders, store, hands=hands, told=heard)
module.audit = held
"""


def begun(folder, store, program=PROGRAM):
    return subprocess.Popen(
        [sys.executable, "-c", program, str(folder), str(store)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ, **SETTINGS},
        start_new_session=True,
    )  # fmt: skip


def killed_and_run_to_the_end(tmp_path, n_kills, n_rides):
    """An audit killed again and again, at other moments of the time that the whole of it takes, then run to its end."""
    folder = write_bike(tmp_path / "bikes", n_rides)
    begin = time.monotonic()
    begun(folder, tmp_path / "alone").communicate(timeout=300)
    takes_s = time.monotonic() - begin
    alone = audit([folder], open_store(tmp_path / "alone"), hands=ALONE)
    place = tmp_path / "store"
    for k in range(n_kills):
        process = begun(folder, place)
        time.sleep(takes_s * (0.1 + 0.8 * ((k + 1) * 0.618 % 1)))
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
    store = open_store(place, create=True)
    before = len(store.keys())
    result = audit([folder], store, hands=Hands(workers=2))
    assert (result.measured, result.unchanged) == (n_rides - before, before)
    assert told_alike(alone, result)
    assert len(store.answers()) == len(store.keys()) == n_rides
    for key in list(store.keys()):
        assert store.answer(key).to_dict() == open_store(tmp_path / "alone").answer(key).to_dict()
        assert len(store.series(key)) == 61
    return before


def test_killed_again_and_again_an_audit_loses_doubles_and_halves_nothing(tmp_path):
    killed_and_run_to_the_end(tmp_path, 3, n_rides=10)


@pytest.mark.proof
def test_killed_fifty_times_as_well(tmp_path):
    assert killed_and_run_to_the_end(tmp_path, 50, n_rides=24) == 24  # in the end, all of it was there


def test_an_interrupt_ends_with_its_status_and_a_whole_store(tmp_path):
    folder = write_bike(tmp_path / "bikes", 24)
    process = begun(folder, tmp_path / "store", HELD + PROGRAM)
    assert process.stdout.readline() == "two are there\n"
    os.killpg(process.pid, signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 130
    assert told.splitlines()[-1] == "interrupted"
    assert "Traceback" not in told
    store = open_store(tmp_path / "store")
    assert 2 <= len(store.answers()) == len(store.keys()) < 24


def test_two_audits_at_once_come_to_the_same_end(tmp_path):
    folder = write_bike(tmp_path / "bikes", 10)
    alone = audit([folder], open_store(tmp_path / "alone", create=True), hands=Hands(workers=2))
    processes = [begun(folder, tmp_path / "store") for _ in range(2)]
    told = [process.communicate(timeout=120)[1] for process in processes]
    assert [process.returncode for process in processes] == [0, 0], told
    store = open_store(tmp_path / "store")
    assert len(store.answers()) == 10
    assert told_alike(alone, audit([folder], store, hands=ALONE))


def test_a_full_disk_ends_an_audit_in_one_sentence_and_leaves_a_whole_store(tmp_path):
    folder, place = write_bike(tmp_path / "bikes", 30), tmp_path / "small"
    place.mkdir()
    if os.geteuid() or subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", str(place)]).returncode:
        pytest.skip("a small disk can be mounted by root only")
    try:
        process = begun(folder, place / "store")
        told = process.communicate(timeout=120)[1].splitlines()
        assert process.returncode == 3, told
        assert "no space left" in told[-2]
        assert told[-1].startswith("hint: ")
        store = open_store(place / "store")
        assert 0 < len(store.keys()) < 30
        assert all(len(store.series(key)) == 61 for key in list(store.keys()))
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


def test_of_a_fleet_with_broken_files_each_is_listed_and_all_others_are_measured(tmp_path):
    """A cut log may be read as far as it goes: what is refused is listed once, and nothing else is missing."""
    truth = write_fleet(tmp_path / "fleet", n_bikes=2, rides_per_bike=10, seed=8, logs=LogPlan(hostile=0.4))
    result = audit([tmp_path / "fleet"], open_store(tmp_path / "store", create=True), hands=Hands(workers=2))
    broken = [ride for ride in truth["rides"] if ride["broken"] is not None]
    assert len(broken) >= 4
    assert sum(bike.rides for bike in result.bikes) >= len(truth["rides"]) - len(broken)
    assert result.failed
    assert all(failure.reason and failure.hint for failure in result.failed)
    hurt = {name for ride in broken for name in ride["files"]}
    assert {failure.path.removeprefix(f"{tmp_path}/fleet/") for failure in result.failed} <= hurt
    assert len({failure.path for failure in result.failed}) == len(result.failed)
