"""What an audit costs: one process against two, a cluster against processes, a second audit against the first, memory.

``python tests/benchmarks/fleet.py [RIDES]`` makes a fleet of so many rides (400 by default) in the temporary folder and
prints ratios, in wall time on this machine: run it where nothing else runs.
"""

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parents[2]
sys.path.insert(0, str(HERE))

from ridelog.fleet.store.store import open_store
from sample_rides.fleet import write_fleet
from tests.fleet.cluster import running_cluster

ALONE = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": str(HERE)}
LARGEST = """
import resource, sys
from ridelog.cli import main
main(["audit", *sys.argv[1:]], open("/dev/null", "w"), open("/dev/null", "w"))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def audited(folder: Path, store: Path, *arguments: str) -> tuple[float, float]:
    """Wall seconds, and the most memory of the audit itself [MB]."""
    begin = time.perf_counter()
    program = [sys.executable, "-c", LARGEST, str(folder), "--store", str(store), *arguments]
    told = subprocess.run(program, env=ALONE, capture_output=True, text=True, check=True).stdout
    return time.perf_counter() - begin, float(told) / 1e3


def store_share(store: Path) -> tuple[float, float]:
    """Size of a store, and of its series, over that of the series as float32."""
    kept = open_store(store)
    raw = sum(4 * len(kept.series(key)) * len(kept.series(key).columns) for key in list(kept.keys())[:50])
    keys = set(list(kept.keys())[:50])
    own = [path for path in store.rglob("*.parquet") if path.name[:64] in keys and ".rows" not in path.parts]
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
        one_s, _ = audited(many, place / "one", "--workers", "1")
        two_s, own_mb = audited(many, place / "two", "--workers", "2")
        again_s, _ = audited(many, place / "two", "--workers", "2")
        _, few_own_mb = audited(few, place / "few-store", "--workers", "2")
        with running_cluster(place) as (address, _):
            time.sleep(8)
            cluster_s, _ = audited(many, place / "cluster", "--scheduler", address)
        whole, series = store_share(place / "two")
        print(f"{n_rides} rides, {os.cpu_count()} cores")
        print(f"one process / two processes                {one_s / two_s:6.2f}  ({one_s:.1f} s, {two_s:.1f} s)")
        print(f"two processes / Dask with two workers      {two_s / cluster_s:6.2f}  ({cluster_s:.1f} s)")
        print(f"second audit / first                       {again_s / two_s:6.3f}  ({again_s:.2f} s)")
        print(f"memory, audit of many / of few rides       {own_mb / few_own_mb:6.2f}  ({own_mb:.0f} MB)")
        print(f"store / series as float32                  {whole:6.2f}  (series alone {series:.2f})")
    finally:
        shutil.rmtree(place, ignore_errors=True)


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
