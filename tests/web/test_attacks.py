"""What somebody tries who wants more than a page: against the program as it is started, behind its password.

Each is refused with a sentence, or is taken for what it is; afterwards the page still answers, no larger than before.
"""

import json
import os
import re
import signal
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psutil
import pytest

from ridelog.web.door.password import hashed
from ridelog.web.jobs.folder import JUST_MADE_S, LOCK, PREFIX
from tests.web.program import SECRET, Page, Visitor, form, zipped

LOG = b"time [s],battery current [A],battery voltage [V]\n" + b"".join(b"%d,3,48\n" % t for t in range(600))
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="kills processes as POSIX has it")


def password_file(folder: Path) -> Path:
    path = folder / "page.password"
    path.touch(mode=0o600)
    path.write_text(hashed(SECRET)._hash)
    return path


@contextmanager
def near_folder() -> Iterator[Path]:
    """A folder of a short name: sockets of processes lie in it, whose paths the system keeps to 107 letters."""
    with tempfile.TemporaryDirectory(prefix="rl") as folder:
        yield Path(folder)


@pytest.fixture
def near() -> Iterator[Path]:
    with near_folder() as folder:
        yield folder


@pytest.fixture(scope="module")
def program() -> Iterator[Page]:
    with near_folder() as folder, Page(folder, "--password-file", str(password_file(folder))) as page:
        yield page


@pytest.fixture
def page(program: Page) -> Page:
    """The page, seen by who has logged in."""
    if program.ask("GET", "/_dash-layout")[0] != 200:
        assert program.log_in() == 303
    return program


def test_who_has_not_logged_in_gets_nothing_and_guesses_slowly(program):
    """By the real server: a caller from afar is one whom a program in front names."""
    program.cookies.clear()
    assert program.ask("GET", "/_dash-layout")[0] == 401
    assert program.send([("a.csv", LOG)])[0] == 401
    assert program.ask("GET", "/fleet")[0] == 401
    statuses = [program.log_in("wrong", X_Forwarded_For="192.0.2.7") for _ in range(14)]
    assert set(statuses[:6]) == {403}
    assert 429 in statuses[6:]  # the waits pass 1, 2, 4 … s, however long a check takes on this machine
    assert program.ask("GET", "/_dash-layout")[0] == 401
    assert program.log_in() == 303
    assert program.ask("GET", "/_dash-layout")[0] == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": ""},
        {"Origin": "null"},
        {"Sec_Fetch_Site": "cross-site"},
        {"Host": "evil.example"},
        {"Host": "evil.example", "Origin": "http://evil.example"},
    ],
)
def test_another_site_gets_nothing_done_by_a_browser_that_has_logged_in(page, headers):
    for method, path in (
        ("POST", "/upload"),
        ("POST", "/_dash-update-component"),
        ("POST", "/logout"),
        ("DELETE", "/x"),
    ):
        assert page.ask(method, path, b"{}", Content_Type="application/json", **headers)[0] == 403
    assert page.ask("GET", "/_dash-layout")[0] == 200


@pytest.mark.parametrize(
    "name",
    [
        "../../../../evil.csv",
        "/etc/cron.d/evil.csv",
        "..\\..\\evil.csv",
        "C:\\evil.csv",
        "%2e%2e%2fevil.csv",
        "....//evil.csv",
        "evil.csv\x00.gpx",
        "-rf.csv",
        "a" * 5000 + ".csv",
        "CON",
        "<script>evil</script>.csv",
    ],
)
def test_a_name_is_never_a_place(page, name):
    """Files lie under numbers, wherever their names point."""
    status, said = page.send([(name, LOG)])
    assert status < 500, said
    assert "<script>" not in said
    names = [name for _, folders, files in os.walk(page.temporary.parent) for name in (*folders, *files)]
    assert names
    assert not [name for name in names if "evil" in name]
    assert not Path("/etc/cron.d/evil.csv").exists()


def test_a_bomb_takes_no_memory_of_the_server(page):
    """400 MB of zeros in 400 kB, of zip and of zip in zip: opened beside the server, if at all."""
    inner = zipped({"a.csv": b"0" * 200_000_000, "b.csv": b"0" * 200_000_000})
    before_mb = page.size_mb()
    for content in (inner, zipped({"a.zip": inner})):
        assert page.send([("bomb.zip", content)])[0] < 500
    done = threading.Thread(target=page.settled)
    done.start()
    assert most_mb(page, done) - before_mb < 150
    assert page.ask("GET", "/_dash-layout")[0] == 200


def test_ten_thousand_small_files_are_refused_in_a_sentence(page):
    """As parts of one form, and as members of one archive."""
    before = page.files()
    status, said = page.send([(f"{n}.csv", b"t,x\n") for n in range(10_000)])
    assert status == 413
    assert json.loads(said)["message"].endswith(".")
    assert page.files() <= before
    many = zipped({f"{n}.csv": b"t,x\n" for n in range(10_000)})
    assert page.send([("many.zip", many)])[0] < 500
    assert page.ask("GET", "/_dash-layout")[0] == 200


@pytest.mark.parametrize(
    "path",
    [
        "/upload/guess",
        "/upload/" + "x" * 3000,
        "/upload/../../etc/passwd",
        "/upload/%2e%2e%2f%2e%2e%2fetc%2fpasswd",
        "/column-map/guess/0.toml",
        "/column-map/..%2f..%2fetc%2fpasswd/0.toml",
        "/column-map/x/" + "9" * 3000 + ".toml",
        "/assets/..%2f..%2fapp.py",
        "/assets/%2e%2e/app.py",
        "/assets//etc/passwd",
        "/_dash-component-suites/dash/..%2f..%2fapp.py",
        "/_dash-component-suites/ridelog/web/app.py",
        "/_dash-component-suites/os/x.js",
        "/%00",
    ],
)
def test_a_forged_address_leads_to_nothing_of_the_disk(page, path):
    for method in ("GET", "DELETE"):
        status, said = page.ask(method, path)
        assert status < 500, said
        assert "root:" not in said
        assert "import" not in re.sub(r"<script.*?</script>", "", said, flags=re.DOTALL)


FORGED: tuple[Any, ...] = (
    None,
    [],
    {},
    {"output": "ride.data"},
    {
        "output": "nobody.children",
        "outputs": {"id": "nobody", "property": "children"},
        "inputs": [],
        "changedPropIds": [],
    },
    {"output": "answer.children", "outputs": [], "inputs": [{"id": "ride", "property": "data", "value": {"token": 1}}]},
    {"output": "..ride.data...answer.children..", "outputs": [], "inputs": [{"id": "__proto__", "property": "x"}]},
)


@pytest.mark.parametrize("call", FORGED, ids=lambda call: json.dumps(call)[:30])
def test_a_call_that_the_page_never_makes_is_refused_in_a_sentence(page, call):
    for kind in ("application/json", "text/plain", ""):
        status, said = page.ask("POST", "/_dash-update-component", json.dumps(call).encode(), Content_Type=kind)
        assert 400 <= status < 500
        assert re.fullmatch(r"[A-Z][^\n<]*\.\n?", said), said


@pytest.mark.parametrize("method", ["GET", "PUT", "DELETE", "PATCH", "HEAD", "OPTIONS", "TRACE", "X"])
@pytest.mark.parametrize(
    "path", ["/_dash-update-component", "/upload", "/_dash-layout", "/_reload-hash", "/", "/fleet/x"]
)
def test_no_method_is_a_fault_of_the_server(page, method, path):
    assert page.ask(method, path)[0] < 500


def test_an_upload_that_is_cut_leaves_nothing(page):
    before, before_mb = page.files(), page.size_mb()
    kind, body = form([("a.csv", LOG * 500)])
    head = (
        f"POST /upload HTTP/1.1\r\nHost: 127.0.0.1:{page.port}\r\nOrigin: {page.origin}\r\nContent-Type: {kind}\r\n"
        f"Cookie: {'; '.join(f'{a}={b}' for a, b in page.cookies.items())}\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    for _ in range(20):
        with socket.create_connection(("127.0.0.1", page.port), timeout=20) as connection:
            connection.sendall(head.encode() + body[: len(body) // 2])
            connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\x01\0\0\0\0\0\0\0")  # gone without a word
    assert page.ask("GET", "/_dash-layout")[0] == 200  # who comes after them is answered when they were heard
    end = time.monotonic() + 60
    while not page.files() <= before:
        assert time.monotonic() < end, page.files() - before
        time.sleep(0.05)
    assert page.size_mb() - before_mb < 50


def test_a_form_that_says_another_length_or_ends_early_is_no_fault(page):
    kind, body = form([("a.csv", LOG)])
    for wrong in (body[:-40], body.replace(b"--\r\n", b""), b"--x", b""):
        assert page.ask("POST", "/upload", wrong, Content_Type=kind)[0] < 500


def test_what_a_killed_server_leaves_is_gone_with_the_next_and_in_nobodys_way(near):
    """Killed while it measures: what measures ends with it, and the next start finds a folder that it clears."""
    long = b"time [s],battery current [A],battery voltage [V]\n" + b"".join(b"%d,3,48\n" % t for t in range(900_000))
    with Page(near) as page:
        assert page.send([("a.csv", long)])[0] < 400
        others = []
        end = time.monotonic() + 120
        while len(others) < 3 and time.monotonic() < end:  # what processes are made from, and one that measures
            others = psutil.Process(page.program.pid).children(recursive=True)
            time.sleep(0.01)
        assert len(others) >= 3
        assert page.files()
        page.program.send_signal(signal.SIGKILL)
        page.program.wait()
        _, alive = psutil.wait_procs(others, timeout=60)
        assert alive == []
    (left,) = page.temporary.glob(f"{PREFIX}*")
    os.utime(left / LOCK, (time.time() - 2 * JUST_MADE_S,) * 2)  # as though it were left an hour ago
    with Page(near) as again:
        assert again.ask("GET", "/_dash-layout")[0] == 200
        assert again.send([("a.csv", LOG)])[0] < 400
        assert not left.exists()
        again.program.send_signal(signal.SIGTERM)
        assert again.program.wait(timeout=30) == 130
        assert list(page.temporary.glob(f"{PREFIX}*")) == []


def test_a_report_that_a_killed_server_was_making_is_told_as_gone_and_made_anew(near):
    """By the next start nothing of it is left; its address says so, and who asks again gets it."""
    with Page(near) as page:
        path = ordered_report(page)
        folders = [name for name in page.files() if "orders" in Path(name).parts]
        assert folders
        page.program.send_signal(signal.SIGKILL)
        page.program.wait()
    (left,) = page.temporary.glob(f"{PREFIX}*")
    os.utime(left / LOCK, (time.time() - 2 * JUST_MADE_S,) * 2)
    with Page(near) as again:
        status, said = again.ask("GET", path)
        assert status == 404
        assert "no longer kept" in said
        assert not left.exists()
        path = ordered_report(again)
        end = time.monotonic() + 120
        while f"{path}/report.html" not in again.ask("GET", path)[1]:
            assert time.monotonic() < end
            time.sleep(0.2)
        report = again.ask("GET", f"{path}/report.html")[1].replace("\u00a0", " ").replace("\u202f", " ")
        assert "24.0 Wh" in report  # 3 A at 48 V for 599 s


def ordered_report(page: Page) -> str:
    """The address of a report that somebody has just asked for."""
    assert page.send([("a.csv", LOG)])[0] < 400
    ride = page.settled()["go"]
    token = re.search(r'name="token" value="([^"]+)"', page.ask("GET", f"{ride}/report")[1])
    kind = "application/x-www-form-urlencoded"
    status, said = page.ask("POST", f"{ride}/report", f"token={token[1]}".encode(), Content_Type=kind)
    assert status == 303
    return re.search(r'href="([^"]*/report/[^"]+)"', said)[1]


def test_behind_a_program_that_speaks_tls_the_cookie_goes_that_way_alone(program):
    """As docs/serving.md has it set up: the page's own name as Host, the browser's name and address beside it."""
    visitor = program.visitor("192.0.2.9")
    front = {"Origin": "https://bikes.example", "X_Forwarded_Host": "bikes.example", "X_Forwarded_Proto": "https"}
    assert visitor.log_in(**front) == 303
    assert f"__Host-ridelog-{program.port}" in visitor.cookies
    assert f"ridelog-{program.port}" not in visitor.cookies
    assert visitor.ask("GET", "/_dash-layout", **front)[0] == 200
    assert visitor.ask("POST", "/upload", b"", **front)[0] == 400  # taken for what it is: a form without a file
    assert visitor.ask("POST", "/upload", b"", **{**front, "Origin": "https://evil.example"})[0] == 403


def others(page: Page, n: int) -> list[Visitor]:
    """Visitors with browsers of their own, who have logged in as well."""
    visitors = [page.visitor(f"192.0.2.{number + 10}") for number in range(n)]
    for each in visitors:
        each.cookies = {name: value for name, value in page.cookies.items() if "visitor" not in name}
    return visitors


def most_mb(page: Page, while_running: threading.Thread) -> float:
    """The most memory of the server until a thread has ended."""
    worst_mb = page.size_mb()
    while while_running.is_alive():
        worst_mb = max(worst_mb, page.size_mb())
        time.sleep(0.02)
    return worst_mb


def test_a_hundred_megabytes_pass_by_the_memory_of_the_server(page):
    before_mb = page.size_mb()
    sent = threading.Thread(target=page.send, args=([("large.bin", os.urandom(1_000_000) * 100)],))
    sent.start()
    assert most_mb(page, sent) - before_mb < 50
    assert page.ask("GET", "/_dash-layout")[0] == 200


def test_ten_visitors_at_once_get_each_their_own_answer(page):
    """By hand: k ampere for 50 of each 60 s, over 5 min, are 250 k / 3600 Ah."""
    drawn_ah: dict[int, float] = {}

    def one(k: int, visitor: Visitor) -> None:
        rows = b"".join(b"%d,%d,48\n" % (t, k if t % 60 < 50 else 0) for t in range(301))
        _, said = visitor.send([("ride.csv", b"time [s],battery current [A],battery voltage [V]\n" + rows)])
        assert json.loads(said)["pending"]
        answer = json.loads(visitor.ask("GET", f"{visitor.settled()['go']}/answer.json")[1])
        drawn_ah[k] = answer["charge"]["drawn_ah"]["value"]

    threads = [threading.Thread(target=one, args=pair) for pair in enumerate(others(page, 10), start=1)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert drawn_ah == {k: pytest.approx(250 * k / 3600, rel=0.04) for k in range(1, 11)}


def test_two_hundred_uploads_of_forty_visitors_leave_the_server_as_large_as_it_was(page):
    """They left 1.5 MB; 200 ways to hold a file, a tray, a ride or a reply for good would be seen in 200.

    The last of all, as nobody waits until these files have been looked into.
    """
    page.send([("a.csv", b"no log")])
    before_mb = page.size_mb()
    for visitor in others(page, 40):
        for n in range(5):
            assert visitor.send([(f"{n}.csv", b"no log either, %d" % n)])[0] < 400
    assert page.size_mb() - before_mb < 10


@pytest.mark.proof
def test_rides_given_again_and_again_take_the_room_of_those_that_are_held(near):
    """200 rides, each of 600 samples of 12 columns of 8 bytes at most, 58 kB: 12 MB, and as much again around them."""
    with Page(near) as page:
        visitors = [page.visitor(f"192.0.2.{number + 10}") for number in range(10)]

        def given(n: int) -> None:
            for k, visitor in enumerate(visitors):
                rows = b"".join(b"%d,%d,48\n" % (t, (k + n) % 9 + 1 if t % 60 < 50 else -2) for t in range(600))
                head = b"time [s],battery current [A],battery voltage [V]\n"
                assert visitor.send([(f"{n}.csv", head + rows)])[0] < 400
            for visitor in visitors:
                assert visitor.settled()["go"]

        for n in range(2):
            given(n)
        before_mb = page.size_mb()
        for n in range(2, 22):
            given(n)
        assert page.size_mb() - before_mb < 24
