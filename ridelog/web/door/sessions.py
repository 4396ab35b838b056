"""Who has logged in, by a signed cookie; and forms, by a token that is signed for who got them.

What is signed is a random key and nothing else, and the keys are remembered here: who logs out is out, whoever has a
copy of the cookie. The secret is made at each start and never leaves the process, so a new start logs everybody out.
"""

import hashlib
import secrets
import threading
import time
from collections.abc import Callable

from itsdangerous import BadSignature, Signer, TimestampSigner

from ridelog.lazy import dataclass

IDLE_S = 12 * 3600.0  # a session ends when nothing was asked for so long [s]
LONGEST_S = 7 * 24 * 3600.0  # or so long after it began [s]
FORM_S = 12 * 3600  # a form is taken for so long [s]
MOST_SESSIONS = 1000  # only who knows the password makes one; the one used longest ago goes


@dataclass
class _Session:
    began_s: float
    used_s: float


class Sessions:
    """Sessions and forms of one running page.

    Parameters
    ----------
    clock : seconds that never go back
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        secret = secrets.token_bytes(32)
        # the library's own digest is SHA-1, for the sake of signatures made long ago
        self._cookies = Signer(secret, salt="session", key_derivation="hmac", digest_method=hashlib.sha256)
        self._forms = TimestampSigner(secret, salt="form", key_derivation="hmac", digest_method=hashlib.sha256)
        self._clock = clock
        self._lock = threading.Lock()
        self._sessions: dict[str, _Session] = {}

    def begin(self) -> str:
        """A new session; returns its cookie."""
        key, now_s = secrets.token_urlsafe(32), self._clock()
        with self._lock:
            self._forget()
            self._sessions[key] = _Session(now_s, now_s)
            if len(self._sessions) > MOST_SESSIONS:
                del self._sessions[min(self._sessions, key=lambda each: self._sessions[each].used_s)]
        return self._cookies.sign(key).decode()

    def holds(self, cookie: str | None) -> bool:
        """Whether a cookie is that of a session that is not over; counts as its use."""
        key = self._key(cookie)
        with self._lock:
            self._forget()
            session = self._sessions.get(key or "")
            if session is not None:
                session.used_s = self._clock()
            return session is not None

    def end(self, cookie: str | None) -> None:
        """End a session."""
        with self._lock:
            self._sessions.pop(self._key(cookie) or "", None)

    def token(self, owner: str) -> str:
        """What a form carries that is given to ``owner``: a cookie."""
        return self._forms.sign(owner).decode().removeprefix(owner)

    def is_token(self, token: str, owner: str) -> bool:
        """Whether ``owner`` was given a form with this token, not too long ago."""
        if not owner:
            return False
        try:
            self._forms.unsign(f"{owner}{token}", max_age=FORM_S)
        except BadSignature:
            return False
        return True

    def _key(self, cookie: str | None) -> str | None:
        try:
            return self._cookies.unsign(cookie or "").decode()
        except (BadSignature, UnicodeDecodeError):
            return None

    def _forget(self) -> None:
        now_s = self._clock()
        for key in [
            key
            for key, each in self._sessions.items()
            if now_s - each.used_s > IDLE_S or now_s - each.began_s > LONGEST_S
        ]:
            del self._sessions[key]
