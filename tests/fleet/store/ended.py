"""Writers that are ended with SIGKILL, at each of their steps or at any moment, and what is in the store then.

``python -m tests.fleet.store.ended steps DEED`` or ``… ended moments NUMBER SEED``, in a folder of
its own; prints how often a writer was ended, and whatever is not whole.
"""

import json
import os
import random
import shutil
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import ridelog
from ridelog.fleet.store.measured import MeasuredRide
from ridelog.fleet.store.store import Store
from tests.fleet.store.kept import faults_of, key_of, made_ride

OTHER, BESIDE = made_ride(0, bike="Tern"), made_ride(2)  # the latter of the bike and month of what is written
OLD, CHANGED = made_ride(1), made_ride(1, returned_wh=15.0)
NEWER = made_ride(1, version="0.2.0", returned_wh=16.0)


def careless(store: Store) -> None:
    """Write a ride's answers first, each file in its place: what this test must see."""

    def put(contents: Mapping[str, bytes]) -> None:
        for path, content in sorted(contents.items()):
            target = Path(store.address, path)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)

    store._place.put = put  # type: ignore[method-assign]
    store.write(OLD)


def rewritten(store: Store) -> None:
    """Write a newer answer to a ride that shares its files, and merge it."""
    store.write(NEWER)
    store.merge()


@dataclass(frozen=True)
class Deed:
    """What is done to a store that held rides, merged or not; ``states`` in which a ride may be then ("": none)."""

    before: tuple[MeasuredRide, ...]
    work: Callable[[Store], None]
    states: set[str]
    merged: bool = False


DEEDS: dict[str, Deed] = {
    "new": Deed((OTHER, BESIDE), lambda store: store.write(OLD), {"", "old"}),
    "changed": Deed((OTHER, BESIDE, OLD), lambda store: store.write(CHANGED), {"old", "", "changed"}),
    "newer": Deed((OTHER, BESIDE, OLD), lambda store: store.write(NEWER), {"old", "newer"}),
    "careless": Deed((OTHER, BESIDE), careless, {"", "old"}),
    "removed": Deed((OTHER, BESIDE, OLD), lambda store: store.remove(OLD.key), {"old", ""}),
    "merged": Deed((OTHER, BESIDE, OLD), lambda store: store.merge(), {"old"}),
    "rewritten": Deed((OTHER, BESIDE, OLD), rewritten, {"old", "newer"}, merged=True),
    "changed-shared": Deed((OTHER, BESIDE, OLD), lambda store: store.write(CHANGED), {"old", "changed"}, merged=True),
    "taken-out": Deed((OTHER, BESIDE, OLD), lambda store: store.remove(OLD.key), {"old", ""}, merged=True),
}
STATES = {"old": OLD, "changed": CHANGED, "newer": NEWER}
CHANGES = ("open", "os.mkdir", "os.rename", "os.remove")  # audit events (PEP 578) of what touches the disk


def state_of(store: Store) -> str:
    """What is there of the ride."""
    if key_of(1) not in {*store.keys()}:
        return ""
    answer = store.answer(key_of(1))
    return next((name for name, ride in STATES.items() if ride.answer == answer), "none of them")


def begun(work: Callable[[], None]) -> int:
    """A forked process at its work."""
    child = os.fork()
    if not child:
        status = 1
        try:
            work()
            status = 0
        finally:
            os._exit(status)
    return child


def was_killed(child: int) -> bool:
    """Whether a process was killed at its work; one that failed on its own is an error."""
    _, status = os.waitpid(child, 0)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        raise RuntimeError("the writer failed on its own")
    return os.WIFSIGNALED(status)


def ended_at(step: int, folder: Path, deed: Callable[[Store], None]) -> bool:
    """Whether a deed was still at work at a step of it, and was ended there."""

    def work() -> None:
        store = ridelog.open_store(folder)
        left = iter(range(step))

        def hook(event: str, _arguments: object) -> None:
            if event in CHANGES and next(left, None) is None:
                os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(hook)
        deed(store)

    return was_killed(begun(work))


def at_each_step(name: str, folder: Path) -> Iterator[str]:
    """End a deed at each step; what is not whole then, and the states that were seen."""
    deed = DEEDS[name]
    template = folder / "template"
    for ride in deed.before:
        ridelog.open_store(template, create=True).write(ride)
    if deed.merged:
        ridelog.open_store(template).merge()
    seen: Counter[str] = Counter()
    for step in count():
        store_folder = shutil.copytree(template, folder / str(step))
        ended = ended_at(step, store_folder, deed.work)
        store = ridelog.open_store(store_folder)
        yield from faults_of(store, OTHER, BESIDE, *STATES.values())
        seen[state_of(store)] += 1
        if not {OTHER.key, BESIDE.key} <= {*store.keys()}:
            yield f"step {step}: another ride is gone"
        deed.work(store)  # who comes after finds nothing in the way
        yield from faults_of(store, OTHER, BESIDE, *STATES.values())
        if not ended:
            break
    if set(seen) - deed.states or len(seen) < min(2, len(deed.states)):
        yield f"states {dict(seen)}"
    yield json.dumps({"ended": step})


def at_moments(n: int, seed: int, folder: Path) -> Iterator[str]:
    """End a writer of many rides at any moment, ``n`` times in the same store."""
    rng = random.Random(seed)
    rides = [made_ride(number, version=version) for number in range(6) for version in ("0.1.0", "0.2.0")]
    store = ridelog.open_store(folder / "store", create=True)
    there: set[str] = set()

    def work() -> None:
        order = random.Random(rng.random())
        mine = ridelog.open_store(folder / "store", create=True)
        while True:
            mine.write(order.choice(rides))
            if order.random() < 0.2:
                mine.merge()

    for _ in range(n):
        child = begun(work)
        time.sleep(rng.uniform(0.05, 0.4))
        os.kill(child, signal.SIGKILL)
        was_killed(child)
        yield from faults_of(store, *rides)
        if there - set(store.keys()):
            yield "a ride that was there is gone"
        there = set(store.keys())
    yield json.dumps({"ended": n, "rides": len(there)})


if __name__ == "__main__":
    what, *given = sys.argv[1:]
    found = (
        at_each_step(given[0], Path.cwd()) if what == "steps" else at_moments(int(given[0]), int(given[1]), Path.cwd())
    )
    for line in found:
        print(line)  # noqa: T201
