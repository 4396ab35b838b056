"""What the rides of a store tell together, worked out in a process of its own.

Of thousands of rides that takes seconds of the processor, in which no thread of the page would answer anybody.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

from ridelog.errors import RidelogError
from ridelog.fleet.store.store import Store
from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.process import Limits, Run, Stopped, TooLongError
from ridelog.web.kept.listed import Listed, listed

if TYPE_CHECKING:
    import pandas as pd

    from ridelog.fleet.record import Audit

Told = Callable[[bytes], None]
LIMITS = Limits(longest_s=3600.0)  # 2,000 rides that were never looked at together take 20 s


def listed_by(run: Run, store: Store, stopped: Stopped) -> Listed | None:
    """All rides of a store.

    Parameters
    ----------
    run : does work in a process of its own, or here
    store : that holds them
    stopped : whether nobody waits any more

    Returns
    -------
    The rides; ``None`` where nobody waits any more.

    Raises
    ------
    RidelogError : the store cannot be read, or it took too long or too much
    """
    messages = _done(run, _list, store, stopped)
    return None if messages is None else Listed(*(_frame(each) for each in messages))


def audit_by(run: Run, store: Store, stopped: Stopped) -> Audit | None:
    """What all rides of a store tell together.

    Parameters
    ----------
    run : does work in a process of its own, or here
    store : that holds them
    stopped : whether nobody waits any more

    Returns
    -------
    The audit of its bikes; ``None`` where nobody waits any more.

    Raises
    ------
    RidelogError : the store cannot be read, or it took too long or too much
    """
    from ridelog.fleet.record import Audit

    messages = _done(run, _audit, store, stopped)
    return None if messages is None else Audit.read(json.loads(messages[0]))


def _done(run: Run, work: Callable[[Store], list[bytes]], store: Store, stopped: Stopped) -> Sequence[bytes] | None:
    try:
        messages = run(partial(_told, work), (store,), stopped, LIMITS, lambda _: None)
    except TooLongError:
        raise refusals.took_too_long(LIMITS.longest_s) from None
    except EOFError:
        raise refusals.took_too_much() from None
    if messages is not None and len(messages) == 1 and messages[0].startswith(b'{"refused"'):
        raise refusals.as_told(*json.loads(messages[0])["refused"])
    return messages


def _told(work: Callable[[Store], list[bytes]], store: Store, _tell: Told) -> list[bytes]:
    """What some work gives, or why it gives nothing."""
    try:
        return work(store)
    except RidelogError as error:
        return [json.dumps({"refused": [error.message, error.hint]}).encode()]


def _list(store: Store) -> list[bytes]:
    found = listed(store)
    return [_message(found.rides), _message(found.passes)]


def _audit(store: Store) -> list[bytes]:
    from ridelog.fleet.together import audit_of_store

    return [json.dumps(audit_of_store(store).kept()).encode()]


def _message(table: pd.DataFrame) -> bytes:
    target = io.BytesIO()
    table.to_parquet(target)
    return target.getvalue()


def _frame(message: bytes) -> pd.DataFrame:
    import pandas as pd

    return pd.read_parquet(io.BytesIO(message))
