"""Whatever ends a writer, or stops it, a ride is there whole or not at all; many writers come to the same end."""

import json
import os
import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import ridelog
from ridelog.errors import StoreError
from tests.fleet.store.kept import faults_of, made_ride
from tests.places import ROOT

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are ended as POSIX does it")


@pytest.fixture
def folder(tmp_path):
    """In memory where there is one: what a killed process leaves is the same, and waiting for the disk is not tried."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    place = memory / f"ridelog-{os.getpid()}-{tmp_path.name}"
    place.mkdir()
    yield place
    shutil.rmtree(place)


def told(folder, *arguments) -> list[str]:
    """What `ended` says; its last line counts."""
    run = subprocess.run(
        [sys.executable, "-m", "tests.fleet.store.ended", *arguments],
        cwd=folder, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    return run.stdout.splitlines()


@pytest.mark.parametrize(
    "deed",
    [
        "changed",
        "removed",
        "merged",
        *(
            pytest.param(deed, marks=pytest.mark.proof)
            for deed in ("new", "newer", "rewritten", "changed-shared", "taken-out")
        ),
    ],
)
def test_a_writer_that_is_killed_at_any_of_its_steps_leaves_whole_rides(folder, deed):
    *faults, last = told(folder, "steps", deed)
    assert faults == []
    assert json.loads(last)["ended"] >= 5


def test_a_careless_writer_is_seen(folder):
    assert len(told(folder, "steps", "careless")) > 1


@pytest.mark.parametrize("n", [4, pytest.param(50, marks=pytest.mark.proof)])
def test_a_writer_that_is_killed_at_any_moment_leaves_whole_rides(folder, n):
    *faults, last = told(folder, "moments", str(n), "1")
    assert faults == []
    assert json.loads(last)["ended"] == n


WRITER = """
import sys
import ridelog
from tests.fleet.store.kept import made_ride
store = ridelog.open_store(sys.argv[1], create=True)
for number in map(int, sys.argv[2:]):
    store.write(made_ride(number, bike="Tern" if number % 3 else "Gannet"))
"""


def bytes_of(folder):
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_two_processes_that_write_the_same_and_other_rides_come_to_the_same_end(folder):
    for name, parts in (("one", [range(12)]), ("two", [range(9), reversed(range(3, 12))])):
        writers = [
            subprocess.Popen([sys.executable, "-c", WRITER, str(folder / name), *map(str, part)], cwd=ROOT)
            for part in parts
        ]
        assert [writer.wait() for writer in writers] == [0] * len(parts)
    assert bytes_of(folder / "two") == bytes_of(folder / "one")
    rides = [made_ride(number, bike="Tern" if number % 3 else "Gannet") for number in range(12)]
    assert faults_of(ridelog.open_store(folder / "two"), *rides) == []


FULL = """
import sys
import ridelog
from ridelog.errors import StoreError
from tests.fleet.store.kept import made_ride
store = ridelog.open_store(sys.argv[1])
for number in range(1, 100):
    try:
        store.write(made_ride(number))
    except StoreError as error:
        print(*error.lines(), number - 1, sep="\\n")
        break
"""


def written_until_full(folder, **keywords) -> tuple[str, str, int]:
    """What a writer says that finds no more room, and how many rides it wrote before."""
    run = subprocess.run(
        [sys.executable, "-c", FULL, str(folder)], cwd=ROOT, capture_output=True, text=True, **keywords
    )
    assert (run.returncode, run.stderr) == (0, "")
    message, hint, n_rides = run.stdout.splitlines()
    return message, hint, int(n_rides)


def holds_whole(folder, n_rides):
    store = ridelog.open_store(folder)
    assert len(store.keys()) == n_rides + 1
    assert faults_of(store, *(made_ride(number) for number in range(n_rides + 1))) == []
    assert [*folder.rglob("*.part")] == []


def test_a_quota_is_one_sentence_and_a_whole_store(folder):
    ridelog.open_store(folder, create=True).write(made_ride(0))
    largest = max(path.stat().st_size for path in folder.rglob("*.parquet"))

    def limited():
        resource.setrlimit(resource.RLIMIT_FSIZE, (largest - 500, largest - 500))  # no file may be so large

    message, hint, n_rides = written_until_full(folder, preexec_fn=limited)
    assert message == f"{folder}: cannot be written: file too large; what it held is still there"
    assert hint == "hint: make room, or write to another disk"
    holds_whole(folder, n_rides)


def test_a_full_disk_is_one_sentence_and_a_whole_store(tmp_path):
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=300k", "tmpfs", str(disk)], capture_output=True)
    if mounted.returncode:
        pytest.skip("no small disk may be mounted here; the quota stands for it")
    try:
        ridelog.open_store(disk / "store", create=True).write(made_ride(0))
        message, _, n_rides = written_until_full(disk / "store")
        assert message == f"{disk / 'store'}: cannot be written: no space left on device; what it held is still there"
        assert n_rides > 2
        holds_whole(disk / "store", n_rides)
        store = ridelog.open_store(disk / "store")
        store.remove(made_ride(0).key)  # makes room
        store.write(made_ride(n_rides))
        fill(disk)
        with pytest.raises(StoreError, match=r"catalogue\.sqlite: cannot be written: "):
            store.catalogue.keep_report("x", "y" * 100_000)
    finally:
        subprocess.run(["umount", "-l", str(disk)], check=True)


def fill(disk):
    """Leave nothing."""
    with (disk / "filler").open("wb", buffering=0) as stream:
        try:
            while stream.write(b"0" * 4096):
                pass
        except OSError:
            return
