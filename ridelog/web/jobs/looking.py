"""A look into each file that a visitor gave, so that it can be said which of them are one ride."""

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from ridelog.fleet.look import Look, look_at
from ridelog.tell.refusals import files


def look_into(paths: Sequence[Path]) -> list[Look]:
    """What each file shows without being read as a ride."""
    return [look_at(path) for path in paths]


def told(looks: Sequence[Look]) -> bytes:
    """Looks as a message that is data alone."""
    return json.dumps([_said(look) for look in looks]).encode()


def _said(look: Look) -> dict[str, Any]:
    return {
        "sha256": look.sha256,
        "start": look.start.isoformat() if look.start else None,
        "end": look.end.isoformat() if look.end else None,
        "local": look.local,
        "electrical": look.electrical,
        "track": look.track,
        "refused": look.error is not None,
    }


def heard(message: bytes, paths: Sequence[Path]) -> list[Look]:
    """The looks of such a message, of these files.

    Raises
    ------
    ValueError : it is none
    """
    said = json.loads(message)
    return [_look(path, each) for path, each in zip(paths, said, strict=True)]


def _look(path: Path, said: dict[str, Any]) -> Look:
    start, end = (None if said[key] is None else datetime.fromisoformat(said[key]) for key in ("start", "end"))
    local, electrical, track = (bool(said[key]) for key in ("local", "electrical", "track"))
    look = Look(path, str(said["sha256"]), start, end, local, electrical, track)
    return replace(look, error=files.not_looked_into(path.name)) if said["refused"] else look


def unseen(paths: Sequence[Path]) -> list[Look]:
    """What is known of files that nobody could look into: they are refused when they are measured."""
    return [Look(path, "", error=files.not_looked_into(path.name)) for path in paths]
