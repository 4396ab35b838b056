"""How long visitors wait while others attack, and what uploads leave behind: ``python -m tests.benchmarks.visitors``.

Ten visitors look at the page, send a ride of ten minutes and follow it to its answer, by turns alone and beside 50
connections from one address that say nothing, send by drops, or send what is hard to read. Waiting is wall time; alone
and beside are measured in the same run, so that their ratio means something on a machine that others use as well. The
attackers are a process of their own: as threads of this one they made it wait, and not the page. How long the page's
threads waited for a core of the machine is told beside how long they worked, where the system says so.
"""

import argparse
import contextlib
import json
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil

from tests.web.program import Page, Visitor, zipped

N_HONEST, N_HOSTILE = 10, 50
ATTACKER = "198.51.100.1"
LOG = b"time [s],battery current [A],battery voltage [V]\n" + b"".join(
    b"%d,%d,48\n" % (t, -2 if t % 60 > 40 else 3) for t in range(600)
)


def visit(visitor: Visitor, times_s: list[float]) -> float:
    """Look, send a ride, follow it; each request's time is added; returns how long the answer took [s]."""

    def asked(path: str) -> tuple[int, str]:
        began_s = time.monotonic()
        reply = visitor.ask("GET", path)
        times_s.append(time.monotonic() - began_s)
        return reply

    asked("/")
    asked("/_dash-layout")
    began_s = time.monotonic()
    status, said = visitor.send([("log.csv", LOG)])
    times_s.append(time.monotonic() - began_s)
    if status >= 400:
        raise SystemExit(f"an honest upload was refused: {status} {said}")
    told = json.loads(said)
    path = f"/upload/{told['job']}" if "job" in told else "/tray"
    while status == 202 or told.get("pending"):
        time.sleep(0.4)  # as the page does
        status, said = asked(path)
        told = json.loads(said)
    if not (told.get("answered") or told.get("go")):
        raise SystemExit(f"an honest ride got no answer: {status} {said}")
    return time.monotonic() - began_s


def honest(page: Page, n_rounds: int) -> tuple[list[float], list[float]]:
    """Times of all requests, and from files to answer, of visitors at the same time [s]."""
    times_s: list[float] = []
    answers_s: list[float] = []

    def one(number: int) -> None:
        visitor = page.visitor(f"192.0.2.{number}")
        answers_s.extend(visit(visitor, times_s) for _ in range(n_rounds))

    together(one, N_HONEST)
    return times_s, answers_s


def together(what: Callable[[int], None], n: int) -> None:
    threads = [threading.Thread(target=what, args=(number,)) for number in range(n)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()


@contextlib.contextmanager
def hostile(page: Page) -> Iterator[None]:
    """Attackers in a process of their own."""
    command = [sys.executable, "-m", "tests.benchmarks.visitors", "--attack", str(page.port)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as attackers:
        assert attackers.stdout is not None
        attackers.stdout.readline()  # they have begun
        try:
            yield
        finally:
            attackers.kill()


def attack(port: int) -> None:
    """Connections of one attacker that do one of five things, again and again, until this process is killed."""
    over = threading.Event()
    post = b"POST /upload HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 100000000\r\n\r\n"
    bomb = zipped({"a.csv": b"0,1,2\n" * 10_000_000})

    def held(head: bytes, drop: bytes) -> None:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=5) as connection:
            connection.sendall(head)
            while not over.wait(0.5):
                connection.sendall(drop)

    def sends() -> None:
        with contextlib.suppress(OSError, ValueError):
            Visitor(port, ATTACKER).send([("bomb.zip", bomb)], n_tries=1)

    def calls() -> None:
        with contextlib.suppress(OSError, ValueError):
            Visitor(port, ATTACKER).ask("POST", "/_dash-update-component", b"[" * 100_000)

    doings: list[Callable[[], None]] = [
        lambda: held(b"", b""), lambda: held(b"GET / HT", b"x"), lambda: held(post, b"y"), sends, calls
    ]  # fmt: skip

    def one(number: int) -> None:
        while not over.wait(0.05):
            doings[number % len(doings)]()

    threads = [threading.Thread(target=one, args=(number,), daemon=True) for number in range(N_HOSTILE)]
    for each in threads:
        each.start()
    print("begun", flush=True)
    over.wait()


def on_cores(page: Page) -> tuple[float, float]:
    """How long the page's threads worked, and how long they waited for a core [s]; nothing where nobody says so."""
    worked_ns = waited_ns = 0
    for thread in Path(f"/proc/{page.program.pid}/task").glob("*/schedstat"):
        with contextlib.suppress(OSError):  # it ended meanwhile
            worked, waited, _ = thread.read_text().split()
            worked_ns, waited_ns = worked_ns + int(worked), waited_ns + int(waited)
    return worked_ns / 1e9, waited_ns / 1e9


def p95(values: list[float]) -> float:
    return statistics.quantiles(values, n=20)[-1]


def waiting(page: Page, n_rounds: int) -> None:
    """Print how long is waited, alone and beside attacks, twice by turns."""
    kept: dict[str, tuple[list[float], list[float]]] = {"alone": ([], []), "beside": ([], [])}
    for name in ("alone", "beside", "beside", "alone"):
        with hostile(page) if name == "beside" else contextlib.nullcontext():
            before, began_s = on_cores(page), time.monotonic()
            requests_s, answers_s = honest(page, n_rounds)
            worked_s, waited_s = (now - then for now, then in zip(on_cores(page), before, strict=True))
            took_s = time.monotonic() - began_s
            print(f"{name}: of {took_s:.0f} s the page worked {worked_s:.1f}, waited {waited_s:.1f} for a core")
            kept[name][0].extend(requests_s)
            kept[name][1].extend(answers_s)
    for place, what in enumerate(("requests", "answers")):
        alone, beside = kept["alone"][place], kept["beside"][place]
        print(
            f"{what}: {len(alone)} alone, {len(beside)} beside; median {statistics.median(alone):.3f} -> "
            f"{statistics.median(beside):.3f} s, 95 of 100 within {p95(alone):.3f} -> {p95(beside):.3f} s, "
            f"ratio {p95(beside) / p95(alone):.2f}",
            flush=True,
        )


def memory(page: Page, n_uploads: int) -> None:
    """Print the memory of the server and of what measures beside it, after so many uploads."""
    server = psutil.Process(page.program.pid)
    done = 0
    for target in (20, 100, n_uploads // 2, n_uploads):
        while done < target:
            honest(page, 2)
            done += 2 * N_HONEST
        time.sleep(3)
        beside = sum(each.memory_info().rss for each in server.children(recursive=True))
        print(
            f"{done} uploads: server {server.memory_info().rss / 1e6:.0f} MB, beside it {beside / 1e6:.0f} MB",
            flush=True,
        )


def main() -> None:
    """Measure both."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=4, help="visits of each visitor, of each of two turns")
    parser.add_argument("--uploads", type=int, default=500)
    parser.add_argument("--attack", type=int, help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.attack:
        attack(arguments.attack)
        return
    with tempfile.TemporaryDirectory() as folder, Page(Path(folder)) as page:
        honest(page, 1)
        waiting(page, arguments.rounds)
        memory(page, arguments.uploads)


if __name__ == "__main__":
    main()
