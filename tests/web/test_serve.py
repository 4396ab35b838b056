"""The page is served from this computer, or a sentence says why it cannot be."""

import http.client
import json
import signal
import socket
import subprocess
import sys
import urllib.request

import pytest

from ridelog.errors import UsageError
from ridelog.web.door.access import Protection
from ridelog.web.serve import serve
from tests.places import ROOT


def test_a_port_that_is_taken_is_told_in_words():
    """Another program on the port: an error with a way out."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(UsageError, match=r"cannot listen on 127\.0\.0\.1, port \d+: address already in use"):
            serve(port=taken.getsockname()[1])


@pytest.mark.parametrize(
    ("host", "port"), [("not a host", 0), ("203.0.113.7", 0), ("127.0.0.1", 70000), ("127.0.0.1", -1), ("", 0)]
)
def test_an_address_that_cannot_be_had_is_told_in_words(host, port):
    """Names that are none, another computer's address (203.0.113.0/24 is for examples) and impossible ports."""
    with pytest.raises(UsageError, match="cannot listen on"):
        serve(host=host, port=port, protection=Protection(unprotected=True))


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "203.0.113.7"])
def test_an_address_that_others_reach_takes_a_word_that_they_may(host):
    with pytest.raises(UsageError) as caught:
        serve(host, 0)
    assert caught.value.lines()[0].startswith(f"will not listen on {host}: everybody who reaches it there could use")
    assert "--unprotected" in caught.value.hint


def test_who_lets_others_in_is_told_what_that_means_and_foreign_names_stay_out():
    script = ROOT / "app.py"
    command = [sys.executable, script, "--port", "0", "--host", "0.0.0.0", "--unprotected"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as program:
        try:
            port = int(program.stdout.readline().rstrip("/\n").rpartition(":")[2])
            for name, status in (("192.0.2.7", 200), (socket.gethostname(), 200), ("evil.example", 403)):
                connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
                connection.request("GET", "/_dash-layout", headers={"Host": f"{name}:{port}"})
                assert connection.getresponse().status == status
                connection.close()
        finally:
            program.kill()
        said = program.stderr.read()
    assert said.startswith("warning: everybody who reaches 0.0.0.0 can use this page")


def _heed_interrupts():
    """Tests that run in the background have interrupts ignored, and so would the program that they start."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def test_app_py_prints_its_address_answers_there_and_ends_when_interrupted(tmp_path):
    """The program prints an address that answers; Ctrl-C ends it with status 130 and no traceback."""
    script = ROOT / "app.py"
    with subprocess.Popen(
        [sys.executable, script, "--port", "0"],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=_heed_interrupts,  # noqa: PLW1509 - nothing of these tests runs in threads
    ) as program:
        try:
            address = program.stdout.readline().removeprefix("ridelog: ").strip()
            assert address.startswith("http://127.0.0.1:")
            with urllib.request.urlopen(f"{address}_dash-layout", timeout=20) as reply:
                assert json.load(reply)["type"] == "MantineProvider"
            program.send_signal(signal.SIGINT)
            _, complaints = program.communicate(timeout=20)
        finally:
            program.kill()
    assert program.returncode == 130
    assert "Traceback" not in complaints


def test_a_name_that_is_no_host_is_not_blamed_on_another_program():
    """A name that does not resolve: no error number of the system, and a hint at the address."""
    with pytest.raises(UsageError) as caught:
        serve("not a host", 0)
    assert "[Errno" not in caught.value.message
    assert caught.value.hint == "is --host an address of this computer? 127.0.0.1 is this computer alone"
