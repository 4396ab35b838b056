"""Packs that are treated well and packs that are not: what is said of them, and what truly happened.

Every ride serves several loggers. A healthy pack's limits, in its bike file, lie at or just beyond what truly happened;
the other pack is nearly full and opens its charge path in the middle of a braking.
"""

from dataclasses import asdict, replace

import numpy as np
import pandas as pd

from ridelog.analysis.measure import measure
from ridelog.answer.ride import Answer
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, PackSection
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.quantity import Quantity
from sample_rides.simulation import Simulated, simulate
from tests.proof.bench import START, Case, Log, TrueRide, random_case, random_log, random_track, random_track_case
from tests.proof.study import Plan, Result, Row

TREATED_BADLY = ("charge-path", "charge-cut-out", "cell-overcharged", "charged-cold", "charge-current-high")
CHANNELS = ("current_a", "voltage_v", "speed_mps", "battery_temperature_c")


def logged(log: Log, *, from_s: float = 0.0) -> Recording:
    """The log as an importer would hand it on, with the battery's temperature, from a moment of it on."""
    frame = log.frame[log.frame["time_s"] >= from_s]
    index = pd.Index(frame["time_s"].to_numpy() - float(frame["time_s"].iloc[0]), name="time_s")
    columns = pd.DataFrame({name: frame[name].to_numpy() for name in CHANNELS}, index=index)
    return Recording("controller.csv", "bytes of controller.csv", "csv", columns, START, "utc")


def healthy_limits(ride: TrueRide, rng: np.random.Generator) -> PackSection:
    """Limits that the ride kept to, some of them only just."""
    sim = ride.sim
    n_cells = sim.scenario.pack.cells_in_series
    charging = sim.current_a < 0
    highest_v = float((sim.voltage_v[charging] / n_cells).max()) if charging.any() else 4.0
    full_v = highest_v * rng.uniform(1.0, 1.01)
    return PackSection(
        cells_in_series=n_cells,
        capacity_ah=sim.scenario.pack.capacity_ah,
        full_cell_v=min(max(full_v, 4.2 if rng.random() < 0.5 else 0.0), 4.5),
        max_charge_a=float(max(-sim.current_a.min(), 0.1) * rng.uniform(1.0, 1.3)),
        min_charge_temperature_c=float(sim.temperature_c.min() - rng.uniform(0.1, 10)),
        charge_path="allowed",
    )


def measure_pack(seed: int, plan: Plan) -> Result:
    """A healthy ride: the pack's numbers, and the findings that it should not have (`n_events_found` of `n_events`)."""
    ride, result = TrueRide(seed, short=plan.short_rides), Result()
    for index in range(plan.n_loggers):
        rng = np.random.default_rng([seed, 20, index])
        case = random_case(rng)
        log = random_log(ride, case, rng)
        bike = case.bike(ride).model_copy(update={"pack": healthy_limits(ride, rng)})
        track, _ = random_track(ride, random_track_case(rng, ride.duration_s), log, rng)
        recordings = [logged(log), *([track] if rng.random() < 0.6 else [])]
        answer = measure(join_recordings(recordings, bike))
        result.n_events += 1
        result.n_events_found += any(f.code in TREATED_BADLY and f.severity != "note" for f in answer.findings)
        result.rows += [*_rows(ride, case, log, answer), _headroom_row(ride, case, log, bike)]
    return result


def _rows(ride: TrueRide, case: Case, log: Log, answer: Answer) -> list[Row]:
    sim, pack = ride.sim, answer.pack
    inside = slice(round(log.first_s / sim.step_s), round(log.last_s / sim.step_s))
    truths = {
        "resistance": (pack.resistance_ohm, sim.scenario.pack.resistance_ohm),
        "highest cell": (pack.highest_cell_v, sim.voltage_v[inside].max() / sim.scenario.pack.cells_in_series),
        "highest charge current": (pack.highest_charge_a, max(-sim.current_a[inside].min(), 0.0)),
    }
    return [_row(ride, name, said, float(true), case) for name, (said, true) in truths.items()]


def _headroom_row(ride: TrueRide, case: Case, log: Log, bike: Bike) -> Row:
    """The same log from the moment on from which the charge rises furthest: rides by chance begin uphill."""
    sim = ride.sim
    first, last = round(log.first_s / sim.step_s), round(log.last_s / sim.step_s)
    charge_ah = np.concatenate(([0.0], np.cumsum(-sim.current_a[first:last]) * sim.step_s / 3600))
    rises = np.maximum.accumulate(charge_ah[::-1])[::-1] - charge_ah
    latest = max(0.0, log.last_s - log.first_s - 60.0)
    times = np.append(log.frame["time_s"].to_numpy(), np.inf)
    chosen_s = min(float(np.argmax(rises)) * sim.step_s, latest)
    from_s = float(times[np.searchsorted(times, chosen_s - 1e-9)])
    answer = measure(join_recordings([logged(log, from_s=from_s)], bike))
    return _row(ride, "headroom", answer.pack.start_charge_headroom_ah, float(rises[round(from_s / sim.step_s)]), case)


def _row(ride: TrueRide, name: str, said: Quantity | None, true: float, case: Case) -> Row:
    value, low, high = (None, None, None) if said is None else (said.value, said.low95, said.high95)
    return Row(ride.seed, name, value, low, high, true, asdict(case))


def quick(rows: list[Row]) -> list[Row]:
    """Those of loggers that show a peak: readings of the moment, at most half a second apart."""
    return [row for row in rows if not row.logger["averaged"] and row.logger["step_s"] <= 0.5]


def tripping_ride(seed: int, *, short: bool = False) -> TrueRide:
    """A ride on a nearly full pack that opens its charge path at a voltage that its stronger brakings reach."""
    ride = TrueRide(seed, short=short)
    scenario = ride.sim.scenario
    full = replace(scenario.pack, start_soc=0.97)
    free = simulate(replace(scenario, pack=full))
    braking_v = free.voltage_v[free.current_a < -2.0] / full.cells_in_series
    if len(braking_v):
        trips = replace(full, trip_cell_v=float(np.quantile(braking_v, 0.6)), trip_s=1.0)
        ride.sim = simulate(replace(scenario, pack=trips))
    return ride


def true_cut_outs(sim: Simulated, *, least_a: float = 2.0, braked_s: float = 6.0) -> list[float]:
    """Moments at which the current into the battery ended from one step to the next and the rider went on braking.

    Only those with ``braked_s`` of friction braking at more than 3 m/s afterwards: no log tells the others from a rider
    who lets go.
    """
    ends = np.flatnonzero((sim.current_a[:-1] < -least_a) & (sim.current_a[1:] > -0.2))
    n = round(braked_s / sim.step_s)
    return [
        float(sim.time_s[end])
        for end in ends
        if end + n < len(sim.time_s)
        and (sim.friction_n[end + 20 : end + n] > 15).all()
        and (sim.speed_mps[end : end + n] > 3).all()
    ]


def measure_tripping(seed: int, plan: Plan) -> Result:
    """How many logs hold a cut-out (`n_hills`) and tell one (`n_hills_found`), and how many of all tell a false one
    (`n_events_found` of `n_events`)."""
    ride, result = tripping_ride(seed, short=plan.short_rides), Result()
    sim = ride.sim
    every_end = sim.time_s[np.flatnonzero((sim.current_a[:-1] < -1.0) & (sim.current_a[1:] > -0.2))]
    for index in range(plan.n_loggers):
        rng = np.random.default_rng([seed, 21, index])
        case = replace(random_case(rng), averaged=False, step_s=float(rng.choice([0.1, 0.2, 0.5])), lost_ratio=0.0)
        log = random_log(ride, case, rng)
        full_v = (sim.scenario.pack.trip_cell_v or 4.25) - 0.05  # protections trip 0.05 to 0.1 V above full
        pack = PackSection(cells_in_series=sim.scenario.pack.cells_in_series, full_cell_v=full_v, charge_path="allowed")
        bike = case.bike(ride).model_copy(update={"pack": pack})
        track = replace(random_track_case(rng, ride.duration_s), offset_s=0.0, from_s=0.0, lost_ratio=0.0)
        track = replace(track, until_s=ride.duration_s, electrical_clock="utc")
        answer = measure(join_recordings([logged(log), random_track(ride, track, log, rng)[0]], bike))
        told = [
            f.start_s + log.first_s for f in answer.findings if f.code == "charge-cut-out" and f.start_s is not None
        ]
        cuts = true_cut_outs(sim)
        if cuts:
            result.n_hills += 1
            result.n_hills_found += bool(told)
        result.n_events += 1
        result.n_events_found += any(np.abs(every_end - at_s).min(initial=np.inf) > 2 * case.step_s for at_s in told)
    return result
