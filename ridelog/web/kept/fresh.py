"""Something that takes long to make: made beside the page's own threads, and anew once what it is made of is another.

Who asks waits a moment for it. Until it is there, they hear so; where it stands but is of before, they see that.
"""

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

Made = TypeVar("Made")


class Fresh(Generic[Made]):
    """One such thing.

    Parameters
    ----------
    make : makes it
    state : tells what it is made of; another text calls for another one
    name : of the thread
    """

    def __init__(self, make: Callable[[], Made], state: Callable[[], str], name: str) -> None:
        self._make, self._state, self._name = make, state, name
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None
        self._made: Made | None = None
        self._error: Exception | None = None
        self._is_of: str | None = None

    @property
    def there(self) -> Made | None:
        """The newest that there is, without asking for another one."""
        with self._lock:
            return self._made

    def get(self, patience_s: float) -> Made | None:
        """It, or ``None`` as long as there is none yet.

        Parameters
        ----------
        patience_s : how long is waited for one that is being made [s]

        Returns
        -------
        The newest that there is.

        Raises
        ------
        Exception : whatever its making raised, as long as it would be made of the same
        """
        state = self._state()
        with self._lock:
            if self._is_of != state and self._thread is None:
                self._thread = threading.Thread(target=self._work, args=(state,), daemon=True, name=self._name)
                self._thread.start()
            thread = self._thread
        if thread is not None:
            thread.join(patience_s)
        with self._lock:
            if self._error is not None:
                raise self._error
            return self._made

    @property
    def is_made(self) -> bool:
        """Whether there is one, of whatever; nothing is begun."""
        with self._lock:
            return self._made is not None

    @property
    def is_under_way(self) -> bool:
        """Whether one is being made."""
        with self._lock:
            return self._thread is not None

    def _work(self, state: str) -> None:
        made, error = None, None
        try:
            made = self._make()
        except Exception as raised:  # noqa: BLE001  (raised again where somebody asks)
            error = raised
        with self._lock:
            self._made, self._error, self._is_of, self._thread = made, error, state, None
