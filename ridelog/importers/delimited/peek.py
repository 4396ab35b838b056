"""When and what for a text log was recorded, from its first and its last block: the rows between are not read."""

from dataclasses import replace

import numpy as np

from ridelog.errors import InputError
from ridelog.importers.columns.column import answers
from ridelog.importers.delimited.log_text import encoding_of
from ridelog.importers.delimited.understanding import Understood, understood_log
from ridelog.importers.peek import Peek, end_of, role_held, role_of
from ridelog.importers.unpack import Window
from ridelog.lazy import dataclass
from ridelog.recording import ELECTRICAL_CHANNELS, Role
from ridelog.tell.refusals.columns import unanswered
from ridelog.vocabulary.headers import quantity_named

FORMAT = "csv"
_BLOCK_BYTES = 65_536
_DAY_S = 86_400.0
# What was done to the clock in one of the blocks may go another way where all rows are seen.
_UNSURE_CLOCK = frozenset(["clock-wrapped", "clock-backward", "clock-leap", "far-off-times", "rows-repeated"])
_TRACK_CHANNELS = ("latitude_deg", "longitude_deg", "altitude_m", "speed_mps")
_MARKED = {"utf-8-sig": "utf-8", "utf-16": "utf-16-le"}


@dataclass(frozen=True)
class _Ends:
    """First and last block of a log as one text, and how much lies between them."""

    text: str
    head: str
    share_read: float


def peek(window: Window) -> Peek:
    """Look into a text log: one of two blocks or less is read whole.

    Raises
    ------
    InputError : a log that was read whole holds no table, or its rows cannot be read
    """
    unseen = Peek(window.name, FORMAT, window.n_bytes)
    if window.n_bytes <= 2 * _BLOCK_BYTES:
        understood = _believed(understood_log(window.whole(), window.name, None), window.name)
        n_samples = len(understood.clock.steady.rows) if understood.clock else None
        return _seen(unseen, understood, _role(understood, window.name, whole=True), n_samples)
    ends = _ends(window)
    try:
        understood = _believed(understood_log(ends.text.encode(), window.name, None), window.name)
        n_head = understood_log(ends.head.encode(), window.name, None).n_rows
    except InputError:  # it may be sound all the same: the rows between decide
        return unseen
    if not _hole_is_plain(understood, n_head, ends.share_read):
        understood = replace(understood, clock=None)
    return _seen(unseen, understood, _role(understood, window.name, whole=False), None)


def _believed(understood: Understood, name: str) -> Understood:
    """The same.

    Raises
    ------
    InputError : its times are not believed; or it has none, and nothing in it is of a ride
    """
    if understood.refusal is not None:
        raise understood.refusal
    of_a_ride = {*understood.assignment.channels} & {*ELECTRICAL_CHANNELS, *_TRACK_CHANNELS}
    if understood.no_time is not None and len(understood.questions) == 1 and not of_a_ride:
        raise unanswered(name, [each.text for each in understood.questions], answers(understood.questions))
    return understood


def _ends(window: Window) -> _Ends:
    """The blocks cut to whole lines, in one encoding."""
    first = window.part(0, _BLOCK_BYTES)
    last = window.part((window.n_bytes - _BLOCK_BYTES) // 2 * 2, _BLOCK_BYTES + 1)
    encoding = encoding_of(first) or "latin-1"
    if encoding == "utf-16" and first.startswith(b"\xfe\xff"):
        encoding = "utf-16-be"
    encoding = _MARKED.get(encoding, encoding)
    texts = [block.decode(encoding, "replace").replace("\r\n", "\n").replace("\r", "\n") for block in (first, last)]
    head = texts[0].removeprefix("\ufeff").rpartition("\n")[0] + "\n"
    tail = texts[1].partition("\n")[2]
    return _Ends(head + tail, head, 2 * _BLOCK_BYTES / window.n_bytes)


def _hole_is_plain(understood: Understood, n_head: int, share_read: float) -> bool:
    """Whether the rows that were not read may lie evenly in the time between the blocks, and nowhere else."""
    clock = understood.clock
    if clock is None or any(finding.code in _UNSURE_CLOCK for finding in clock.findings):
        return False
    n_kept = int(np.searchsorted(clock.steady.rows, n_head))
    time_s = clock.steady.time_s
    if not 1 < n_kept < len(time_s) - 1:
        return False
    hole_s = float(time_s[n_kept] - time_s[n_kept - 1])
    steps_s = np.delete(np.diff(time_s), n_kept - 1)
    expected_s = len(time_s) * (1 / share_read - 1) * float(np.median(steps_s))
    return 0.2 * expected_s <= hole_s <= _DAY_S


def _seen(unseen: Peek, understood: Understood, role: Role | None, n_samples: int | None) -> Peek:
    clock = understood.clock
    start = clock.start if clock else None
    return Peek(
        name=unseen.name,
        format=FORMAT,
        n_bytes=unseen.n_bytes,
        clock=clock.clock if clock else None,
        start=start,
        end=end_of(start, float(clock.steady.time_s[-1])) if clock else None,
        role=role,
        n_samples=n_samples,
    )


def _role(understood: Understood, name: str, *, whole: bool) -> Role | None:
    """What the log is for; ``None`` where a question is open, or where rows that were not read may decide."""
    if not understood.assignment.channels or any(question.blocking for question in understood.questions):
        return None
    role = role_of(understood.assignment.channels)
    if understood.clock is not None:
        held = role_held(understood.assignment.channels, understood.clock.steady.time_s, name)
        if not whole and held != role:
            return None
        role = held
    if whole or role == "both":
        return role
    columns = understood.assignment.columns
    empty = [quantity_named(column.meaning.quantity or "") for column in columns if column.is_empty]
    return None if any(quantity and _decides(quantity.channel) for quantity in empty) else role


def _decides(channel: str | None) -> bool:
    """Whether a channel says alone what a log is for."""
    return channel in ("current_a", "power_w", "motor_current_a", "latitude_deg", "altitude_m")
