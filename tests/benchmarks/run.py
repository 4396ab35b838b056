"""What the parts cost on one big ride, as ratios to adding up its samples once with numpy; run by ``make bench``.

Ratios within one run survive a slow machine; seconds do not.
"""

import io
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np
import pandas as pd

from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.measure import measure
from ridelog.figures.reduce import reduce_window
from ridelog.importers.registry import read
from ridelog.timeline.ride import join_recordings

N = 1_000_000
Result = TypeVar("Result")


def timed(work: Callable[[], Result], repeats: int = 3) -> tuple[float, Result]:
    """Shortest of some runs [s], and the last result."""
    seconds = []
    for _ in range(repeats):
        begin = time.perf_counter()
        result = work()
        seconds.append(time.perf_counter() - begin)
    return min(seconds), result


def log_text() -> bytes:
    time_s = np.arange(N) / 100
    current = 6 + 10 * np.sin(2 * np.pi * time_s / 12)
    speed = 20 + 5 * np.sin(2 * np.pi * time_s / 60)
    table = pd.DataFrame({"time [s]": time_s, "battery current [A]": current.round(2), "battery voltage [V]": 48.0})
    table["wheel speed [km/h]"] = speed.round(1)
    return table.to_csv(index=False).encode()


def main() -> None:
    numbers = np.random.default_rng(1).standard_normal(N)
    unit_s, _ = timed(lambda: float(np.add.accumulate(numbers)[-1]), 20)
    text = log_text()
    read_s, recordings = timed(lambda: read(io.BytesIO(text), name="log.csv"))
    join_s, ride = timed(lambda: join_recordings(recordings))
    flow_s, _ = timed(lambda: electrical_flow(ride.electrical))
    measure_s, answer = timed(lambda: measure(ride))
    x, y = answer.series["elapsed_s"].to_numpy(), answer.series["power_w"].to_numpy()
    gaps = np.zeros(N - 1, dtype=bool)
    zoom_s, _ = timed(lambda: reduce_window(x, y, start=0.0, end=float(x[-1]), gap_mask=gaps))
    print(f"{N} samples; one running sum over them is 1")
    for name, seconds in (
        ("read the log", read_s),
        ("join and lay out the series", join_s),
        ("drawn and returned", flow_s),
        ("the whole answer", measure_s),
        ("reduce for the chart", zoom_s),
    ):
        print(f"{name:30s}{seconds / unit_s:10.1f}")


if __name__ == "__main__":
    main()
