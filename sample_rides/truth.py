"""What really happened on a simulated ride: totals, hills, braking events and the ledger of energy."""

import math
from dataclasses import asdict, dataclass
from typing import Any, Literal

import numpy as np

from sample_rides.machine import GRAVITY_MPS2
from sample_rides.route import Floats
from sample_rides.simulation import Simulated

EventKind = Literal["stop", "slowing", "holding"]


@dataclass(frozen=True)
class TrueHill:
    """An authored slope as ridden; seconds from the first electrical sample."""

    direction: Literal["up", "down"]
    start_s: float
    end_s: float
    start_m: float
    end_m: float
    height_m: float
    drawn_wh: float
    returned_wh: float


@dataclass(frozen=True)
class TrueEvent:
    """A braking event: the brakes, motor or friction, held the bike back."""

    start_s: float
    end_s: float
    kind: EventKind
    start_speed_mps: float
    end_speed_mps: float
    drop_m: float
    returned_ah: float
    returned_wh: float
    available_wh: float


@dataclass(frozen=True)
class Ledger:
    """Where the energy came from and went to over the whole ride, all in [Wh].

    At the wheel: ``rider + motor_drive = motor_brake + friction + air + rolling + motor_drag + kinetic + potential``.
    In the pack: ``cell = pack_heat + standby + controller_loss + winding_loss + motor_drive - motor_brake``.
    """

    rider_wh: float
    motor_drive_wh: float
    motor_brake_wh: float
    friction_wh: float
    air_wh: float
    rolling_wh: float
    motor_drag_wh: float
    kinetic_wh: float
    potential_wh: float
    cell_wh: float
    pack_heat_wh: float
    standby_wh: float
    controller_loss_wh: float
    winding_loss_wh: float


@dataclass(frozen=True)
class Truth:
    """The exact answer to a simulated ride."""

    duration_s: float
    moving_s: float
    distance_m: float
    ascent_m: float
    descent_m: float
    drawn_ah: float
    returned_ah: float
    recovered_ah_pct: float | None
    drawn_wh: float
    returned_wh: float
    recovered_wh_pct: float | None
    hills: tuple[TrueHill, ...]
    events: tuple[TrueEvent, ...]
    ledger: Ledger

    def to_dict(self) -> dict[str, Any]:
        """As plain data, ready for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class TruthSettings:
    """What counts as a hill or a braking event.

    Attributes
    ----------
    least_height_m, least_grade_pct : smaller or flatter slopes are no hills [m], [%]
    brake_n : a smaller force of regen and friction together is no braking; 8 N slow a loaded bicycle by 0.07 m/s² [N]
    merge_s, shortest_s : gaps up to this are bridged, then shorter spans dropped [s]
    stopped_mps : an event that ends below this is a stop [m/s]
    first_sample_s : moment of the first electrical sample, from which all times count [s]
    """

    least_height_m: float = 8.0
    least_grade_pct: float = 2.0
    brake_n: float = 8.0
    merge_s: float = 1.5
    shortest_s: float = 1.0
    stopped_mps: float = 1.0
    first_sample_s: float = 0.0


DEFAULTS = TruthSettings()


def truth(ride: Simulated, settings: TruthSettings = DEFAULTS) -> Truth:
    """Totals over the whole ride, and its hills and braking events, all from the fine steps."""
    sums = _Sums(ride)
    drawn_ah, returned_ah, drawn_wh, returned_wh = (float(part[-1]) for part in sums.electrical)
    climbs = np.diff(ride.height_m)
    return Truth(
        duration_s=len(ride.time_s) * ride.step_s - settings.first_sample_s,
        moving_s=float(np.count_nonzero(ride.speed_mps > 0) * ride.step_s),
        distance_m=float(ride.distance_m[-1] - ride.distance_m[0]),
        ascent_m=float(climbs[climbs > 0].sum()),
        descent_m=float(-climbs[climbs < 0].sum()),
        drawn_ah=drawn_ah,
        returned_ah=returned_ah,
        recovered_ah_pct=_share(returned_ah, drawn_ah),
        drawn_wh=drawn_wh,
        returned_wh=returned_wh,
        recovered_wh_pct=_share(returned_wh, drawn_wh),
        hills=_hills(ride, sums, settings),
        events=_events(ride, sums, settings),
        ledger=ledger(ride),
    )


class _Sums:
    """Running integrals at the start of each step and at the end of the last, shape (n + 1,)."""

    def __init__(self, ride: Simulated) -> None:
        hours = ride.step_s / 3600
        self.electrical = tuple(
            _running(np.maximum(sign * flow, 0.0) * hours)
            for flow in (ride.current_a, ride.power_w)
            for sign in (1, -1)
        )
        rolled_m = np.diff(ride.distance_m, append=ride.distance_m[-1])
        air_n, rolling_n = _losses_n(ride)
        self.lost_j = _running((air_n + rolling_n) * rolled_m)

    def between(self, start: int, end: int) -> tuple[float, ...]:
        """Drawn Ah, returned Ah, drawn Wh, returned Wh of the steps from ``start`` up to ``end``."""
        return tuple(float(part[end] - part[start]) for part in self.electrical)


def _running(parts: Floats) -> Floats:
    return np.concatenate(([0.0], np.cumsum(parts)))


def _share(part: float, whole: float) -> float | None:
    return 100 * part / whole if whole > 0 else None


def _losses_n(ride: Simulated) -> tuple[Floats, Floats]:
    """Air and rolling resistance in the middle of each step [N]."""
    machine = ride.scenario.machine
    after_mps = np.append(ride.speed_mps[1:], ride.speed_mps[-1])
    after_m = np.append(ride.distance_m[1:], ride.distance_m[-1])
    sine = ride.road.sine((ride.distance_m + after_m) / 2)
    return ride.air_n((ride.speed_mps + after_mps) / 2), machine.rolling_n(sine)


def _hills(ride: Simulated, sums: _Sums, settings: TruthSettings) -> tuple[TrueHill, ...]:
    hills = []
    for hill in ride.road.hills(least_grade_pct=settings.least_grade_pct):
        if hill.height_m < settings.least_height_m or hill.end_m > ride.distance_m[-1]:
            continue
        start = int(np.searchsorted(ride.distance_m, hill.start_m, side="right")) - 1  # a rest at the foot is no part
        end = int(np.searchsorted(ride.distance_m, hill.end_m, side="left"))
        _, _, drawn_wh, returned_wh = sums.between(start, end)
        start_s, end_s = (float(ride.time_s[index]) - settings.first_sample_s for index in (start, end))
        hills.append(
            TrueHill(hill.direction, start_s, end_s, hill.start_m, hill.end_m, hill.height_m, drawn_wh, returned_wh)
        )
    return tuple(hills)


def _events(ride: Simulated, sums: _Sums, settings: TruthSettings) -> tuple[TrueEvent, ...]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], ride.brake_n > settings.brake_n, [False])).astype(int)))
    merged: list[list[int]] = []
    for start, end in edges.reshape(-1, 2).tolist():
        if merged and (start - merged[-1][1]) * ride.step_s <= settings.merge_s:
            merged[-1][1] = end
        else:
            merged.append([start, end])
    long_enough = [(a, b) for a, b in merged if (b - a) * ride.step_s >= settings.shortest_s]
    return tuple(_event(ride, sums, start, min(end, len(ride.time_s) - 1), settings) for start, end in long_enough)


def _event(ride: Simulated, sums: _Sums, start: int, end: int, settings: TruthSettings) -> TrueEvent:
    machine = ride.scenario.machine
    before, after = (float(ride.speed_mps[index]) for index in (start, end))
    drop_m = float(ride.height_m[start] - ride.height_m[end])
    kinetic_j = machine.effective_mass_kg * (before**2 - after**2) / 2
    potential_j = machine.mass_kg * GRAVITY_MPS2 * drop_m
    _, returned_ah, _, returned_wh = sums.between(start, end)
    kind: EventKind = "stop" if after < settings.stopped_mps else "holding" if potential_j > kinetic_j else "slowing"
    return TrueEvent(
        start_s=float(ride.time_s[start]) - settings.first_sample_s,
        end_s=float(ride.time_s[end]) - settings.first_sample_s,
        kind=kind,
        start_speed_mps=before,
        end_speed_mps=after,
        drop_m=drop_m,
        returned_ah=returned_ah,
        returned_wh=returned_wh,
        available_wh=max(0.0, kinetic_j + potential_j - float(sums.lost_j[end] - sums.lost_j[start])) / 3600,
    )


def ledger(ride: Simulated) -> Ledger:
    """The energy of the whole ride by where it came from and where it went."""
    machine, step = ride.scenario.machine, ride.step_s
    rolled_m = np.diff(ride.distance_m, append=ride.distance_m[-1])
    mean_mps = rolled_m / step
    air_n, rolling_n = _losses_n(ride)
    ohm, standby_a = ride.scenario.pack.resistance_ohm, ride.scenario.pack.standby_a
    machine_w = ride.motor_n * mean_mps + ride.winding_loss_w

    def work_wh(force_n: Floats) -> float:
        return math.fsum(force_n * rolled_m) / 3600

    def energy_wh(power_w: Floats) -> float:
        return math.fsum(power_w) * step / 3600

    return Ledger(
        rider_wh=work_wh(ride.rider_n),
        motor_drive_wh=work_wh(np.maximum(ride.motor_n, 0)),
        motor_brake_wh=work_wh(np.maximum(-ride.motor_n, 0)),
        friction_wh=work_wh(ride.friction_n),
        air_wh=work_wh(air_n),
        rolling_wh=work_wh(rolling_n),
        motor_drag_wh=work_wh(np.full(len(rolled_m), machine.motor_drag_n)),
        kinetic_wh=machine.effective_mass_kg * float(ride.speed_mps[-1] ** 2 - ride.speed_mps[0] ** 2) / 7200,
        potential_wh=machine.mass_kg * GRAVITY_MPS2 * float(ride.height_m[-1] - ride.height_m[0]) / 3600,
        cell_wh=energy_wh(ride.open_v * ride.current_a),
        pack_heat_wh=energy_wh(ohm * ride.current_a**2),
        standby_wh=energy_wh(standby_a * ride.voltage_v),
        controller_loss_wh=energy_wh(ride.motor_w - machine_w),
        winding_loss_wh=energy_wh(ride.winding_loss_w),
    )
