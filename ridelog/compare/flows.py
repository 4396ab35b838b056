"""What the rides of each group had, gave and took: braking by kind, the ledger, the pack.

A difference of shares says that one setting gave back more, and not by what: whether more was braked, more of it was
caught, or less was drawn; nor what the pack had to take for it. These numbers are those of the rides' own answers, as
means over rides, and no verdict follows from them.
"""

from collections.abc import Iterator, Mapping
from typing import Any, get_args

import numpy as np

from ridelog.answer.braking import KindOfBraking
from ridelog.answer.ledger import LedgerEntry
from ridelog.answer.pack import Pack
from ridelog.answer.ride import Answer
from ridelog.compare.groups import Compared
from ridelog.compare.record import About, Flow, Over
from ridelog.uncertain.quantity import Quantity

OF_KIND = ("available_wh", "returned_wh", "captured_pct")
OF_LEDGER = tuple(name for name in LedgerEntry.__dataclass_fields__ if name.endswith("_wh") and name != "closing_wh")
OF_PACK = tuple(Pack.__dataclass_fields__)
Key = tuple[About, str]


def flows_of(compared: Compared) -> tuple[Flow, ...]:
    """What is told of one ride at least, in the order of the answers.

    A kind of braking that a ride of the comparison had and another one had not counts as no events there, with nothing
    available.
    """
    told = [(ride.group, dict(_told(ride.answer))) for ride in compared.rides]
    kinds = [kind for kind in get_args(KindOfBraking) if any(own.get(_events(kind)) for _, own in told)]
    keys: list[Key] = [_of(kind, name) for kind in kinds for name in ("events", *OF_KIND)]
    keys += [("ledger", name) for name in OF_LEDGER] + [("pack", name) for name in OF_PACK]
    flows = []
    for key in keys:
        values = {
            group: [value for own_group, own in told if own_group == group and (value := own.get(key)) is not None]
            for group in compared.groups
        }
        if any(map(len, values.values())):
            flows.append(Flow(*key, {group: _over(each) for group, each in values.items() if each}))
    return tuple(flows)


def _of(kind: str, name: str) -> Key:
    return "braking", f"{kind}_{name}"


def _events(kind: str) -> Key:
    return _of(kind, "events")


def _told(answer: Answer) -> Iterator[tuple[Key, float]]:
    """The numbers of one ride."""
    for kind in get_args(KindOfBraking):
        own = next((one for one in answer.braking.kinds if one.kind == kind), None)
        known: Mapping[str, Any] = dict.fromkeys(OF_KIND[:2], Quantity(0.0)) if own is None else vars(own)
        yield _events(kind), 0.0 if own is None else float(own.events)
        for name in OF_KIND:
            if (quantity := known.get(name)) is not None:
                yield _of(kind, name), quantity.value
    if answer.ledger is not None:
        yield from _of_record("ledger", answer.ledger.ride, OF_LEDGER)
    yield from _of_record("pack", answer.pack, OF_PACK)


def _of_record(about: About, record: LedgerEntry | Pack, names: tuple[str, ...]) -> Iterator[tuple[Key, float]]:
    for name in names:
        quantity: Quantity | None = getattr(record, name)
        if quantity is not None:
            yield (about, name), quantity.value


def _over(values: list[float]) -> Over:
    n, each = len(values), np.array(values)
    sd = float(each.std(ddof=1)) if n > 1 else None
    return Over(n, float(each.mean()), sd, float(each.min()), float(each.max()))
