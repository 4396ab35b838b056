"""Whole rides against an earlier commit: CPU time of reading and measuring, the best of alternating runs.

``python tests/benchmarks/pairs.py`` compares with `BASE`, with a commit as argument with that. Ratios of the best of
runs in turn survive a slow and busy machine; seconds do not.
"""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).parents[2]
sys.path.insert(0, str(HERE))

from tests.benchmarks.workloads import workloads

BASE = "36dced2"  # the last before anything was done for speed
ROUNDS = 2

RIDE = """
import json, resource, sys, time
import ridelog, ridelog.analysis.measure
files, bike = json.loads(sys.argv[1]), sys.argv[2]
times = []
for _ in range(int(sys.argv[3])):
    begin = time.process_time()
    ride = ridelog.load_ride(files, bike=bike)
    read = time.process_time()
    ridelog.measure(ride)
    times.append((read - begin, time.process_time() - read))
    if time.process_time() - begin > 20:
        break
peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
print(json.dumps([min(t[0] for t in times), min(t[1] for t in times), peak_mb]))
"""
# The floor: the fastest parse known to us of the same log, and its charge and energy by clipped trapezoids.
FLOOR = """
import json, sys, time
import numpy as np, pyarrow, pyarrow.csv
log = next(name for name in json.loads(sys.argv[1]) if name.endswith(".csv"))
semicolons = b";" in open(log, "rb").readline()
parse = pyarrow.csv.ParseOptions(delimiter=";" if semicolons else ",")
convert = pyarrow.csv.ConvertOptions(decimal_point="," if semicolons else ".")
alone = pyarrow.csv.ReadOptions(use_threads=False)
def column(table, *words):
    name = next(name for name in table.column_names if any(word in name.lower() for word in words))
    return table[name].to_numpy().astype(float)
times = []
for _ in range(9):
    begin = time.process_time()
    table = pyarrow.csv.read_csv(log, parse_options=parse, convert_options=convert, read_options=alone)
    current_a, voltage_v = column(table, "current", "strom"), column(table, "voltage", "spannung")
    step_s = np.ones(len(table) - 1)
    for flow in (current_a, current_a * voltage_v):
        for side in (np.maximum(flow, 0), np.maximum(-flow, 0)):
            float(((side[1:] + side[:-1]) * step_s).sum() / 2)
    times.append(time.process_time() - begin)
print(json.dumps(min(times)))
"""


def run(tree: Path, program: str, *arguments: str) -> object:
    """What a program prints that sees the package of one tree, as data."""
    alone = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    told = subprocess.run(
        [sys.executable, "-c", program, *arguments],
        env={**os.environ, **alone, "PYTHONPATH": str(tree)},
        cwd=tree,
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(told.stdout)


def best(trees: Sequence[Path], files: Sequence[str], bike: str) -> list[list[float]]:
    """Seconds of reading and of measuring, and memory, of each tree: the least of runs in turn."""
    runs = [[run(tree, RIDE, json.dumps(files), bike, "2") for tree in trees] for _ in range(ROUNDS)]
    return [[min(one[side][k] for one in runs) for k in range(3)] for side in range(len(trees))]  # type: ignore[index]


def main(base: str) -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        before = Path(folder) / "before"
        subprocess.run(["git", "-C", str(HERE), "worktree", "add", "-q", "--detach", str(before), base], check=True)
        try:
            print(f"against {base}; × is how many times faster; seconds of CPU on this machine")
            print("workload                 before      now      ×  reading ×  of floor     MB    now")
            for name, paths in workloads().items():
                files = [str(path) for path in paths if path.suffix != ".toml"]
                bike = next(str(path) for path in paths if path.suffix == ".toml")
                old, new = best((before, HERE), files, bike)
                floor_s = float(run(HERE, FLOOR, json.dumps(files)))  # type: ignore[arg-type]
                was, now = old[0] + old[1], new[0] + new[1]
                print(
                    f"{name:22s}{was:9.2f}{now:9.2f}{was / now:7.1f}{old[0] / new[0]:11.1f}{now / floor_s:10.0f}"
                    f"{old[2]:7.0f}{new[2]:7.0f}",
                    flush=True,
                )
        finally:
            subprocess.run(["git", "-C", str(HERE), "worktree", "remove", "--force", str(before)], check=True)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else BASE)
