"""What the owner says of others becomes names and a door."""

import io
import sys
from pathlib import Path

import pytest

from ridelog.errors import UsageError
from ridelog.web.door.access import Protection, access_to, at_terminal, protection_of

GOOD = "four cold apples march"


def test_others_come_in_with_a_password_or_by_the_owners_word(tmp_path):
    with pytest.raises(UsageError, match="will not listen on"):
        access_to("0.0.0.0", Protection())
    assert access_to("0.0.0.0", Protection(unprotected=True)).door is None
    access = access_to("0.0.0.0", Protection(password_file=tmp_path / "p"), lambda: lambda _prompt: GOOD)
    assert access.names.any_number
    assert access.door.password.fits(GOOD)


def test_a_password_is_asked_for_on_this_computer_too(tmp_path):
    access = access_to("127.0.0.1", Protection(password_file=tmp_path / "p"), lambda: lambda _prompt: GOOD)
    assert not access.names.any_number
    assert access.door is not None


def test_where_no_terminal_is_nobody_is_asked(tmp_path, monkeypatch):
    for stdin in (io.StringIO("x\n"), None):
        monkeypatch.setattr(sys, "stdin", stdin)
        assert at_terminal() is None
        with pytest.raises(UsageError, match="no terminal"):
            access_to("127.0.0.1", Protection(password_file=tmp_path / "p"))


def test_the_command_lines_words_are_a_protection():
    assert protection_of("p", unprotected=False) == Protection(password_file=Path("p"))
    assert protection_of(None, unprotected=True) == Protection(unprotected=True)
    assert protection_of("", unprotected=False).password_file is not None
