"""What is held of every input: our own errors only, within memory and time, and no answer that cannot be."""

import contextlib
import io
import json
import logging
import re
import resource
import traceback
import warnings
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from time import process_time
from typing import Any

import numpy as np

import ridelog
from ridelog.answer.ride import Answer
from ridelog.console import answers as console
from ridelog.console.columns import print_columns
from ridelog.errors import RidelogError
from ridelog.importers.registry import peek, read_logs
from ridelog.importers.report import ReadLog
from ridelog.settings.bike import read_bike
from ridelog.settings.column_map import read_map
from tests.fuzz.case import Case
from tests.fuzz.world import WrongReply, world
from tests.proof.walk import impossible, quantities

# The budget beyond what the program itself takes: 100 MB and 15 s, and 30 bytes and 30 µs more for each byte given.
# An archive may hold 10 MB at any ratio; the inputs of this bench unpack to no more than a few.
FREE_BYTES, BYTES_PER_BYTE = 100_000_000, 30
FREE_S, S_PER_BYTE = 15.0, 30e-6
NO_NUMBER = re.compile(r"\b(nan|inf|None|NaN)\b")
TABLES = ("events", "hills", "ledger", "bands", "samples")


class Wrong(Exception):  # noqa: N818 - a finding of this bench, not an error of the program
    """An answer or a reply that cannot be."""


@cache
def warm() -> None:
    """Load what is loaded once, so that it is not taken for what an input needs."""
    from tests.fuzz.rides import ride_by_chance

    rng = np.random.default_rng(7)
    for _ in range(3):
        taken(Case(0, "ride", (("ride.csv", ride_by_chance(rng)),), measured=True))
    taken(Case(0, "visit", visit={"path": "/"}))


def finding(case: Case) -> str | None:
    """What is wrong with the program on this input, the same text for the same fault; ``None`` where nothing is."""
    warm()
    if case.kind == "page":
        world()
    return finding_of(case, taken).what


@dataclass(frozen=True)
class Outcome:
    """What is wrong, if anything, and what was taken of the processor's time and of memory beyond the program."""

    what: str | None
    used_s: float
    used_bytes: int


def finding_of(case: Case, take: Callable[[Case], None]) -> Outcome:
    """The same of a way of taking inputs; what is loaded once is loaded.

    Parameters
    ----------
    case : the input
    take : takes it; what is raised tells how that ended

    Returns
    -------
    Outcome.
    """
    _forget_peak()
    before, began = _peak_bytes(), process_time()
    what = _raised(case, take)
    used_s, used_bytes = process_time() - began, _peak_bytes() - before
    if what is None and used_s > FREE_S + S_PER_BYTE * case.n_bytes:
        what = f"time: {case.kind}"
    if what is None and used_bytes > FREE_BYTES + BYTES_PER_BYTE * case.n_bytes:
        what = f"memory: {case.kind}"
    return Outcome(what, used_s, used_bytes)


def _raised(case: Case, take: Callable[[Case], None]) -> str | None:
    """What came that is no error of ours in lines that can be read."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            take(case)
    except RidelogError as error:
        return _unfit_words(error)
    except MemoryError:
        return "MemoryError"
    except Exception as error:  # noqa: BLE001 - whatever is not ours is a finding
        return _named(error)
    return None


def taken(case: Case) -> None:
    """Take an input as far as it is meant to go; what is raised tells how it ended."""
    if case.visit is not None:
        if case.kind == "page":
            with disabled_logging():
                world().visit(case.visit)
        else:
            _visited(case.visit)
        return
    bike = read_bike(io.BytesIO(case.bike), name="bike.toml") if case.bike is not None else None
    columns = read_map(io.BytesIO(case.columns)) if case.columns is not None else None
    for name, content in case.files:
        _looked_at(name, content)
        _told_by_column(read_logs(io.BytesIO(content), name=name, columns=columns))
    if not case.measured:
        return
    given = [(name, io.BytesIO(content)) for name, content in case.files]
    answer = ridelog.measure(ridelog.load_ride(given, bike=bike, columns=columns))
    _held(answer, plain_names=case.kind == "ride")


def _told_by_column(logs: Iterable[ReadLog]) -> None:
    """What each column of some logs is taken for; nothing of them is held after, when they are read to be measured."""
    for log in logs:
        log.report.to_toml()
        print_columns(log.report, io.StringIO())


def _looked_at(name: str, content: bytes) -> None:
    """A look may refuse only what reading refuses, which follows."""
    try:
        peek(io.BytesIO(content), name=name)
    except RidelogError:
        return


class _Nowhere(io.StringIO):
    """A stream of text that keeps nothing, as a pipe does."""

    def write(self, text: str, /) -> int:
        """Say that it is written."""
        return len(text)


def _held(answer: Answer, *, plain_names: bool) -> None:
    """Everything that is held of an answer and of what is said of it."""
    if found := impossible(answer):
        raise Wrong(re.sub(r"[-\d.]+(e[-+]?\d+)?|\[\d+\]", "#", found[0]))
    document = answer.to_dict()
    for at, one in quantities(document):
        if (
            at in ("charge.recovered_pct", "energy.recovered_pct")
            and one["value"] == one["low95"] == one["high95"] == 0
        ):
            raise Wrong(f"{at} is 0 without any doubt")
    _comes_back(json.dumps(document, allow_nan=False))
    del document  # as the program does not hold it, nor the text, when it writes tables or a page
    out = io.StringIO() if plain_names else _Nowhere()  # whose text would be taken for memory of the program
    console.print_summary(answer, out)
    console.print_budget(answer, out)
    for table in TABLES:
        console.print_table(answer, table, out)
    if plain_names and (word := NO_NUMBER.search(out.getvalue())):
        line = next(line for line in out.getvalue().splitlines() if NO_NUMBER.search(line))
        raise Wrong(f"{word[0]} is said to people: {re.sub(r'[-0-9.]+', '#', line)[:100]}")
    _drawn(answer)


def _comes_back(text: str) -> None:
    """An answer's JSON is that of the answer that is made of it."""
    came = json.dumps(Answer.from_dict(json.loads(text)).to_dict())
    if came != text:
        raise Wrong("an answer does not come back from JSON")


def _drawn(answer: Answer) -> None:
    from ridelog.web.callbacks.look import screen_look
    from ridelog.web.rides import shown_ride
    from ridelog.web.views.answer import answer_page

    for part in answer_page(shown_ride(answer, title="T"), screen_look(None), "token"):
        json.dumps(part, cls=encoder())


@cache
def encoder() -> Any:
    """What makes JSON of the parts of a page."""
    from plotly.utils import PlotlyJSONEncoder

    return PlotlyJSONEncoder


@cache
def _client() -> Any:
    from ridelog.web import create_app

    app = create_app(None, measure=_refused)
    app.server.config["PROPAGATE_EXCEPTIONS"] = False
    return app.server.test_client()


@contextlib.contextmanager
def disabled_logging() -> Iterator[None]:
    """No log of what is answered with an error on purpose."""
    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        yield
    finally:
        logging.disable(before)


def _refused(_given: Any) -> Any:
    raise RidelogError("x")


def _visited(visit: dict[str, Any]) -> None:
    with disabled_logging():
        reply = _client().open(**visit)
    if reply.status_code >= 500:
        raise Wrong(f"status {reply.status_code} from {visit['path'][:20]}")
    reply.close()


def _unfit_words(error: RidelogError) -> str | None:
    """What is wrong with the lines of an error: more than two, or letters that a terminal obeys."""
    lines = error.lines()
    if len(lines) > 2 or any("\n" in line for line in lines):
        return f"an error of more than two lines: {_place(error)}"
    if any(not letter.isprintable() and not letter.isspace() for line in lines for letter in line):
        return f"an error that is not plain text: {_place(error)}"
    return None


def _named(error: BaseException) -> str:
    text = str(error) if isinstance(error, (Wrong, WrongReply, Warning)) else ""
    return f"{type(error).__name__} {text[:120]} at {_place(error)}"


def _place(error: BaseException) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    own = [frame for frame in frames if "/ridelog/" in frame.filename] or list(frames)
    return f"{Path(own[-1].filename).name}:{own[-1].name}" if own else "nowhere"


def _forget_peak() -> None:
    """Let the system count the most memory anew, where it offers that."""
    clear = Path("/proc/self/clear_refs")
    if clear.exists():
        clear.write_text("5")


def _peak_bytes() -> int:
    status = Path("/proc/self/status")
    if status.exists():
        return 1024 * int(re.search(r"VmHWM:\s*(\d+)", status.read_text())[1])  # type: ignore[index]
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def resting_bytes() -> int:
    """Memory that this process has now [byte]; the most that it had, where the system does not say."""
    status = Path("/proc/self/status")
    if status.exists():
        return 1024 * int(re.search(r"VmRSS:\s*(\d+)", status.read_text())[1])  # type: ignore[index]
    return _peak_bytes()


def smaller(case_bytes: bytes, wrong: Callable[[bytes], bool], *, tries: int = 80) -> bytes:
    """The content with as much taken out as leaves it wrong: halves first, then quarters, down to single bytes.

    Parameters
    ----------
    case_bytes : the content that is wrong
    wrong : whether a content still is
    tries : how often that may be asked

    Returns
    -------
    content : no longer than it was
    """
    step = max(1, len(case_bytes) // 2)
    while tries > 0:
        at = 0
        while at < len(case_bytes) and tries > 0:
            candidate = case_bytes[:at] + case_bytes[at + step :]
            tries -= 1
            if candidate and wrong(candidate):
                case_bytes = candidate
            else:
                at += step
        if step == 1:
            break
        step = max(1, step // 2)
    return case_bytes
