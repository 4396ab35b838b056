"""Whether something is at a path that somebody gave."""

import errno
import os
from pathlib import Path

import pytest

from ridelog.there import is_file, is_folder, is_there

LONG = "c" * 300


def test_what_is_there_is_told_from_what_is_not(tmp_path):
    file = tmp_path / "a"
    file.write_text("x")
    assert [is_there(file), is_file(str(file)), is_folder(file)] == [True, True, False]
    assert [is_there(tmp_path), is_file(tmp_path), is_folder(tmp_path)] == [True, False, True]
    assert not is_there(tmp_path / "b")


@pytest.mark.parametrize("path", [LONG, "a\0b"])
def test_where_the_system_cannot_look_nothing_is(path):
    assert not any(look(path) for look in (is_there, is_file, is_folder))


def test_in_a_folder_that_must_not_be_entered_nothing_is(monkeypatch):
    def forbidden(*_given, **_how):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(os, "stat", forbidden)
    assert not any(look(Path("/closed/a")) for look in (is_there, is_file, is_folder))
