"""How narrow an interval could be at best: the spread of error that even an all-knowing reader of the log is left with.

The oracle knows the true waveform, and so the true direction of the current at every sample and when nothing but the
standby draw flows; it knows how every error is distributed, and so the mean error of its own rule. It does not know
this sensor's errors. Where the standby draw is not stated it knows no more of it than that it lies between 0 and
0.4 A, and takes the middle of the zero errors that the reading at rest leaves possible.
"""

import numpy as np

from tests.proof.bench import QUANTITIES, Case, TrueRide

MOST_STANDBY_A = 0.4  # controller, display and lights of a standing bike draw no more (common practice, no source)


def oracle_widths(ride: TrueRide, case: Case, *, n_sensors: int = 150, seed: int = 0) -> dict[str, float]:
    """Width of the 95 % spread of its error, for each of the `QUANTITIES`, over sensors drawn anew on one ride."""
    rng = np.random.default_rng([ride.seed, seed, 77])
    ratios = np.empty((n_sensors, 4))
    for index in range(n_sensors):
        ratios[index] = _estimated_over_true(ride, case, rng)
    ratios /= ratios.mean(axis=0)  # the best correction of a rule whose mean error is known
    truth = ride.truth(0.0, ride.duration_s)
    shares = ratios[:, [1, 3]] / ratios[:, [0, 2]]
    columns = (ratios[:, 0], ratios[:, 1], shares[:, 0], ratios[:, 2], ratios[:, 3], shares[:, 1])
    return {
        name: truth[name] * float(np.diff(np.quantile(column, [0.025, 0.975]))[0])
        for name, column in zip(QUANTITIES, columns, strict=True)
    }


def _estimated_over_true(ride: TrueRide, case: Case, rng: np.random.Generator) -> np.ndarray:
    """Drawn Ah, returned Ah, drawn Wh, returned Wh of one sensor's log, each over its truth."""
    sim = ride.sim
    stride = round(case.step_s / sim.step_s)
    phase = int(rng.integers(0, stride))
    off = rng.uniform(-1, 1, 4)
    gain = 1 + case.gain_limit_pct / 100 * off[1]
    back = 1 + case.charge_gain_limit_pct / 100 * off[2]
    true_a, volts = (
        _sampled(values, phase, stride, averaged=case.averaged) for values in (sim.current_a, sim.voltage_v)
    )
    read = np.where(true_a < 0, back, 1.0) * gain * true_a + case.zero_limit_a * off[0]
    read = read + case.noise_a * rng.standard_normal(len(read))
    if case.resolution_a:
        read = np.round(read / case.resolution_a) * case.resolution_a
    kept, weight_h = _weights(len(read), case, rng)
    rest = kept & (np.abs(true_a - ride.standby_a) < 1e-3)
    read = read - (_zero_a(float(read[rest].mean()), ride, case) if rest.any() else 0.0)
    flow = np.stack([read, read * volts * (1 + case.voltage_gain_limit_pct / 100 * off[3])]) * weight_h
    first = (phase + (stride if case.averaged else 0)) * sim.step_s
    true = ride.flows(first, first + (len(read) - 1) * case.step_s)
    drawn, returned = flow[:, true_a > 0].sum(axis=1), -flow[:, true_a < 0].sum(axis=1)
    result: np.ndarray = np.array([drawn[0], returned[0], drawn[1], returned[1]]) / true
    return result


def _zero_a(at_rest_a: float, ride: TrueRide, case: Case) -> float:
    """The best guess at the zero error, given the mean reading at rest."""
    if case.standby_known:
        return at_rest_a - ride.standby_a
    low, high = max(-case.zero_limit_a, at_rest_a - MOST_STANDBY_A), min(case.zero_limit_a, at_rest_a)
    return (low + high) / 2


def _sampled(values: np.ndarray, phase: int, stride: int, *, averaged: bool) -> np.ndarray:
    if not averaged:
        return values[phase::stride]
    whole = (len(values) - phase) // stride
    means: np.ndarray = values[phase : phase + whole * stride].reshape(whole, stride).mean(axis=1)
    return means


def _weights(n: int, case: Case, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Which samples are kept, and the hours that each stands for; a gap is shared by its two neighbours."""
    kept = np.ones(n, dtype=bool)
    while n > 3 and (~kept).sum() < case.lost_ratio * (n - 2):
        first = int(rng.integers(1, n - 1))
        kept[first : min(first + max(1, round(rng.exponential(2.0) / case.step_s)), n - 1)] = False
    steps = np.diff(np.flatnonzero(kept)).astype(float)
    weight = np.zeros(n)
    weight[kept] = (np.append(steps, 0.0) + np.append(0.0, steps)) / 2
    if case.averaged:  # a mean stands for the step before it, and the first for none
        weight[kept] = (np.append(steps - 1, 0.0) + np.append(0.0, steps - 1)) / 2 + np.append(0.0, np.ones(len(steps)))
    return kept, weight * case.step_s / 3600
