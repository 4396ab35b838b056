"""The door to scipy's special functions, opened when one is first called.

On its way in scipy takes over every name of numpy, and so loads numpy's compiler of Fortran and its helpers for tests,
neither of which it calls: a seventh of what a short command takes. They are left out of what it takes over.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from functools import cache
from types import ModuleType
from typing import Any

import numpy as np

from ridelog.arrays import Floats

_NOT_CALLED = ("f2py", "testing")


@cache
def _special() -> Any:
    """The module, whose functions are worked out in compiled code."""
    with _without(_NOT_CALLED):
        import scipy.special
    return scipy.special


@contextlib.contextmanager
def _without(parts: tuple[str, ...]) -> Iterator[None]:
    """Let empty modules stand for parts of numpy that nobody has loaded yet, for as long as this lasts."""
    standing = [part for part in parts if part not in vars(np)]
    for part in standing:
        setattr(np, part, ModuleType(f"numpy.{part}"))
    try:
        yield
    finally:
        for part in standing:
            delattr(np, part)


def erf(x: Floats) -> Floats:
    """The error function, of any shape."""
    return np.asarray(_special().erf(x))


def normal_p(z: Floats) -> Floats:
    """How probable a standard normal number below ``z`` is, of any shape [1]."""
    return np.asarray(_special().ndtr(z))


def normal_z(p: float) -> float:
    """What a standard normal number is below with probability ``p``."""
    return float(_special().ndtri(p))


def student_t(dof: float, p: float) -> float:
    """What Student's t of ``dof`` degrees of freedom is below with probability ``p``."""
    return float(_special().stdtrit(dof, p))
