"""Connections that do not speak, or send by drops, are closed; those who have something to say are answered."""

import select
import socket
import threading
from contextlib import suppress
from types import SimpleNamespace

import pytest
import waitress.channel
import waitress.server
from waitress import create_server

from ridelog.web import connections
from ridelog.web.connections import Patience, beyond, impatient, too_slow
from ridelog.web.door.pace import Pace

QUICK = Patience(silent_s=1.0, head_s=0.6, least_bytes_per_s=1000, most_connections=60, look_s=0.1)
QUICK_PACE = Pace(n_at_once=20, per_s=5, longest_s=5.0)


def channel(*, silent_s=0.0, arriving_s=None, head=True, received=0, length=0):
    """A connection as the server knows it, seen at second 100."""
    request = SimpleNamespace(headers_finished=head, body_bytes_received=received, content_length=length)
    began = 100 - (arriving_s or 0)
    return SimpleNamespace(
        request=None if arriving_s is None else request, last_activity=100 - silent_s, began=began, name=began
    )


@pytest.mark.parametrize(
    ("seen", "slow"),
    [
        (channel(silent_s=19), False),
        (channel(silent_s=21), True),
        (channel(arriving_s=9, head=False), False),
        (channel(arriving_s=11, head=False), True),  # however many bytes it sends meanwhile
        (channel(arriving_s=60, received=300_000), False),
        (channel(arriving_s=60, received=100_000), True),
    ],
)
def test_a_connection_is_slow_by_its_silence_its_head_and_its_rate(seen, slow):
    """By the default: 20 s of silence, 10 s for the head, then 4000 bytes for each further second."""
    assert too_slow(seen, 100.0, Patience()) is slow


def test_of_what_is_arriving_the_first_stay_within_the_bound():
    first, second, third = (channel(arriving_s=age, length=600) for age in (9, 8, 7))
    assert beyond([third, first, second], 1300) == [third]
    assert beyond([third, first, second], 100) == [second, third]


class Clock:
    """Stands still until somebody moves it on, however long anything takes."""

    now_s = 100.0

    def __call__(self):
        return self.now_s


@pytest.fixture
def clock(monkeypatch):
    """By which the server knows what is silent, what is slow and what comes too fast."""
    made = Clock()
    for module in (waitress.channel, waitress.server, connections):
        monkeypatch.setattr(module, "time", SimpleNamespace(time=made))
    return made


@pytest.fixture
def port(clock):
    """A server that answers at once, with little patience."""

    def answer(environ, start_response):
        environ["wsgi.input"].read()
        start_response("200 OK", [("Content-Length", "2")])
        return [b"ok"]

    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    server = impatient(
        create_server(
            answer, sockets=[listener], threads=2, connection_limit=QUICK.most_connections,
            cleanup_interval=QUICK.look_s, asyncore_loop_timeout=0.1,
        ),
        QUICK, QUICK_PACE, clock,
    )  # fmt: skip
    over = threading.Event()

    def serve():
        while not over.is_set():
            server.asyncore.loop(timeout=0.1, map=server._map, count=1)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    yield listener.getsockname()[1]
    over.set()
    thread.join()
    server.task_dispatcher.shutdown()
    server.asyncore.close_all(server._map)


def opened(port):
    return socket.create_connection(("127.0.0.1", port), timeout=60)


def asked(port, address="127.0.0.1"):
    """A connection with a request."""
    connection = opened(port)
    head = f"GET / HTTP/1.1\r\nHost: x\r\nX-Forwarded-For: {address}\r\nConnection: close\r\n\r\n"
    connection.sendall(head.encode())
    return connection


def has_said(connection):
    """Whether something came that was not taken yet, were it that the connection is closed."""
    return bool(select.select([connection], [], [], 0)[0])


def at(clock, s, port):
    """Go on by the clock, and wait until the server has looked at all of its connections."""
    clock.now_s += s
    for _ in range(2):  # what is to be closed is, when it has answered for the second time
        with asked(port) as other:
            assert other.recv(1000).startswith(b"HTTP/1.1 200")


@pytest.mark.parametrize(
    ("head", "drops", "borne_s"),
    [(b"", b"", 1.0), (b"GET / HT", b"x", 0.6), (b"POST / HTTP/1.1\r\nContent-Length: 100000\r\n\r\n", b"y", 0.6)],
)
def test_who_does_not_speak_or_sends_by_drops_is_closed(port, clock, head, drops, borne_s):
    with opened(port) as connection:
        connection.sendall(head)
        at(clock, 0.0, port)
        for _ in range(5):
            connection.sendall(drops)
            at(clock, (borne_s - 0.05) / 5, port)
            assert not has_said(connection)
        clock.now_s += 0.15
        with suppress(ConnectionResetError):
            assert connection.recv(100) == b""


def test_a_request_gets_through_behind_many_half_open_connections(port, clock):
    """Twice as many as are held open at once: the answer waits until the first are closed, and no longer."""
    silent = [opened(port) for _ in range(2 * QUICK.most_connections)]
    with asked(port) as connection:
        for _ in range(99):
            clock.now_s += 0.1
            if select.select([connection], [], [], 0.1)[0]:
                break
        assert clock.now_s - Clock.now_s > 2 * QUICK.silent_s
        said = connection.recv(1000)
    for each in silent:
        each.close()
    assert said.startswith(b"HTTP/1.1 200")


def test_who_asks_fast_waits_and_others_are_answered_meanwhile(port, clock):
    """Of 40 requests that one address sends at once, 20 are answered at once, and those of another all the same.

    The others wait until their turn comes by the clock: the last of them 20 / (5 /s) = 4 s.
    """
    fast = [asked(port, "192.0.2.1") for _ in range(2 * QUICK_PACE.n_at_once)]
    while len([each for each in fast if has_said(each)]) < QUICK_PACE.n_at_once:
        at(clock, 0.0, port)
    with asked(port, "192.0.2.2") as other:
        assert other.recv(1000).startswith(b"HTTP/1.1 200")
    at(clock, 0.0, port)
    slow = [each for each in fast if not has_said(each)]
    assert len(slow) == QUICK_PACE.n_at_once
    at(clock, 3.9, port)
    while len([each for each in slow if not has_said(each)]) > 1:
        at(clock, 0.0, port)
    assert len([each for each in slow if not has_said(each)]) == 1
    clock.now_s += 0.2
    for each in fast:
        assert each.recv(1000).startswith(b"HTTP/1.1 200")
        each.close()
