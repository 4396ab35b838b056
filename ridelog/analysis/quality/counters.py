"""Whether a device's own counters of charge and energy agree with the sum of the samples it logged."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ridelog.analysis.electrical.charge import split_flow
from ridelog.analysis.electrical.rest import Rest
from ridelog.arrays import Floats, Mask, time_gaps
from ridelog.channels import CHANNELS
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass

Indices = NDArray[np.intp]

_WHICH = ("drawn", "returned", "net")


@dataclass(frozen=True)
class Count:
    """What a counter counted and what the samples sum up to, over the same time.

    Attributes
    ----------
    which, unit : "drawn", "returned" or "net"; "Ah" or "Wh"
    counted, summed, allowed : by the counter, from the samples, and how far these may lie apart [unit]
    n_breaks : times that the counter was reset, started again or leapt; such steps are left out of both
    is_net : a counter of drawn charge that fits drawn less returned
    """

    which: str
    unit: str
    counted: float
    summed: float
    allowed: float
    n_breaks: int
    is_net: bool

    @property
    def agrees(self) -> bool:
        """Whether counter and samples lie no further apart than both may err."""
        return abs(self.counted - self.summed) <= self.allowed

    @property
    def tells(self) -> bool:
        """Whether there is enough to compare at all: more than the two may lie apart."""
        return max(abs(self.counted), abs(self.summed)) > 1.5 * self.allowed

    def facts(self) -> dict[str, float | None]:
        """Counter and samples, and by how much the counter is above them where these show anything."""
        name, unit = self.which, self.unit.lower()
        off_pct = 100 * (self.counted / self.summed - 1) if abs(self.summed) > self.allowed else None
        return {
            f"{name}_counter_{unit}": self.counted,
            f"{name}_samples_{unit}": self.summed,
            f"{name}_{unit}_off_pct": off_pct,
        }


def counter_steps(counter: Floats) -> tuple[Indices, float]:
    """Indices at which a counter shows a new value, and its smallest step.

    From one change to another the counter's last digit takes nothing away. Without two changes: its known ends.
    """
    known = np.flatnonzero(np.isfinite(counter))
    if len(known) < 2:
        return np.zeros(0, dtype=int), 0.0
    rise = np.abs(np.diff(counter[known]))
    changed = known[1:][rise > 1e-9]
    step = float(np.quantile(rise[rise > 1e-9], 0.05)) if len(changed) else 0.0
    return (changed if len(changed) >= 2 else known[[0, -1]]), step


def break_mask(time_s: Floats, counter: Floats, at: Indices, step: float, largest_rate: float, *, falls: bool) -> Mask:
    """Which ways from change to change are no counting: resets, full counters that start again, leaps.

    Parameters
    ----------
    time_s, counter : shape (n,) [s], [Ah] or [Wh]
    at, step : from `counter_steps`
    largest_rate : more than this cannot have flowed [A] or [W]
    falls : the counter may fall, as one of drawn less returned does

    Returns
    -------
    Mask, shape (n_changes - 1,).
    """
    change = np.diff(counter[at])
    usual_s = float(np.median(np.diff(time_s)))  # the counter may have been read that much before its sample
    reach = 3 * step + 1.5 * largest_rate * (np.diff(time_s[at]) + usual_s) / 3600
    mask: Mask = np.abs(change) > reach
    return mask if falls else mask | (change < -1.5 * step)


@dataclass(frozen=True)
class Counter:
    """A counter that a device keeps: ``which`` is "drawn", "returned" or "net", ``unit`` is "Ah" or "Wh"."""

    which: str
    unit: str
    values: Floats


def compare_counter(time_s: Floats, rate: Floats, counter: Counter, rest: Rest, *, share: float = 0.03) -> Count | None:
    """A counter against the samples; ``None`` where nothing can be compared.

    Allowed are ``share`` (gain and rounding of two sums), two of the counter's steps, what the reading at rest adds
    while nothing flows (a counter may leave it out), and twice what sampling may miss at the ends of each flow: up to
    half a step times the current there (a pulse read every T: variance at most T²/4).

    Parameters
    ----------
    time_s, rate : shape (n,), at samples whose current or power is known [s], [A] or [W]
    counter : its values at these samples
    rest : the current at rest
    share : allowed of what has flowed [1]

    Returns
    -------
    What the counter and what the samples say, and by how much they may differ.
    """
    which, unit, values = counter.which, counter.unit, counter.values
    at, step = counter_steps(values)
    if len(at) < 2:
        return None
    gaps = time_gaps(time_s)
    flow = split_flow(time_s, rate, counted_mask=~gaps)
    breaks = break_mask(time_s, values, at, step, float(np.abs(rate).max()), falls=which == "net")
    holes = np.concatenate(([0], np.cumsum(gaps)))
    used = ~breaks & (np.diff(holes[at]) == 0)
    drawn, returned = (float(np.diff(part[at])[used].sum()) for part in (flow.drawn, flow.returned))
    summed = {"drawn": drawn, "returned": returned, "net": drawn - returned}[which]
    counted = float(np.diff(values[at])[used].sum())
    extra = 2 * step + _rest_part(time_s, rate, rest, unit) + 2 * _sampling_part(time_s, rate, which)
    gross = drawn + returned if which == "net" else summed
    allowed = share * gross + extra
    net = drawn - returned
    is_net = which == "drawn" and abs(counted - net) <= share * drawn + extra < abs(counted - drawn)
    return Count(which, unit, counted, summed, allowed, int(breaks.sum()), is_net)


def _rest_part(time_s: Floats, rate: Floats, rest: Rest, unit: str) -> float:
    """Charge or energy that the reading at rest sums up to while nothing else flows, whatever its sign."""
    volts = 1.0 if unit == "Ah" else 50.0  # what a pack has, roughly
    level_a = abs(rest.mean_a) if rest.mean_a is not None else 0.1
    quiet = np.abs(rate) <= volts * max(0.3, level_a + 4 * rest.noise_a)
    quiet_s = float(np.diff(time_s)[quiet[1:] & ~time_gaps(time_s)].sum())
    return volts * (level_a + 0.4 * rest.noise_a) * quiet_s / 3600


def _sampling_part(time_s: Floats, rate: Floats, which: str) -> float:
    """Standard uncertainty by which steps miss the ends of the flows one way: half a step times each change there."""
    sides = {"drawn": (1,), "returned": (-1,), "net": (1, -1)}[which]
    step_s = float(np.median(np.diff(time_s)))
    return sum(step_s / 2 * float(np.sqrt(np.sum(np.diff(np.maximum(side * rate, 0)) ** 2))) / 3600 for side in sides)


def counter_findings(called: str, frame: pd.DataFrame, rest: Rest) -> list[Finding]:
    """What a log's counters of charge and energy say of its samples; nothing where there are none.

    Parameters
    ----------
    called : name of the file
    frame : of the recording, index seconds
    rest : the current at rest

    Returns
    -------
    One for the counters that fit, one for those that do not.
    """
    counts: list[Count] = []
    for unit, rate in (("Ah", _column(frame, "current_a")), ("Wh", _power_w(frame))):
        known = np.isfinite(rate)
        for which in _WHICH:
            name = f"{which}_counter_{unit.lower()}"
            if name in frame and known.sum() > 1:
                time_s = frame.index.to_numpy(dtype=float)[known]
                counter = Counter(which, unit, _column(frame, name)[known])
                count = compare_counter(time_s, rate[known], counter, rest)
                counts += [count] if count and count.tells else []
    return [*_disagreement(called, [c for c in counts if not c.agrees]), *_agreement(called, counts)]


def counters_alone(called: str, frame: pd.DataFrame) -> list[Finding]:
    """What counters of both ways rose by in a log without current; nothing where one of the two is missing or still.

    Parameters
    ----------
    called : name of the file
    frame : of the recording, index seconds

    Returns
    -------
    One finding at most: the rises [Ah], [Wh], and what came back of what was drawn by charge, else by energy [%].
    """
    time_s = frame.index.to_numpy(dtype=float)
    facts: dict[str, Fact] = {"file": called}
    shares: list[float] = []
    for unit, of_rate in (("ah", "current_a"), ("wh", "power_w")):
        names = [f"{which}_counter_{unit}" for which in ("drawn", "returned")]
        rises = [_rise(time_s, _column(frame, name), CHANNELS[of_rate].high) for name in names]
        tells = rises[0] > 0 and all(name in frame for name in names)
        facts |= {f"drawn_{unit}": rises[0] if tells else None, f"returned_{unit}": rises[1] if tells else None}
        shares += [100 * rises[1] / rises[0]] if tells else []
    return [Finding("counters-alone", "note", {**facts, "share_pct": shares[0]})] if shares else []


def _rise(time_s: Floats, counter: Floats, largest_rate: float) -> float:
    """What a counter rose by, resets and leaps left out; 0 where it stands or is not known [its unit]."""
    at, step = counter_steps(counter)
    if len(at) < 2:
        return 0.0
    at = np.union1d(at, np.flatnonzero(np.isfinite(counter))[[0, -1]])
    used = ~break_mask(time_s, counter, at, step, largest_rate, falls=False)
    return float(np.diff(counter[at])[used].sum())


def _disagreement(called: str, counts: list[Count]) -> list[Finding]:
    if not counts:
        return []
    counts_net = all(count.is_net for count in counts)
    facts: dict[str, Fact] = {**_facts(called, counts), "counts_net": counts_net}
    return [Finding("counters-disagree", "note" if counts_net else "warning", facts)]


def _agreement(called: str, counts: list[Count]) -> list[Finding]:
    agreeing = [count for count in counts if count.agrees]
    return [Finding("counters-agree", "note", _facts(called, agreeing))] if agreeing else []


def _facts(called: str, counts: list[Count]) -> dict[str, str | float | None]:
    told = {name: value for count in counts for name, value in count.facts().items()}
    return {"file": called, **told, "n_breaks": max(count.n_breaks for count in counts)}


def _column(frame: pd.DataFrame, name: str) -> Floats:
    return frame[name].to_numpy(dtype=float) if name in frame else np.full(len(frame), np.nan)


def _power_w(frame: pd.DataFrame) -> Floats:
    if "voltage_v" in frame and "current_a" in frame:
        return _column(frame, "current_a") * _column(frame, "voltage_v")
    return _column(frame, "power_w")
