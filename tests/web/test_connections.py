"""Connections that do not speak, or send by drops, are closed; those who have something to say are answered."""

import socket
import threading
import time
from types import SimpleNamespace

import pytest
from waitress import create_server

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


@pytest.fixture
def port():
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
        QUICK, QUICK_PACE,
    )  # fmt: skip
    over = threading.Event()

    def serve():
        while not over.is_set():
            server.asyncore.loop(timeout=0.1, map=server._map, count=1)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    yield listener.getsockname()[1]
    over.set()
    thread.join(10)
    server.task_dispatcher.shutdown()
    server.asyncore.close_all(server._map)


def opened(port):
    return socket.create_connection(("127.0.0.1", port), timeout=10)


def closed_after_s(connection, drops=b""):
    """How long the other side bears a connection on which a byte is sent now and then."""
    began = time.monotonic()
    connection.settimeout(0.1)
    while time.monotonic() - began < 8:
        try:
            if drops:
                connection.sendall(drops)
            if connection.recv(100) == b"":
                return time.monotonic() - began
        except TimeoutError:
            continue
        except OSError:
            return time.monotonic() - began
    return None


@pytest.mark.parametrize(
    ("head", "drops"), [(b"", b""), (b"GET / HT", b"x"), (b"POST / HTTP/1.1\r\nContent-Length: 100000\r\n\r\n", b"y")]
)
def test_who_does_not_speak_or_sends_by_drops_is_closed(port, head, drops):
    with opened(port) as connection:
        connection.sendall(head)
        assert closed_after_s(connection, drops) < 5


def test_a_request_gets_through_behind_many_half_open_connections(port):
    """Twice as many as are held open at once: the answer waits until the first are closed, and no longer."""
    silent = [opened(port) for _ in range(2 * QUICK.most_connections)]
    began = time.monotonic()
    with opened(port) as connection:
        connection.settimeout(15)
        connection.sendall(b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
        said = connection.recv(1000)
    for each in silent:
        each.close()
    assert said.startswith(b"HTTP/1.1 200")
    assert time.monotonic() - began < 10


def test_who_asks_fast_waits_and_others_are_answered_meanwhile(port):
    """Of 40 requests that one address sends at once, 20 are answered at once, and those of another all the same."""

    def asked(address):
        connection = opened(port)
        connection.settimeout(15)
        connection.sendall(
            f"GET / HTTP/1.1\r\nHost: x\r\nX-Forwarded-For: {address}\r\nConnection: close\r\n\r\n".encode()
        )
        return connection

    fast = [asked("192.0.2.1") for _ in range(2 * QUICK_PACE.n_at_once)]
    with asked("192.0.2.2") as other:
        assert other.recv(1000).startswith(b"HTTP/1.1 200")
    slow = fast[-1]
    slow.setblocking(False)
    with pytest.raises(BlockingIOError):
        slow.recv(1000)
    slow.settimeout(15)
    assert slow.recv(1000).startswith(b"HTTP/1.1 200")
    for each in fast:
        each.close()
