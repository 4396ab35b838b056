"""The page answers to the names that are meant for it, and to others than this computer only where somebody says so."""

import socket

import pytest

from ridelog.errors import UsageError
from ridelog.web.hosts import LOCAL_NAMES, Names, names_for


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "::1", "127.0.0.2", "LOCALHOST", "::ffff:127.0.0.1"])
def test_this_computer_alone_needs_no_word(host):
    names = names_for(host, others_may=False)
    assert names.known >= LOCAL_NAMES
    assert not names.any_number
    assert names.take(f"[{host}]:80" if ":" in host else f"{host}:80")


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "::ffff:192.0.2.7"])
def test_every_other_address_needs_one(host):
    with pytest.raises(UsageError, match="will not listen on"):
        names_for(host, others_may=False)
    assert names_for(host, others_may=True).any_number


def test_a_name_is_what_it_resolves_to(monkeypatch):
    """One of another computer, or of several of which one is another's, is open to others."""
    for numbers, own in ((["127.0.0.1"], True), (["127.0.0.1", "192.0.2.7"], False), (["fe80::1%eth0"], False)):
        infos = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (number, 0)) for number in numbers]
        monkeypatch.setattr(socket, "getaddrinfo", lambda *_, infos=infos, **__: infos)
        if own:
            assert "bikeshed" in names_for("bikeshed", others_may=False).known
        else:
            with pytest.raises(UsageError):
                names_for("bikeshed", others_may=False)


@pytest.mark.parametrize(
    ("host", "taken"),
    [("localhost", True), ("LocalHost.:80", True), ("[::1]:80", True), ("", False), ("x", False),
     ("localhost:x:80", False), ("192.0.2.7", False), ("evil.example:127.0.0.1", False),
     ("[::1].evil.example", False), ("localhost@evil.example", False)],
)  # fmt: skip
def test_only_its_own_names_are_taken(host, taken):
    assert Names().take(host) is taken


def test_numbers_are_taken_where_others_may_come():
    names = names_for("0.0.0.0", others_may=True)
    assert names.take("192.0.2.7:8050")
    assert names.take("[2001:db8::7]:8050")
    assert names.take(socket.gethostname())
    assert not names.take("192.0.2.7.evil.example")
