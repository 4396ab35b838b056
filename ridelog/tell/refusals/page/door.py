"""What is said at the page's door: of the file that holds the password, and to whoever is not let in."""

from ridelog.errors import InputError, UsageError
from ridelog.tell.numbers import counted

AGAIN = "Password, once more: "
FIRST = "A password for the page: "
FOREIGN_ORIGIN = "Requests are taken from this page only, not from another site.\n"
GO_ON = "Go on to the page"
LOG_IN = "Log in"
LOG_IN_FIRST = "Your login is over: load the page again."
LOG_OUT = "Log out"
LOGGED_OUT = "You are logged out."
NOT_OURS = "This form was too old, or not of this page: try again."
OPEN_LINE = (
    "Nothing is encrypted between you and this page: whoever is on the network on the way can read the password."
)
PASSWORD = "Password"  # noqa: S105  (the word over the field)
STAY = "Back to the page"
WANTED = "This page takes the password that its owner chose."
WRONG = "That is not the password."


def wait(wait_s: float) -> str:
    """What whoever tried too often is told."""
    left = counted(round(wait_s / 60), "minute") if wait_s >= 90 else counted(max(1, round(wait_s)), "second")
    return f"Too many wrong passwords: try again in {left}."


def in_clear(host: str) -> str:
    """What it means that a page with a password is open to a network."""
    return (
        f"warning: nothing is encrypted on the way to {host}: whoever is on that network can read the password and the "
        "rides. A program that speaks TLS belongs in front of the page."
    )


def no_protection(host: str, own: str) -> UsageError:
    """An address that others reach, for a page without a password; ``own`` is that of this computer alone."""
    what = "everybody who reaches it there could use the page and give this computer work, and no password is asked for"
    hint = (
        f"{own} is this computer alone; --password-file FILE asks everybody for a password, --unprotected says that "
        "you know this network and want it without one"
    )
    return UsageError(f"will not listen on {host}: {what}", hint=hint)


def nobody_to_ask(path: str) -> UsageError:
    """A file that is not there, where no terminal is."""
    hint = "start it once at a terminal: it asks for a password and writes its hash there"
    return UsageError(f"{path}: there is no such file, and no terminal to ask for a password", hint=hint)


def nothing_typed() -> UsageError:
    """A question for the password that got no answer."""
    return UsageError("no password was typed, and nothing was written")


def not_alike() -> UsageError:
    """Two entries that differ."""
    return UsageError("the two passwords are not the same, and nothing was written", hint="try again")


def password_too_weak(least: int, most: int) -> UsageError:
    """A password that is guessed too soon, or that no field takes."""
    what = f"the password must have {least} to {most} characters, not all of them of two or three kinds"
    return UsageError(f"{what}, and nothing was written", hint="four words that do not belong together are a good one")


def no_hash(path: str) -> InputError:
    """A file with something else in it, perhaps the password itself, which is not to lie on a disk."""
    hint = "move it away and start again at a terminal: ridelog asks for a password and writes its hash there"
    return InputError(path, "does not hold the hash of a password, as ridelog writes it", hint=hint)


def not_readable(path: str, cause: str) -> InputError:
    """A file that the system does not open."""
    return InputError(path, f"cannot be read: {cause.lower()}")


def others_can_read(path: str) -> InputError:
    """A file that others on this computer may read or change."""
    what = "others on this computer may read or change it"
    return InputError(path, what, hint=f"chmod 600 {path}, and choose another password if somebody may have read it")
