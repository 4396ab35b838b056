"""The ledger against the truth: rides whose bike files are off within their limits, each line as said and as it was.

Wind is stated as it is: the simulation's blows along the way at every turn of the road, as no error of a wind does.
"""

from dataclasses import replace

import numpy as np

from ridelog.analysis.measure import measure
from ridelog.answer.ledger import LedgerEntry
from ridelog.settings.bike import Bike, MotorSection
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.quantity import Quantity
from sample_rides.simulation import Simulated
from tests.proof.bench import Case, Log, TrueRide
from tests.proof.stated_rides import (
    TrueLedger,
    logged,
    offered_wh,
    stated_mass,
    stated_road,
    true_ledger,
    wide_span,
)
from tests.proof.study import Plan, Result, Row

DRAG_RATIO = 0.2  # what ridelog allows a stated drag
LINES = (
    "drawn_wh", "returned_wh", "rider_wh", "kinetic_wh", "potential_wh", "air_wh", "rolling_wh", "drag_wh",
    "to_wheel_wh", "available_wh", "missed_wh", "conversion_wh", "friction_wh", "unexplained_wh",
)  # fmt: skip
# Of an event, what does not hang on where its first and last step are cut.
EVENT_LINES = ("returned_wh", "potential_wh", "available_wh", "missed_wh", "conversion_wh", "friction_wh")


def stated_bike(ride: TrueRide, case: Case, rng: np.random.Generator) -> Bike:
    """The bike file of an owner whose values are anywhere within the limits that he states."""
    machine, off = ride.sim.scenario.machine, rng.uniform(-1, 1, 4)
    return Bike(
        bike=stated_mass(machine, off[0]).model_copy(update={"rotating_mass_kg": machine.rotating_kg}),
        motor=MotorSection(kind="direct-drive"),
        sensor=case.bike(ride).sensor,
        road=stated_road(machine, off[1], off[2]).model_copy(
            update={
                "motor_drag_n": machine.motor_drag_n / (1 + DRAG_RATIO * off[3]),
                "air_temperature_c": 15.0,
                "air_pressure_hpa": 1013.25,
                "wind_mps": machine.wind_mps,
            }
        ),
    )


def measure_ledger(seed: int, plan: Plan) -> Result:
    """One ride with one logger, one track and one bike file by chance; every line of its ledger as a row."""
    ride = TrueRide(seed, short=plan.short_rides)
    rng = np.random.default_rng([seed, 7])
    one = logged(ride, rng)
    case, log, recording = one.case, one.log, one.electrical
    if rng.random() < 0.5:
        recording.frame["rider_power_w"] = _rider_w(ride.sim, recording.time_s + log.first_s, rng)
    answer = measure(join_recordings([recording, one.track], stated_bike(ride, case, rng)))
    result = Result()
    if answer.ledger is None:
        return result
    true, frame_s = true_ledger(ride.sim), log.frame["time_s"].to_numpy()
    entries = [entry for entry in answer.ledger.entries if entry.kind == "event"]
    held = [wide_span((entry.start_s, entry.end_s), frame_s, case.step_s) for entry in entries]
    for entry in answer.ledger.entries:
        result.rows += _rows(seed, entry, true, log, held)
    return result


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
    offered = offered_wh(braked)
    truth = {
        **whole,
        "available_wh": offered,
        "missed_wh": offered - braked["returned_wh"],
        "conversion_wh": braked["motor_brake_wh"] - braked["returned_wh"],
        "friction_wh": braked["friction_wh"],
        "to_wheel_wh": offered - offered_wh(whole) + whole["drag_wh"] - braked["drag_wh"],
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
