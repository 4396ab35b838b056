"""The file of the password: made at a terminal, believed only where it is its owner's alone and holds a hash."""

import hashlib
import hmac
import os

import pytest

from ridelog.errors import InputError, UsageError
from ridelog.web.door.password import METHOD, hashed, password_of

GOOD = "four cold apples march"


def typing(*answers):
    """What types the answers one after the other, and remembers what it was asked."""
    left = list(answers)
    asked = []

    def ask(prompt):
        asked.append(prompt)
        if not left:
            raise EOFError
        return left.pop(0)

    ask.asked = asked
    return ask


@pytest.fixture(scope="module")
def line():
    """One line of a file, as ridelog writes it."""
    return hashed(GOOD)._hash


def test_where_there_is_no_file_it_is_asked_for_twice_and_made_for_its_owner_alone(tmp_path):
    path, ask = tmp_path / "page.password", typing(GOOD, GOOD)
    before = os.umask(0o000)  # the most open that a system can be
    try:
        made = password_of(path, ask)
    finally:
        assert os.umask(before) == 0o000
    assert len(ask.asked) == 2
    assert made.fits(GOOD)
    text = path.read_text()
    assert text.startswith(f"{METHOD}$")
    assert "apples" not in text
    if os.name == "posix":
        assert path.stat().st_mode & 0o777 == 0o600
    assert [each.name for each in tmp_path.iterdir()] == ["page.password"]
    assert password_of(path, typing()).fits(GOOD)  # read again, nobody is asked
    assert not password_of(path).fits("four cold apples marcH")


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ((GOOD, GOOD + "x"), "not the same"),
        ((), "no password was typed"),
        ((GOOD,), "no password was typed"),
        (("short", "short"), "12 to 128 characters"),
        (("x" * 129, "x" * 129), "12 to 128 characters"),
        (("121212121212121", "121212121212121"), "12 to 128 characters"),
        (("", ""), "12 to 128 characters"),
    ],
)
def test_what_is_typed_and_is_no_good_makes_no_file(tmp_path, answers, words):
    with pytest.raises(UsageError, match=words):
        password_of(tmp_path / "p", typing(*answers))
    assert list(tmp_path.iterdir()) == []


def test_without_a_terminal_a_missing_file_is_told(tmp_path):
    with pytest.raises(UsageError, match="no such file, and no terminal"):
        password_of(tmp_path / "p")


def test_the_hash_is_scrypts_by_another_implementation(line):
    """RFC 7914 by hashlib (OpenSSL), with the parameters and the salt that stand in the line."""
    method, salt, value = line.split("$")
    n, r, p = map(int, method.split(":")[1:])
    own = hashlib.scrypt(GOOD.encode(), salt=salt.encode(), n=n, r=r, p=p, maxmem=2**26).hex()
    assert value == own


def test_two_files_of_one_password_have_nothing_in_common(line):
    assert hashed(GOOD)._hash.split("$")[1:] != line.split("$")[1:]


def test_letters_that_look_the_same_are_the_same():
    """An é as one letter, and as an e with an accent, which keyboards of some systems send."""
    assert hashed("café au lait, café").fits("cafe\u0301 au lait, cafe\u0301")


@pytest.mark.parametrize("change", ["plain", "empty", "weak", "huge", "other", "cut", "odd"])
def test_a_file_that_holds_something_else_is_refused(tmp_path, line, change):
    """The password itself above all; also a hash that is tried in no time, and one that takes all memory."""
    texts = {
        "plain": GOOD,
        "empty": "",
        "weak": line.replace(METHOD, "scrypt:16384:8:1"),
        "huge": line.replace(METHOD, "scrypt:524288:99:1"),
        "other": "pbkdf2:sha256:1000$abcdefghabcdefgh$" + "0" * 64,
        "cut": line[:-1],
        "odd": line.replace(METHOD, "scrypt:99999:8:3"),
    }
    path = tmp_path / "p"
    path.write_text(texts[change])
    path.chmod(0o600)
    with pytest.raises(InputError, match="does not hold the hash of a password"):
        password_of(path, typing(GOOD, GOOD))
    assert path.read_text() == texts[change]


@pytest.mark.skipif(os.name != "posix", reason="permissions of a POSIX system")
@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o666, 0o601])
def test_a_file_that_others_may_read_or_change_is_refused(tmp_path, line, mode):
    path = tmp_path / "p"
    path.write_text(line)
    path.chmod(mode)
    with pytest.raises(InputError) as caught:
        password_of(path)
    assert "others on this computer may read or change it" in caught.value.message
    assert caught.value.hint.startswith(f"chmod 600 {path}")


@pytest.mark.skipif(os.name != "posix", reason="pipes with names are POSIX")
def test_what_is_no_file_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "p", 0o600)
    for path in (tmp_path / "p", tmp_path):
        with pytest.raises(InputError):
            password_of(path)


def test_a_file_is_not_made_where_there_is_no_folder(tmp_path):
    ask = typing(GOOD, GOOD)
    with pytest.raises(Exception, match="no folder"):
        password_of(tmp_path / "gone" / "p", ask)
    assert ask.asked == []


def test_a_wrong_password_takes_the_way_of_the_right_one(line, monkeypatch, tmp_path):
    """Whatever is given: the same work once, and one comparison that looks at all letters."""
    path = tmp_path / "p"
    path.write_text(line)
    path.chmod(0o600)
    password, worked, compared = password_of(path), [], []
    scrypt, same = hashlib.scrypt, hmac.compare_digest
    monkeypatch.setattr(hashlib, "scrypt", lambda *given, **named: worked.append(named) or scrypt(*given, **named))
    monkeypatch.setattr(hmac, "compare_digest", lambda a, b: compared.append((len(a), len(b))) or same(a, b))
    given = (GOOD, "", "f", GOOD[:-1], GOOD + "x", "\x00", "é" * 128)
    assert [password.fits(each) for each in given] == [True] + [False] * 6
    assert len(worked) == len(given)
    assert all(each == worked[0] for each in worked)
    assert set(compared) == {(128, 128)}
    assert len(compared) == len(given)
