"""A script is compressed once; what differs from visitor to visitor never comes from another one's reply."""

import gzip

import pytest
from flask import Flask

from ridelog.web.scripts.smaller import MOST, SCRIPTS, Once, add_compression

ASKED = {"Accept-Encoding": "gzip"}


@pytest.fixture
def client():
    server, served = Flask(__name__), []

    def answer(name: str) -> tuple[str, dict[str, str]]:
        served.append(name)
        return f"{len(served)}".ljust(5000), {"Content-Type": "text/javascript"}

    server.add_url_rule(f"{SCRIPTS}<name>", "script", answer)
    server.add_url_rule("/ride/<name>", "ride", answer)
    add_compression(server)
    return server.test_client()


def read(client, path: str) -> str:
    return gzip.decompress(client.get(path, headers=ASKED).data).decode().strip()


def test_a_script_is_compressed_once(client):
    assert read(client, f"{SCRIPTS}a.js") == "1"
    assert read(client, f"{SCRIPTS}a.js") == "1"
    assert read(client, f"{SCRIPTS}b.js") == "3"
    assert client.get(f"{SCRIPTS}a.js").text.strip() == "4"  # who asks for no coding gets it as it is


def test_any_other_reply_is_its_own(client):
    assert [read(client, "/ride/x") for _ in range(3)] == ["1", "2", "3"]


def test_names_without_end_take_no_memory_without_end():
    held = Once()
    for number in range(3 * MOST):
        held.set(f"br;{number}", b"x")
    assert held.get("br;0") is None
    assert held.get(f"br;{3 * MOST - 1}") == b"x"
    assert sum(held.get(f"br;{number}") is not None for number in range(3 * MOST)) == MOST
