"""Files of visitors go with the server, also where it was killed: the next one removes what nobody holds."""

import os
import sys
import tempfile
import time

import pytest

from ridelog.web.jobs.folder import JUST_MADE_S, LOCK, PREFIX, made_folder, remove_left

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such locks there")


@pytest.fixture(autouse=True)
def place(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


def left(place, name, age_s=2 * JUST_MADE_S):
    """What a killed server leaves: a ride, and a lock that nobody holds."""
    folder = place / f"{PREFIX}{name}"
    (folder / "job").mkdir(parents=True)
    (folder / "job" / "0").write_text("a ride")
    (folder / LOCK).touch()
    os.utime(folder / LOCK, (time.time() - age_s,) * 2)
    return folder


def test_a_folder_is_its_owners_alone_and_goes(place):
    folder, remove = made_folder()
    assert folder.parent == place
    assert folder.stat().st_mode & 0o777 == 0o700
    remove()
    assert list(place.iterdir()) == []


def test_what_a_killed_server_left_goes_with_the_next_start(place):
    gone = left(place, "x")
    folder, remove = made_folder()
    assert not gone.exists()
    assert folder.exists()
    remove()


def test_the_folder_of_a_server_that_runs_stays(place):
    folder, remove = made_folder()
    os.utime(folder / LOCK, (time.time() - 2 * JUST_MADE_S,) * 2)
    remove_left()
    assert folder.exists()
    remove()


def test_what_may_be_somebody_elses_stays(place):
    """One that is just being made; one without a lock; a link that leads elsewhere; a file; another name."""
    young = left(place, "young", age_s=0)
    bare = place / f"{PREFIX}bare"
    bare.mkdir()
    elsewhere = left(place, "x").rename(place / "elsewhere")
    (place / f"{PREFIX}link").symlink_to(elsewhere)
    (place / f"{PREFIX}file").write_text("x")
    remove_left()
    assert all(each.exists() for each in (young, bare, elsewhere / "job" / "0", place / f"{PREFIX}file"))
