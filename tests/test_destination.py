"""What a command writes is there whole, or what was there before still is; each cause is told in one sentence."""

import errno
import io
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from ridelog.destination import Outlet, put_whole, refuse_unwritable, refuse_unwritable_folder, written_whole
from ridelog.errors import Exit, RidelogError
from tests.places import ROOT

FULL = Path("/dev/full")  # a device of Linux that takes nothing: every write fails as on a full disk
needs_full = pytest.mark.skipif(not FULL.exists(), reason="this system has no device that is always full")


def full_disk(*_given):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_file_is_there_once_all_of_it_is_written(tmp_path):
    target = tmp_path / "a.json"
    with written_whole(str(target)) as stream:
        stream.write("half")
        assert not target.exists()
        stream.write(" and half\n")
    assert target.read_bytes() == b"half and half\n"
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]


@pytest.mark.parametrize("call", ["os.fsync", "os.replace", "pathlib.Path.replace"])
def test_what_was_there_stays_where_the_new_file_cannot_be_finished(call, tmp_path, monkeypatch):
    target = tmp_path / "a.json"
    target.write_text("old")
    module, name = (os, call[3:]) if call.startswith("os.") else (Path, "replace")
    monkeypatch.setattr(module, name, full_disk)
    if call == "os.replace":  # what the path's own method may or may not use
        monkeypatch.setattr(Path, "replace", lambda self, other: os.replace(self, other))  # noqa: PTH105
    with pytest.raises(RidelogError) as caught, written_whole(str(target)) as stream:
        stream.write("new")
    assert caught.value.lines() == [
        f"{target}: cannot be written: no space left on device; what it held is still there",
        "hint: make room, or write to another disk",
    ]
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]


def stop(stream, fault):
    stream.write("new")
    raise fault


def test_what_was_there_stays_where_the_work_fails_or_is_interrupted(tmp_path):
    target = tmp_path / "a.json"
    target.write_text("old")
    for fault in (KeyboardInterrupt, ZeroDivisionError):
        with pytest.raises(fault), written_whole(str(target)) as stream:
            stop(stream, fault)
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]


def test_a_file_that_is_replaced_hands_on_its_permissions_and_a_link_stays_one(tmp_path):
    target, link = tmp_path / "a.json", tmp_path / "link.json"
    target.write_text("old")
    target.chmod(0o640)
    link.symlink_to(target)
    with written_whole(str(link)) as stream:
        stream.write("new")
    assert link.is_symlink()
    assert target.read_text() == "new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640


def test_a_folder_that_is_not_there_or_a_folder_itself_is_told_before_the_work_is_done(tmp_path):
    for target, line in (
        (tmp_path / "none" / "a.json", f"cannot be written: there is no folder {tmp_path / 'none'}"),
        (tmp_path, "cannot be written: is a directory"),
    ):
        with pytest.raises(RidelogError) as caught:
            refuse_unwritable(str(target))
        assert caught.value.lines()[0] == f"{target}: {line}"


def test_a_folder_that_takes_no_files_is_told_before_the_work_is_done(tmp_path, monkeypatch):
    (tmp_path / "a.json").write_text("old")
    monkeypatch.setattr(os, "access", lambda *_: False)  # the superuser, as whom tests may run, may write anywhere
    with pytest.raises(RidelogError, match=r"permission denied; what it held is still there$"):
        refuse_unwritable(str(tmp_path / "a.json"))


def test_a_folder_for_files_is_tried_out_and_left_as_it_was(tmp_path):
    for folder in (tmp_path / "new", tmp_path):
        refuse_unwritable_folder(str(folder))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("folder", ["/proc", "/proc/charts"])
def test_a_folder_that_takes_no_files_from_anybody_is_told(folder):
    with pytest.raises(RidelogError, match=f"^{folder}: cannot be written"):
        refuse_unwritable_folder(folder)


def test_a_name_that_is_too_long_or_leads_in_a_circle_is_told(tmp_path):
    circle = tmp_path / "circle"
    circle.symlink_to(circle)
    for target in (circle, tmp_path / ("x" * 300)):
        with pytest.raises(RidelogError, match="cannot be written: "), written_whole(str(target)) as stream:
            stream.write("new")
    assert [path.name for path in tmp_path.iterdir()] == ["circle"]


@needs_full
def test_a_device_is_written_to_as_it_is_and_says_that_it_is_full():
    full = pytest.raises(RidelogError, match=r"^/dev/full: cannot be written: no space left on device$")
    with full, written_whole(str(FULL)) as stream:
        stream.write("x" * 100_000)
    with written_whole(os.devnull) as stream:
        stream.write("x")


def test_a_closed_stream_says_so_and_one_that_is_not_needed_says_nothing():
    with pytest.raises(RidelogError, match="standard output: cannot be written: it is closed"):
        Outlet(None, "standard output").write("x")
    assert Outlet(None, "standard error", needed=False).write("x") == 1
    stream = io.StringIO()
    Outlet(stream, "standard output").write("x")
    assert stream.getvalue() == "x"


def run(command, **streams):
    """A command in a shell of its own: its status, and what it said."""
    line = f"{sys.executable} -m ridelog {command}"
    done = subprocess.run(["sh", "-c", line], cwd=ROOT, capture_output=True, text=True)
    return done.returncode, done.stdout, done.stderr


@needs_full
@pytest.mark.parametrize(("redirected", "cause"), [(">&-", "it is closed"), (">/dev/full", "no space left on device")])
@pytest.mark.parametrize("command", ["--help", "columns sample_rides/commute/controller.csv"])
def test_standard_output_that_takes_nothing_is_one_sentence(command, redirected, cause):
    status, _, err = run(f"{command} {redirected}")
    assert status == Exit.UNREADABLE
    assert len(err.splitlines()) == 2
    assert err.startswith(f"standard output: cannot be written: {cause}\nhint: ")


@needs_full
@pytest.mark.parametrize("redirected", ["2>&-", "2>/dev/full"])
def test_messages_that_nobody_gets_do_not_go_to_standard_output(redirected):
    assert run(f"measure no-such-file {redirected}") == (Exit.UNREADABLE, "", "")


def test_a_command_that_cannot_write_its_file_says_so_before_it_reads(tmp_path):
    for command in ("measure no.csv --output", "columns no.csv --write", "coastdown no.csv --write"):
        _, _, err = run(f"{command} {tmp_path}/none/x")
        assert err.startswith(f"{tmp_path}/none/x: cannot be written: there is no folder {tmp_path}/none\n")


def test_files_that_belong_together_are_written_in_their_order_or_not_at_all(tmp_path, monkeypatch):
    named = []
    replace = Path.replace

    def noted(self, target):
        named.append(target.name)
        assert len([*tmp_path.rglob("*.part")]) == 4 - len(named)  # all are there before the first has its name
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", noted)
    contents = {tmp_path / "b" / "2": b"two", tmp_path / "a" / "1": b"one", tmp_path / "3": b""}
    put_whole(contents)
    assert named == ["2", "1", "3"]
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == contents
    (tmp_path / "4").mkdir()
    (tmp_path / "4" / "x").touch()
    with pytest.raises(FileExistsError):
        put_whole({tmp_path / "3": b"other", tmp_path / "4" / "x" / "5": b""})
    assert (tmp_path / "3").read_bytes() == b""
    assert [*tmp_path.rglob("*.part")] == []
