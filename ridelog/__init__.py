"""How much energy regenerative braking really gave back, from the ride's own logs.

>>> import ridelog
>>> ride = ridelog.load_ride(["controller.csv", "track.gpx"], bike="bike.toml")
>>> answer = ridelog.measure(ride)
>>> answer.to_dict()["energy"]["recovered_pct"]

The functions are loaded when first used, so that importing the package costs nothing.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ridelog.analysis.again import with_drawn
    from ridelog.analysis.coastdown.beside import coasted
    from ridelog.analysis.coastdown.record import coastdown
    from ridelog.analysis.measure import measure
    from ridelog.answer.coastdown import CoastDown
    from ridelog.answer.ride import Answer
    from ridelog.fleet.store.store import open_store
    from ridelog.timeline.ride import load_ride

__version__ = "0.1.0"
__all__ = [
    "Answer",
    "CoastDown",
    "__version__",
    "coastdown",
    "coasted",
    "load_ride",
    "measure",
    "open_store",
    "with_drawn",
]

_HOMES = {
    "Answer": "ridelog.answer.ride",
    "CoastDown": "ridelog.answer.coastdown",
    "coasted": "ridelog.analysis.coastdown.beside",
    "coastdown": "ridelog.analysis.coastdown.record",
    "load_ride": "ridelog.timeline.ride",
    "measure": "ridelog.analysis.measure",
    "open_store": "ridelog.fleet.store.store",
    "with_drawn": "ridelog.analysis.again",
}


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        from importlib import import_module

        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'ridelog' has no attribute {name!r}")
