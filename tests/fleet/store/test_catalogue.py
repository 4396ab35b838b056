"""What was read, when and with which version: kept by many at once, and made anew where it is damaged."""

import sqlite3
import subprocess
import sys
from dataclasses import replace
from threading import Timer
from types import SimpleNamespace

import pytest

from ridelog.errors import StoreError
from ridelog.fleet.store.catalogue import REPORTS, Attempt, Catalogue, Look, _in_wal, locked
from tests.places import ROOT

LOOK = Look("/rides/a.csv", 120, 1_700_000_000_123_456_789, "a" * 64, "csv", "electrical", None, None, "elapsed")
ATTEMPT = Attempt(
    "b" * 64, "a.csv\nb.gpx", "Gannet", "Monday", "failed", "a.csv: is empty", None, "0.1.0", "2026-03-28T06:30:00Z"
)


@pytest.fixture
def catalogue(tmp_path):
    return Catalogue(tmp_path / "catalogue.sqlite")


def test_looks_attempts_and_reports_come_back(catalogue):
    assert (catalogue.looks(), catalogue.attempts(), catalogue.report("x")) == ({}, {}, None)
    catalogue.remember([LOOK, replace(LOOK, path="/rides/b.gpx", format=None)])
    catalogue.note([ATTEMPT])
    catalogue.keep_report("x", "{}")
    again = Catalogue(catalogue.path)
    assert again.looks() == {LOOK.path: LOOK, "/rides/b.gpx": replace(LOOK, path="/rides/b.gpx", format=None)}
    assert again.attempts() == {ATTEMPT.key: ATTEMPT}
    assert again.report("x") == "{}"


def test_a_later_one_takes_the_place_of_an_earlier(catalogue):
    catalogue.remember([LOOK])
    catalogue.remember([replace(LOOK, size=121)])
    catalogue.note([ATTEMPT, replace(ATTEMPT, status="measured", reason=None)])
    catalogue.keep_report("x", "1")
    catalogue.keep_report("x", "2")
    assert catalogue.looks()[LOOK.path].size == 121
    assert catalogue.attempts()[ATTEMPT.key].status == "measured"
    assert catalogue.report("x") == "2"


@pytest.mark.parametrize("content", [b"no database" * 100, b"SQLite format 3\x00" + b"\xff" * 5000, b""])
def test_a_damaged_catalogue_is_made_anew(catalogue, content):
    catalogue.remember([LOOK])
    catalogue.path.write_bytes(content)
    assert catalogue.looks() == {}
    catalogue.remember([LOOK])
    assert catalogue.looks() == {LOOK.path: LOOK}


def test_a_page_that_is_damaged_within_is_as_if_all_were_lost(catalogue):
    catalogue.remember([replace(LOOK, path=f"/rides/{i}.csv") for i in range(500)])
    content = bytearray(catalogue.path.read_bytes())
    content[4096 * 3 : 4096 * 9] = b"\xff" * 4096 * 6
    catalogue.path.write_bytes(content)
    assert catalogue.looks() == {}
    catalogue.remember([LOOK])
    assert catalogue.looks() == {LOOK.path: LOOK}


def test_one_of_another_version_is_made_anew(catalogue):
    catalogue.remember([LOOK])
    with sqlite3.connect(catalogue.path) as database:
        database.execute("PRAGMA user_version = 2")
    database.close()
    assert catalogue.looks() == {}


def test_where_none_can_be_made_is_one_sentence(tmp_path):
    with pytest.raises(StoreError) as caught:
        Catalogue(tmp_path / "none" / "catalogue.sqlite").remember([LOOK])
    assert caught.value.message.endswith("catalogue.sqlite: cannot be written: unable to open database file")


WRITER = """
import sys
from dataclasses import replace
from types import SimpleNamespace
from pathlib import Path
from ridelog.fleet.store.catalogue import Catalogue
from tests.fleet.store.test_catalogue import ATTEMPT
for i in range(60):
    Catalogue(Path(sys.argv[1])).note([replace(ATTEMPT, key=f"{sys.argv[2]} {i}"), replace(ATTEMPT, key=f"both {i}")])
"""


def test_two_processes_write_at_once(catalogue):
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(catalogue.path), name], cwd=ROOT, stderr=subprocess.PIPE)
        for name in ("first", "second")
    ]
    assert [(writer.communicate()[1], writer.returncode) for writer in writers] == [(b"", 0)] * 2
    assert set(catalogue.attempts()) == {f"{name} {i}" for name in ("first", "second", "both") for i in range(60)}


def test_only_the_latest_texts_are_kept(tmp_path):
    catalogue = Catalogue(tmp_path / "catalogue.sqlite")
    for number in range(REPORTS + 3):
        catalogue.keep_report(str(number), "text")
    kept = [number for number in range(REPORTS + 3) if catalogue.report(str(number)) is not None]
    assert kept == list(range(3, REPORTS + 3))


def test_a_lock_goes_with_the_process_that_holds_it(tmp_path):
    path = tmp_path / "lock.sqlite"
    program = (
        "import sys, time; from pathlib import Path; from ridelog.fleet.store.catalogue import locked\n"
        "with locked(Path(sys.argv[1]), 0.0) as ours: print(ours, flush=True); time.sleep(60)"
    )
    held = subprocess.Popen([sys.executable, "-c", program, str(path)], cwd=ROOT, stdout=subprocess.PIPE, text=True)
    assert held.stdout.readline() == "True\n"
    with locked(path, 0.0) as ours:
        assert not ours
    held.kill()
    held.communicate()
    with locked(path, 0.0) as ours:
        assert ours
    with pytest.raises(StoreError, match="cannot be written"), locked(tmp_path / "none" / "lock.sqlite", 0.0):
        pass


@pytest.mark.parametrize(
    ("code", "free", "told"),
    [
        (sqlite3.SQLITE_FULL, 10**9, "no space left"),
        (sqlite3.SQLITE_IOERR_WRITE, 0, "no space left"),
        (sqlite3.SQLITE_IOERR_WRITE, 10**9, "disk I/O error"),
    ],
)
def test_a_full_disk_is_said_however_the_library_calls_it(catalogue, monkeypatch, code, free, told):
    failed = sqlite3.OperationalError("disk I/O error")
    failed.sqlite_errorcode = code

    def opened(_catalogue):
        raise failed

    monkeypatch.setattr(Catalogue, "_opened", opened)
    monkeypatch.setattr("shutil.disk_usage", lambda _folder: SimpleNamespace(free=free))
    with pytest.raises(StoreError, match=told):
        catalogue.note([ATTEMPT])


def test_who_opens_a_new_catalogue_while_another_makes_it_waits(tmp_path):
    """SQLite wants the file alone to change to a log written ahead, and does not wait for it as it does elsewhere."""
    path = tmp_path / "catalogue.sqlite"
    maker = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    maker.execute("CREATE TABLE other (x)")
    maker.execute("BEGIN IMMEDIATE")
    maker.execute("INSERT INTO other VALUES (1)")
    later = Timer(0.3, maker.execute, ["COMMIT"])
    later.start()
    database = sqlite3.connect(path, timeout=0)
    _in_wal(database)
    later.join()
    assert database.execute("PRAGMA journal_mode").fetchone() == ("wal",)
