"""One order: what is to be made, how far it is, and what came of it."""

import contextlib
import json
import os
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import Any, Literal

from ridelog.errors import RidelogError
from ridelog.lazy import dataclass
from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.process import DEFAULT_LIMITS, Limits, Tell

State = Literal["waiting", "done", "refused", "stopped"]
Stage = Literal["reading", "measuring", "comparing", "writing"]
_GIVEN = re.compile(r"/[^\s:]*/given/\d+/\d+/")  # where the page keeps what visitors give
STAGES: tuple[Stage, ...] = ("reading", "measuring", "comparing", "writing")


@dataclass(frozen=True)
class Far:
    """How far the work is: what is being done, and of how many rides how many are."""

    stage: Stage
    done: int = 0
    of: int = 0

    def message(self) -> bytes:
        """The same as data."""
        return json.dumps([self.stage, self.done, self.of]).encode()

    @classmethod
    def heard(cls, message: bytes) -> "Far | None":
        """What such a message says; ``None`` where it is none, as a process that read files is not trusted."""
        try:
            stage, done, of = json.loads(message)
        except (ValueError, TypeError):
            return None
        if stage not in STAGES or not all(isinstance(each, int) and 0 <= each < 1e6 for each in (done, of)):
            return None
        return cls(stage, done, of)


Make = Callable[..., Sequence[bytes]]  # given what is asked for, a folder to write to, and `Tell`


@dataclass(frozen=True)
class Wanted:
    """What somebody asks for.

    Attributes
    ----------
    kind : first part of its address: "report", "compare", "plan"
    title : that its page has
    make : a function that a module holds, as it goes to a process of its own
    given : to it, before the folder that it writes to
    limits : what the process may take
    back : address of the form that asked for it, with what was chosen in it
    """

    kind: str
    title: str
    make: Make
    given: tuple[Any, ...]
    limits: Limits = DEFAULT_LIMITS
    back: str = "/"


@dataclass(eq=False)
class Order:
    """What somebody asked for.

    Attributes
    ----------
    token : by which it is found
    visitor, turn : who asked, and whose turn it takes
    wanted : what is to be made
    folder : of what is read and of what comes of it
    state, job, far : how it stands
    lines : why it was refused
    told : what the work says of what it made
    """

    token: str
    visitor: str
    turn: str
    wanted: Wanted
    folder: Path
    state: State = "waiting"
    job: str | None = None
    far: Far | None = None
    lines: tuple[str, ...] = ()
    told: Mapping[str, Any] = field(default_factory=dict)

    @property
    def path(self) -> str:
        """Its address."""
        return f"/{self.wanted.kind}/{self.token}"

    @property
    def given_folder(self) -> Path:
        """Where the files lie that it reads."""
        return self.folder / "given"

    @property
    def made_folder(self) -> Path:
        """Where what it makes lies."""
        return self.folder / "made"

    def made(self, name: str) -> Path | None:
        """One of the files that it made; ``None`` where it made none of that name, whatever the name says."""
        return self.made_folder / name if name in self.told.get("files", ()) else None

    def size_bytes(self) -> int:
        """Of all its files [byte]; what goes away meanwhile, as it is being made, is passed over."""
        size_bytes = 0
        for folder, _, names in os.walk(self.folder):
            for name in names:
                with contextlib.suppress(FileNotFoundError):
                    size_bytes += Path(folder, name).stat().st_size
        return size_bytes


def or_why_not(work: Callable[[], Sequence[bytes]], folder: Path, tell: Tell) -> Sequence[bytes]:
    """What a work hands back; where it fails, the lines that say why.

    Parameters
    ----------
    work : to be done
    folder : that it writes to
    tell : to whoever waits

    Returns
    -------
    Messages.
    """
    try:
        return work()
    except RidelogError as error:
        return result(tell, folder, lines=[without_given(line) for line in error.lines()])
    except MemoryError:
        return result(tell, folder, lines=refusals.took_too_much().lines())
    except Exception as error:  # noqa: BLE001  (a fault of ridelog itself, told as on the command line)
        return result(tell, folder, lines=refusals.failed_apart(type(error).__name__, str(error)).lines())


def without_given(told: str) -> str:
    """What is told without the places at which the page keeps files that visitors gave, which are nobody's business."""
    return _GIVEN.sub("", told)


def result(tell: Tell, folder: Path, **told: Any) -> list[bytes]:
    """What a work hands back: facts, and the names of the files that it wrote.

    Parameters
    ----------
    tell : to whoever waits
    folder : that it wrote to
    told : facts as data

    Returns
    -------
    Messages.
    """
    del tell
    names = sorted(path.name for path in folder.iterdir())
    return [json.dumps({**told, "files": names}).encode()]
