"""Is something at a path that somebody gave? Where the system cannot look, as far as we know, nothing is.

``pathlib`` raises there up to Python 3.13: at a name longer than names can be, and in a folder that is closed to us.
"""

import os
from pathlib import Path

__all__ = ["is_file", "is_folder", "is_there"]


def is_there(path: str | Path) -> bool:
    """Whether a file or a folder is there."""
    return os.path.exists(path)  # noqa: PTH110 - see above


def is_folder(path: str | Path) -> bool:
    """Whether a folder is there."""
    return os.path.isdir(path)  # noqa: PTH112 - see above


def is_file(path: str | Path) -> bool:
    """Whether a file is there."""
    return os.path.isfile(path)  # noqa: PTH113 - see above
