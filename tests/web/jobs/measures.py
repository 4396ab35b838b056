"""Ways of measuring for tests: modules hold them, so that another process finds them."""

import os
import time
from typing import Any, NoReturn

from ridelog.errors import InputError
from ridelog.web.jobs.measuring import Given


def refuse(given: Given) -> NoReturn:
    """As a file that cannot be read."""
    raise InputError(given.logs[0][0], given.logs[0][1].read().decode(), hint="h")


def sleep(_given: Given) -> NoReturn:
    """For ever."""
    time.sleep(3600)
    raise AssertionError


def fill(_given: Given) -> Any:
    """Much memory, in pieces."""
    return [bytes(50_000_000) for _ in range(10_000)]


def die(_given: Given) -> NoReturn:
    """As a library that brings its process down."""
    os.abort()


def fail(_given: Given) -> NoReturn:
    """As a fault of ridelog itself."""
    raise ZeroDivisionError("x")


def tell_twice(given: bytes, tell: Any) -> list[bytes]:
    """What was given, after two words on the way."""
    tell(b"1")
    tell(b"2")
    return [given, b"done"]


def tell_for_ever(tell: Any) -> NoReturn:
    """As a process that somebody else has got hold of."""
    while True:
        tell(b"more")


def end(_tell: Any) -> NoReturn:
    """As one that the system ends."""
    os._exit(1)
