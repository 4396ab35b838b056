"""Files that cannot be opened, unpacked or recognised."""

from collections.abc import Sequence

from ridelog.errors import InputError, NotRecognisedError, printable
from ridelog.tell.numbers import count, counted, plain

UPLOADED = "the uploaded file"  # what to call it where nobody named it
GZIP = "gzip file"
ZIP = "zip archive"
_UNPACK = "unpack the archive yourself"
_COPY_AGAIN = "copy the file from the device again"


def _megabytes(n_bytes: float) -> str:
    return f"{plain(n_bytes / 1e6)} MB"


def no_name() -> InputError:
    """The name is empty."""
    return InputError("FILE", "an empty name was given", hint="is a variable of the command line not set?")


def not_there(name: str) -> InputError:
    """No such file."""
    return InputError(name, "there is no such file", hint="is the name spelled right?")


def folder(name: str) -> InputError:
    """A folder, where a file is wanted."""
    return InputError(name, "is a folder", hint="name the files in it, as in `FOLDER/*`")


def no_permission(name: str) -> InputError:
    """The user may not read it."""
    return InputError(name, "may not be read by you", hint="look at the file's permissions")


def cannot_open(name: str, reason: str) -> InputError:
    """What the system says."""
    return InputError(name, f"cannot be opened: {reason}")


def opened_as_text(name: str) -> InputError:
    """A file object that gives text."""
    return InputError(name, "was opened as text", hint='open it in binary mode, as in open(path, "rb")')


def empty(name: str) -> InputError:
    """Nothing in it."""
    return InputError(name, "is empty", hint="did the copy finish, and did the device store the ride?")


def empty_once_unpacked(name: str) -> InputError:
    """A wrapping around nothing."""
    return InputError(name, "is empty once unpacked", hint="was it packed before the device had stored the ride?")


def too_large(name: str, largest_bytes: int) -> InputError:
    """Larger than anything that is read."""
    hint = "one ride at a time; cut the log into rides"
    return InputError(name, f"is larger than {_megabytes(largest_bytes)}", hint=hint)


def larger_than_a_ride(name: str, n_bytes: int, largest_bytes: int, kind: str) -> InputError:
    """Larger than one ride of its kind can be.

    Parameters
    ----------
    name : of the file
    n_bytes : size of the file [byte]
    largest_bytes : what is allowed [byte]
    kind : of file

    Returns
    -------
    The error.
    """
    held = f"{count(round(n_bytes / 1e6))} MB of {kind}"
    hint = "one ride at a time; cut it into rides where it was recorded or exported"
    return InputError(name, f"holds {held}, and {_megabytes(largest_bytes)} are allowed", hint=hint)


_SUSPECT = "is this really a ride's log? unpack it yourself and look"


def unpacks_to_more(name: str, largest_bytes: int) -> InputError:
    """More comes out of the wrapping than is read."""
    return InputError(name, f"unpacks to more than {_megabytes(largest_bytes)}", hint=_SUSPECT)


def unpacks_too_far(name: str, largest_ratio: float) -> InputError:
    """More comes out of the wrapping than a log packs into it."""
    return InputError(name, f"unpacks to more than {plain(largest_ratio)} times its size", hint=_SUSPECT)


def damaged(name: str, kind: str, reason: str) -> InputError:
    """A wrapping that cannot be opened to its end.

    Parameters
    ----------
    name : of the file
    kind : of file
    reason : what the system says

    Returns
    -------
    The error.
    """
    return InputError(name, f"the {kind} is damaged or cut off ({printable(reason)})", hint=_COPY_AGAIN)


def archive_in_archive(member: str) -> InputError:
    """A wrapping within a wrapping."""
    return InputError(member, "is an archive inside an archive", hint="unpack the outer one yourself")


def too_many_members(name: str, n_members: int, most: int) -> InputError:
    """An archive of more than a ride.

    Parameters
    ----------
    name : of the file
    n_members : how many it holds
    most : how many are allowed

    Returns
    -------
    The error.
    """
    what = f"holds {count(n_members)} entries, and {count(most)} are allowed"
    return InputError(name, what, hint="one ride at a time; give the files of one ride")


def no_members(name: str) -> InputError:
    """An archive of nothing but folders and hidden files."""
    return InputError(name, "is an archive without a file in it", hint="put the logs themselves into it")


def encrypted(member: str) -> InputError:
    """A member under a password."""
    return InputError(member, "is encrypted", hint=_UNPACK)


def packed_otherwise(member: str) -> InputError:
    """A member in a compression that is not known here."""
    return InputError(member, "is compressed in a way that is not read here", hint=_UNPACK)


def claimed_twice(name: str, formats: Sequence[str]) -> InputError:
    """Two importers take one file for theirs."""
    hint = "this is a fault of ridelog: please report it with the file"
    return InputError(name, f"can be read as {' and as '.join(formats)}", hint=hint)


def not_recognised(name: str, begins: str, n_others: int, looked_for: Sequence[str]) -> NotRecognisedError:
    """No importer takes it for its own.

    Parameters
    ----------
    name : of the file
    begins : its first bytes, as `first_bytes` shows them
    n_others : members of the same archive of which the same is true
    looked_for : what the importers read

    Returns
    -------
    The error.
    """
    verb = "is" if n_others == 1 else "are"
    others = f" (nor {verb} {counted(n_others, 'other member')})" if n_others else ""
    return NotRecognisedError(
        name,
        f"is not a recording that ridelog can read{others}; it begins with {begins}",
        hint=f"ridelog looks for {'; '.join(looked_for)}",
    )


def first_bytes(content: bytes, n_shown: int) -> str:
    """The first bytes as text where they are text, as hexadecimal numbers otherwise."""
    if not content:
        return "nothing: it is empty"
    head = content[:n_shown]
    try:
        text = head.decode("utf-8").strip("\ufeff")
    except UnicodeDecodeError as error:
        # a letter cut in two at the end is still text
        text = head[: error.start].decode("utf-8") if error.start > n_shown - 4 else ""
    if text and all(letter.isprintable() or letter in "\r\n\t" for letter in text):
        shown = " ".join(text.split())
        return f"“{shown}{'…' if len(content) > n_shown else ''}”" if shown else "blanks"
    return f"the bytes {head[:16].hex(' ').upper()}{' …' if len(content) > 16 else ''}"


def not_looked_into(name: str) -> InputError:
    """A file of which a look showed nothing; reading it says why."""
    return InputError(name, "nothing could be seen in it without reading it")
