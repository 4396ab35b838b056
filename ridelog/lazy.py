"""Data classes whose methods Python makes when one of them is first needed, and not when its module is imported.

Making one takes half a millisecond of the processor, a program of these has some hundreds, and a command needs few of
them: made at import they took a fifth of a short command. Nothing else differs from `dataclasses.dataclass`.
"""

from __future__ import annotations

import dataclasses
import threading
from typing import TYPE_CHECKING, Any

_MAKING = threading.RLock()  # two threads may need a class for the first time at once
_OPTIONS = "_options_of_dataclass"


class _Fields:
    """The fields of a class that is made when it is asked for them."""

    def __get__(self, instance: object, owner: type) -> Any:
        if not _make(owner):
            raise AttributeError(f"{owner.__name__} has no fields")
        return owner.__dataclass_fields__  # type: ignore[attr-defined]


class _Signature:
    """How a class is called, of which its inherited ``__init__`` tells nothing until it is made."""

    def __get__(self, instance: object, owner: type) -> Any:
        import inspect

        if instance is not None:
            raise AttributeError("an object is not called as its class is")
        _make(owner)
        whole = inspect.signature(owner.__init__)  # type: ignore[misc]
        return whole.replace(parameters=list(whole.parameters.values())[1:])


class _Later:
    """What a class is until it is made; whatever needs its methods makes it first."""

    __dataclass_fields__ = _Fields()
    __signature__ = _Signature()

    def __init__(self, *given: Any, **named: Any) -> None:
        if not _make(type(self)):
            raise TypeError(f"{type(self).__name__} takes no arguments")
        type(self).__init__(self, *given, **named)

    def __setstate__(self, state: dict[str, Any]) -> None:
        """Unpickled or copied, it is not made by its own ``__init__``."""
        _make(type(self))
        self.__dict__.update(state)


def _make(kind: type) -> bool:
    """Make a class, and those that it is built on; whether there was anything to make."""
    made = False
    with _MAKING:
        for each in reversed(kind.__mro__):
            options = each.__dict__.get(_OPTIONS)
            if options is not None:
                made = True
                if "__dataclass_params__" not in each.__dict__:
                    dataclasses.dataclass(**options)(each)
    return made


def _lazy_dataclass(kind: type | None = None, /, **options: Any) -> Any:
    """As `dataclasses.dataclass`: a class with these fields, whose methods are made when it is first needed.

    Parameters
    ----------
    kind : the class as it is written
    options : as `dataclasses.dataclass` takes them, but for ``slots``

    Returns
    -------
    The same class built on one that makes it; a decorator where only options are given.
    """
    if kind is None:
        return lambda written: _lazy_dataclass(written, **options)
    bases = tuple(base for base in kind.__bases__ if base is not object)
    if not any(issubclass(base, _Later) for base in bases):
        bases = (*bases, _Later)
    own = {name: held for name, held in vars(kind).items() if name not in ("__dict__", "__weakref__")}
    later: type = type(kind)(kind.__name__, bases, {**own, _OPTIONS: options})
    if "__init__" in own:  # nothing of ours would be asked for it
        _make(later)
    return later


if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:
    dataclass = _lazy_dataclass
