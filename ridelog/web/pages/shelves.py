"""What a page says where the rides of a store are not there yet, or cannot be had."""

from collections.abc import Callable
from typing import TypeVar

from ridelog.errors import RidelogError
from ridelog.report.sheet import text
from ridelog.tell.pages import kept as words
from ridelog.web.kept.kept import Kept, UnderwayError

LOOK_AGAIN_S = 2  # between two looks of a browser that waits
Asked = TypeVar("Asked")


def asked_of(kept: Kept | None, what: Callable[[Kept], Asked]) -> tuple[Asked | None, list[str], int | None]:
    """Something of a store, or what to say without it.

    Parameters
    ----------
    kept : the store; nothing is said where there is none
    what : asks for it

    Returns
    -------
    What was asked for, HTML to be shown, and after how long a browser looks again [s].
    """
    if kept is None:
        return None, [], None
    try:
        return what(kept), [], None
    except UnderwayError as state:
        far = state.progress
        said = words.BEGINS if far is None or far.of == 0 else words.so_far(far.done, far.of)
        return None, [f'<p role="status">{text(said)}</p>'], LOOK_AGAIN_S
    except RidelogError as error:
        return None, [f"<p>{text(line)}</p>" for line in error.lines()], None
    except Exception as error:  # noqa: BLE001  (or a browser would look again for ever)
        reason = str(error) if isinstance(error, OSError) else f"{type(error).__name__}: {error}"
        return None, [f"<p>{text(words.unavailable(reason))}</p>"], None
