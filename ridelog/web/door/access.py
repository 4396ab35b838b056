"""What keeps others out of the page that is served: by which names it is called, and who knows the password."""

import sys
from collections.abc import Callable
from pathlib import Path

from ridelog.lazy import dataclass
from ridelog.web.door.login import Door
from ridelog.web.door.password import Ask, password_of
from ridelog.web.hosts import OWN_NAMES, Names, names_for


@dataclass(frozen=True)
class Protection:
    """What the owner said of others.

    Attributes
    ----------
    unprotected : they may use the page without a password
    password_file : that holds a password's hash, which everybody is asked for
    """

    unprotected: bool = False
    password_file: Path | None = None


@dataclass(frozen=True)
class Access:
    """Who may ask the page: names by which requests may call it, and the door, where it has a password."""

    names: Names = OWN_NAMES
    door: Door | None = None

    @property
    def reaches_others(self) -> bool:
        """Whether somebody at another computer may look at it: a password is for them, whoever listens."""
        return self.names.any_number or self.door is not None


NO_PROTECTION = Protection()
OWN_ACCESS = Access()


def protection_of(password_file: str | None, *, unprotected: bool) -> Protection:
    """What the owner said, as the command line has it."""
    return Protection(unprotected, None if password_file is None else Path(password_file))


def access_to(host: str, protection: Protection, asked: Callable[[], Ask | None] | None = None) -> Access:
    """The access to a page that listens on ``host``.

    Parameters
    ----------
    host : address to listen on; an empty one is left to whoever listens on it
    protection : what the owner said
    asked : gives what asks for a password that there is no file of yet; a terminal, where there is one

    Returns
    -------
    Access.

    Raises
    ------
    UsageError : others could reach the page and may not, or there is no password and nobody to ask
    InputError : the file of the password is no good
    """
    others_may = protection.unprotected or protection.password_file is not None
    names = names_for(host, others_may=others_may) if host else OWN_NAMES
    if protection.password_file is None:
        return Access(names)
    return Access(names, Door(password_of(protection.password_file, (asked or at_terminal)())))


def at_terminal() -> Ask | None:
    """What asks at the terminal without showing what is typed, where somebody sits there."""
    if sys.stdin is None or not sys.stdin.isatty():
        return None
    from getpass import getpass

    return getpass
