"""Files that went wrong on their way: empty, cut, junk, or some other text."""

from pathlib import Path
from typing import Literal

import numpy as np

BrokenKind = Literal["empty", "cut", "junk", "other-text"]
BROKEN_KINDS: tuple[BrokenKind, ...] = ("empty", "cut", "junk", "other-text")
_LETTER = "Dear Marit,\nthe bike stands behind the boat shed, the key is where it always is.\nYours, Jonas\n"


def break_file(path: Path, kind: BrokenKind, rng: np.random.Generator) -> None:
    """Replace a file by what is left of it.

    Parameters
    ----------
    path : the file, whole
    kind : ``cut`` leaves between a tenth and a half of it, in the middle of a line
    rng : the source of chance
    """
    match kind:
        case "empty":
            path.write_bytes(b"")
        case "cut":
            content = path.read_bytes()
            path.write_bytes(content[: int(len(content) * rng.uniform(0.1, 0.5))])
        case "junk":
            path.write_bytes(rng.bytes(4096))
        case "other-text":
            path.write_text(_LETTER, encoding="utf-8", newline="\n")
