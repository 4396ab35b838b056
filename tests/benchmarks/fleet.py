"""What an audit costs: one process against two, a cluster against processes, a second audit against the first, memory.

``python tests/benchmarks/fleet.py [RIDES]`` makes a fleet of so many rides (400 by default) in the temporary folder and
prints ratios, in wall time on this machine: run it where nothing else runs. Where others do, the time of the processor
still tells how much of the work one process does alone, and with it what two can gain at most (Amdahl).
"""

import contextlib
import ctypes
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parents[2]
sys.path.insert(0, str(HERE))

from ridelog.fleet.store.store import open_store
from sample_rides.fleet import write_fleet
from tests.fleet.cluster import running_cluster

ALONE = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": str(HERE)}
LARGEST = """
import resource, sys, time
from ridelog.cli import main
from ridelog.fleet import audit

spent, measure, load = [0.0], audit.Hands.measure, audit.load_statistics

def timed(hands, tasks):
    begin = time.thread_time()
    yield from measure(hands, tasks)
    spent.append(time.thread_time() - begin)

def loaded():
    begin = time.thread_time()
    load()
    spent.append(time.thread_time() - begin)

audit.Hands.measure, audit.load_statistics = timed, loaded
main(["audit", *sys.argv[1:]], open("/dev/null", "w"), open("/dev/null", "w"))
used = resource.getrusage(resource.RUSAGE_SELF)
print(used.ru_maxrss, used.ru_utime + used.ru_stime - sum(spent), sum(spent))
"""
ADOPT_ORPHANS = 36  # PR_SET_CHILD_SUBREAPER of Linux: processes of an audit that has ended are waited for, and counted


@dataclass(frozen=True)
class Cost:
    """What an audit took.

    ``wall_s`` : by the clock · ``own_mb`` : memory of its own process · ``alone_s`` : time of the processor of that
    while no others had anything to do · ``beside_s`` : of that while others did · ``all_s`` : of all processes
    """

    wall_s: float
    own_mb: float
    alone_s: float
    beside_s: float
    all_s: float

    @property
    def most(self) -> float:
        """How many times as fast two processes on two cores can be as one, which has its own core beside this one's."""
        return (self.all_s - self.beside_s) / (self.alone_s + (self.all_s - self.alone_s) / 2)


def audited(folder: Path, store: Path, *arguments: str) -> Cost:
    """What an audit takes."""
    begin, before_s = time.perf_counter(), _of_children_s()
    program = [sys.executable, "-c", LARGEST, str(folder), "--store", str(store), *arguments]
    told = subprocess.run(program, env=ALONE, capture_output=True, text=True, check=True).stdout
    wall_s = time.perf_counter() - begin
    with contextlib.suppress(ChildProcessError):
        while os.wait():
            pass
    kilobytes, alone_s, beside_s = map(float, told.split())
    return Cost(wall_s, kilobytes / 1e3, alone_s, beside_s, _of_children_s() - before_s)


def _of_children_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def store_share(store: Path) -> tuple[float, float]:
    """Size of a store, and of its series, over that of the series as float32."""
    kept = open_store(store)
    raw = sum(4 * kept.series(key).size for key in kept.keys())  # noqa: SIM118  (a store is no dictionary)
    own = [path for path in store.rglob("*.parquet") if ".rows" not in path.parts]
    whole = sum(path.stat().st_size for path in own)
    series = sum(path.stat().st_size for path in own if "series" in path.parts)
    return whole / raw, series / raw


def main(n_rides: int) -> None:
    """Make the fleet, audit it in each way, print the table."""
    place = Path(tempfile.mkdtemp(prefix="ridelog-fleet-"))
    try:
        few, many = place / "few", place / "many"
        write_fleet(few, n_bikes=max(n_rides // 100, 2), rides_per_bike=10, seed=3)
        write_fleet(many, n_bikes=max(n_rides // 40, 2), rides_per_bike=40, seed=4)
        one = audited(many, place / "one", "--workers", "1")
        two = audited(many, place / "two", "--workers", "2")
        again = audited(many, place / "two", "--workers", "2")
        few_cost = audited(few, place / "few-store", "--workers", "2")
        whole, series = store_share(place / "two")
        print(f"{n_rides} rides, {os.cpu_count()} cores; before the brackets ratios")
        gained = one.wall_s / two.wall_s
        print(f"one process / two processes                {gained:6.2f}  ({one.wall_s:.1f} s, {two.wall_s:.1f} s)")
        print(f"  at most, by what one does alone          {two.most:6.2f}  ({two.alone_s:.1f} of {two.all_s:.1f} s)")
        print(f"second audit / first, of the processor     {again.all_s / two.all_s:6.3f}  ({again.all_s:.2f} s)")
        print(f"memory, audit of many / of few rides       {two.own_mb / few_cost.own_mb:6.2f}  ({two.own_mb:.0f} MB)")
        print(f"store / series as float32                  {whole:6.2f}  (series alone {series:.2f})")
        with running_cluster(place) as (address, _):
            time.sleep(8)
            begin = time.perf_counter()
            subprocess.run(
                [sys.executable, "-c", LARGEST, str(many), "--store", str(place / "cluster"), "--scheduler", address],
                env=ALONE, capture_output=True, check=True,
            )  # fmt: skip
            cluster_s = time.perf_counter() - begin
        print(f"two processes / Dask with two workers      {two.wall_s / cluster_s:6.2f}  ({cluster_s:.1f} s)")
    finally:
        shutil.rmtree(place, ignore_errors=True)


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(ADOPT_ORPHANS, 1, 0, 0, 0)
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
