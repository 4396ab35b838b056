"""Which versions of ridelog answer alike, so that a ride need not be measured again?

The rule: `ANSWERS_SINCE` is the first version whose answers are those of this one, to the last digit that people see.
It is raised with every change of a reported number, which the changelog lists. A ride measured by an earlier version is
measured again; one measured by a later version than this stays as it is.

What all rides tell together is said again whenever any of ridelog's own code is other than when it was said
(`code_digest`): that takes seconds, and nobody has to remember to raise a number.
"""

import hashlib
import re
from functools import cache
from pathlib import Path

ANSWERS_SINCE = "0.1.0"


def answers_alike(version: str, since: str = ANSWERS_SINCE) -> bool:
    """Whether a version's answers are those of this one, or of a later one.

    Parameters
    ----------
    version : as `ridelog.__version__` states it
    since : the first version that answers alike

    Returns
    -------
    False also for what is no version.
    """
    found, least = _numbers(version), _numbers(since)
    return bool(found) and found >= least


def _numbers(version: str) -> tuple[int, ...]:
    """The numbers of a release, as 1.10.2; nothing for another text."""
    match = re.match(r"(\d+)\.(\d+)\.(\d+)", version)
    return tuple(int(part) for part in match.groups()) if match else ()


@cache
def code_digest() -> str:
    """A digest of all modules of this ridelog, as they lie on the disk."""
    package = Path(__file__).parents[1]
    found = hashlib.sha256()
    for path in sorted(package.rglob("*.py*")):
        if path.parent.name != "__pycache__":
            found.update(f"{path.relative_to(package).as_posix()}\0{path.stat().st_size}\0".encode())
            found.update(path.read_bytes())
    return found.hexdigest()
