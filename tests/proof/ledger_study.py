"""The ledger against the truth: rides whose bike files are off within their limits, each line as said and as it was.

Wind is stated as it is: the simulation's blows along the way at every turn of the road, as no error of a wind does.
"""

from dataclasses import dataclass, replace

import numpy as np

from ridelog.analysis.measure import measure
from ridelog.answer.ledger import LedgerEntry
from ridelog.settings.bike import Bike, BikeSection, MotorSection, RoadSection
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.quantity import Quantity
from sample_rides.machine import GRAVITY_MPS2
from sample_rides.simulation import Simulated
from tests.proof.bench import (
    Case,
    Log,
    TrackCase,
    TrueRide,
    electrical_recording,
    random_case,
    random_log,
    random_track,
)
from tests.proof.study import Plan, Result, Row

LIMITS = {
    "total_mass_kg": 3.0,
    "cda_m2": 0.08,
    "crr": 0.0015,
}  # half-widths that an owner who measured them would state
DRAG_RATIO = 0.2  # what ridelog allows a stated drag
LINES = (
    "drawn_wh", "returned_wh", "rider_wh", "kinetic_wh", "potential_wh", "air_wh", "rolling_wh", "drag_wh",
    "to_wheel_wh", "available_wh", "missed_wh", "conversion_wh", "friction_wh", "unexplained_wh",
)  # fmt: skip
# Of an event, what does not hang on where its first and last step are cut.
EVENT_LINES = ("returned_wh", "potential_wh", "available_wh", "missed_wh", "conversion_wh", "friction_wh")


@dataclass(frozen=True)
class TrueLedger:
    """Running sums of the simulation at the edges of its steps, by line [Wh]."""

    edges_s: np.ndarray
    running: dict[str, np.ndarray]

    def between(self, start_s: float, end_s: float) -> dict[str, float]:
        """Every line between two moments of the simulation."""
        return {
            name: float(np.diff(np.interp([start_s, end_s], self.edges_s, r))[0]) for name, r in self.running.items()
        }


def true_ledger(ride: Simulated) -> TrueLedger:
    """The energy of a ride by where it came from and went, from the fine steps."""
    machine, step = ride.scenario.machine, ride.step_s
    after_m = np.append(ride.distance_m[1:], ride.distance_m[-1])
    after_mps = np.append(ride.speed_mps[1:], ride.speed_mps[-1])
    after_h = np.append(ride.height_m[1:], ride.height_m[-1])
    rolled_m, middle_mps = after_m - ride.distance_m, (ride.speed_mps + after_mps) / 2
    sine = ride.road.sine((ride.distance_m + after_m) / 2)
    joules = {
        "drawn_wh": np.maximum(ride.power_w, 0) * step,
        "returned_wh": np.maximum(-ride.power_w, 0) * step,
        "rider_wh": ride.rider_n * rolled_m,
        "kinetic_wh": machine.effective_mass_kg * (after_mps**2 - ride.speed_mps**2) / 2,
        "potential_wh": machine.mass_kg * GRAVITY_MPS2 * (after_h - ride.height_m),
        "air_wh": ride.air_n(middle_mps) * rolled_m,
        "rolling_wh": machine.rolling_n(sine) * rolled_m,
        "drag_wh": machine.motor_drag_n * rolled_m,
        "motor_brake_wh": np.maximum(-ride.motor_n, 0) * rolled_m,
        "friction_wh": ride.friction_n * rolled_m,
    }  # fmt: skip
    running = {name: np.concatenate(([0.0], np.cumsum(part))) / 3600 for name, part in joules.items()}
    return TrueLedger(step * np.arange(len(ride.time_s) + 1), running)


def stated_bike(ride: TrueRide, case: Case, rng: np.random.Generator) -> Bike:
    """The bike file of an owner whose values are anywhere within the limits that he states."""
    machine, off = ride.sim.scenario.machine, rng.uniform(-1, 1, 4)
    return Bike(
        bike=BikeSection(
            total_mass_kg=machine.mass_kg + LIMITS["total_mass_kg"] * off[0],
            total_mass_limit_kg=LIMITS["total_mass_kg"],
            rotating_mass_kg=machine.rotating_kg,
        ),
        motor=MotorSection(kind="direct-drive"),
        sensor=case.bike(ride).sensor,
        road=RoadSection(
            cda_m2=machine.cda_m2 + LIMITS["cda_m2"] * off[1],
            cda_limit_m2=LIMITS["cda_m2"],
            crr=machine.crr + LIMITS["crr"] * off[2],
            crr_limit=LIMITS["crr"],
            motor_drag_n=machine.motor_drag_n / (1 + DRAG_RATIO * off[3]),
            air_temperature_c=15.0,
            air_pressure_hpa=1013.25,
            wind_mps=machine.wind_mps,
        ),
    )


def measure_ledger(seed: int, plan: Plan) -> Result:
    """One ride with one logger, one track and one bike file by chance; every line of its ledger as a row."""
    ride = TrueRide(seed, short=plan.short_rides)
    rng = np.random.default_rng([seed, 7])
    case = random_case(rng)
    log = random_log(ride, case, rng)
    track_case = TrackCase(
        offset_s=float(rng.uniform(-20, 20)), drift_ppm=float(rng.uniform(-40, 40)), from_s=0.0,
        until_s=ride.duration_s, position_error_m=float(rng.uniform(0.5, 3.0)),
        altitude_error_m=float(rng.uniform(0.2, 1.5)), altitude_resolution_m=float(rng.choice([0.1, 0.2, 1.0])),
        lost_ratio=0.0, with_speed=bool(rng.random() < 0.5), electrical_clock="utc",
    )  # fmt: skip
    track, _ = random_track(ride, track_case, log, rng)
    recording = electrical_recording(log)
    if rng.random() < 0.5:
        recording.frame["rider_power_w"] = _rider_w(ride.sim, recording.time_s + log.first_s, rng)
    answer = measure(join_recordings([recording, track], stated_bike(ride, case, rng)))
    result = Result()
    if answer.ledger is None:
        return result
    true, frame_s = true_ledger(ride.sim), log.frame["time_s"].to_numpy()
    entries = [entry for entry in answer.ledger.entries if entry.kind == "event"]
    held = [wide_span((entry.start_s, entry.end_s), frame_s, case.step_s) for entry in entries]
    for entry in answer.ledger.entries:
        result.rows += _rows(seed, entry, true, log, held)
    return result


def wide_span(event_s: tuple[float, float], frame_s: np.ndarray, step_s: float) -> tuple[float, float]:
    """From the sample before an event to the one after it, which is what events count; not across a gap."""
    first_s, last_s = event_s
    before = frame_s[max(int(np.searchsorted(frame_s, first_s - 1e-6)) - 1, 0)]
    after = frame_s[min(int(np.searchsorted(frame_s, last_s + 1e-6)), len(frame_s) - 1)]
    start_s = before if first_s - before < 1.5 * step_s else first_s
    return float(start_s), float(after if after - last_s < 1.5 * step_s else last_s)


def _rider_w(ride: Simulated, moments_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A power meter that is off by up to 3 %."""
    index = np.clip(np.floor(moments_s / ride.step_s + 1e-6).astype(int), 0, len(ride.time_s) - 1)
    read_w: np.ndarray = np.clip(ride.rider_n * ride.speed_mps, 0, None)[index] * (1 + 0.03 * rng.uniform(-1, 1))
    return read_w


def _rows(seed: int, entry: LedgerEntry, true: TrueLedger, log: Log, held: list[tuple[float, float]]) -> list[Row]:
    """The lines of one entry; of braking, what happened in the events that were found."""
    spans = [span for span in held if min(span[1], entry.end_s) > max(span[0], entry.start_s)]
    if entry.kind == "event":
        spans = [span for span in held if span[0] <= entry.start_s and entry.end_s <= span[1]]
        entry = replace(entry, start_s=spans[0][0], end_s=spans[0][1])
    whole = true.between(log.first_s + entry.start_s, log.first_s + entry.end_s)
    braked = dict.fromkeys(whole, 0.0)
    for span in spans:
        start_s, end_s = max(span[0], entry.start_s), min(span[1], entry.end_s)
        for name, part in true.between(log.first_s + start_s, log.first_s + end_s).items():
            braked[name] += part
    net = ("kinetic_wh", "potential_wh", "air_wh", "rolling_wh")
    offered = -sum(braked[name] for name in net)
    truth = {
        **whole,
        "available_wh": offered,
        "missed_wh": offered - braked["returned_wh"],
        "conversion_wh": braked["motor_brake_wh"] - braked["returned_wh"],
        "friction_wh": braked["friction_wh"],
        "to_wheel_wh": sum(whole[name] for name in net) + offered + whole["drag_wh"] - braked["drag_wh"],
    }
    rider = whole["rider_wh"] if entry.rider_wh is not None else 0.0
    given = whole["drawn_wh"] + rider - (whole["returned_wh"] - braked["returned_wh"])
    truth["unexplained_wh"] = given - (truth["to_wheel_wh"] if entry.kind != "event" else 0.0)
    rows = []
    for line in LINES if entry.kind != "event" else EVENT_LINES:
        said: Quantity | None = getattr(entry, line)
        if said is not None:
            rows.append(Row(seed, f"{entry.kind} {line}", said.value, said.low95, said.high95, truth[line]))
    return rows
