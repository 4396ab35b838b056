"""What regeneration gains at the battery against a drive that freewheels: what came back, less what the drag took.

N = E_reg η_b - F_d φ / (3.6 η_m) [Wh/km]. E_reg is what came back per km, η_b what storing it leaves, F_d [N] the drag
of a motor that turns with the wheel, φ the share of the distance on which that drag costs something, η_m the drive's
efficiency. Where the bike is braked it costs nothing: the brakes would have taken the same, and what came back is
already measured after it. Where the motor is unpowered it counts. Under power it may be part of the drive's efficiency,
as a geared drive has losses of its own there, or come on top of it; nothing in a log tells, so φ lies between the share
that rolls unpowered and all that is not braked. That is no chance but a choice of model: the interval holds the 95 % of
either end.
"""

import math

import numpy as np

from ridelog.analysis.electrical.flow import ElectricalFlow
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.analysis.electrical.zero import LARGEST_STANDBY_A
from ridelog.analysis.road.drag import Drag, drag_facts
from ridelog.answer.worth import Benefit, Verdict
from ridelog.arrays import Floats, Mask
from ridelog.constants import NOMINAL_PACK_V
from ridelog.findings import Fact, Facts
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import Uncertain, hull, known_quantity, rectangular

# Judgement, no published measurement: rectangular limits of what is not in the bike file.
BATTERY_EFFICIENCY = (0.92, 0.98)  # charged and drawn again; cells give back 90 to 97 %, gentle currents more
# Battery to wheel, 0.75 to 0.85 on the whole; a little more force costs up to twice the mean loss, which grows with the
# square of the torque.
DRIVE_EFFICIENCY = (0.65, 0.85)


def drag_cost_wh_per_km(drag_n: Uncertain, dragged_share: float, *, drive_efficiency: Uncertain) -> Uncertain:
    """What a drag takes from the battery, F φ / (3.6 η_m) [Wh/km]: 1 N over 1 km is 1/3.6 Wh.

    Parameters
    ----------
    drag_n : at the rim [N]
    dragged_share : of the way, φ [1]
    drive_efficiency : η_m [1]

    Returns
    -------
    Energy a kilometre [Wh/km].
    """
    return drag_n * dragged_share / (drive_efficiency * 3.6)


def break_even_drag_n(returned_wh_per_km: Uncertain, dragged_share: float, *, efficiency: Uncertain) -> Uncertain:
    """The drag that costs as much as came back: 3.6 η E_reg / φ with η = η_b η_m [N]; times the radius, the torque.

    Parameters
    ----------
    returned_wh_per_km : what came back, E_reg [Wh/km]
    dragged_share : of the way, φ [1]
    efficiency : η, of battery and drive together [1]

    Returns
    -------
    Force at the rim [N].
    """
    return efficiency * returned_wh_per_km * 3.6 / dragged_share


def unbraked_share(
    time_s: Floats,
    distance_m: Floats,
    current_a: Floats,
    braked: Mask,
    *,
    most_a: float = math.inf,
    moving_mps: float = 0.5,
) -> float | None:
    """Share of the distance on which the bike is not braked and draws at most ``most_a``; ``None`` if it never moves.

    Parameters
    ----------
    time_s, distance_m, current_a, braked : shape (n,) [s], [m], [A]; steps with an unknown end are left out
    most_a : battery current up to which the motor counts as unpowered; by default all counts [A]
    moving_mps : slower steps are standing [m/s]

    Returns
    -------
    0 to 1 [1].
    """
    if len(time_s) < 2:
        return None
    step_m, step_s = np.diff(distance_m), np.diff(time_s)
    between_a = (current_a[1:] + current_a[:-1]) / 2
    with np.errstate(invalid="ignore"):
        moving = np.isfinite(step_m) & np.isfinite(between_a) & (step_m > moving_mps * step_s)
        chosen = moving & (between_a <= most_a) & ~(braked[1:] | braked[:-1])
    whole_m = float(step_m[moving].sum())
    return float(step_m[chosen].sum()) / whole_m if whole_m > 0 else None


def unpowered_limit_a(flow: ElectricalFlow, *, standby_a: float | None) -> float:
    """Current up to which the motor counts as unpowered: the log's reading at rest, and its noise or 0.1 A more [A]."""
    rest = flow.rest
    level_a = rest.mean_a if rest is not None else None
    if level_a is None:
        zero_a = flow.zero.value_a if flow.zero is not None else 0.0
        level_a = zero_a + (standby_a if standby_a is not None else LARGEST_STANDBY_A)
    noise_a = 4 * rest.noise_a + rest.resolution_a if rest is not None else 0.0
    return level_a + max(0.1, noise_a)


def dragged_range(
    flow: ElectricalFlow, time_s: Floats, distance_m: Floats, braked: Mask, *, standby_a: float | None
) -> tuple[float, float] | None:
    """What rolls unpowered, and all that is not braked, shares of the way; ``None`` without current or distance.

    Parameters
    ----------
    flow : the electrical log
    time_s, distance_m, braked : of the ride's common series, shape (n,) [s], [m]
    standby_a : what the bike file says of the standby draw [A]

    Returns
    -------
    Lowest and highest share of the way [1].
    """
    current_a = flow.current_a
    if current_a is None:
        current_a = flow.power_w / NOMINAL_PACK_V if flow.power_w is not None else None
    if current_a is None:
        return None
    there_a = np.interp(time_s, flow.time_s, current_a, left=np.nan, right=np.nan)
    limit_a = unpowered_limit_a(flow, standby_a=standby_a)
    unpowered = unbraked_share(time_s, distance_m, there_a, braked, most_a=limit_a)
    unbraked = unbraked_share(time_s, distance_m, there_a, braked)
    return None if unpowered is None or unbraked is None else (unpowered, unbraked)


def verdict_of(net: Quantity) -> Verdict:
    """What the interval of the net benefit allows to say."""
    if net.low95 is not None and net.low95 > 0:
        return "gains"
    return "loses" if net.high95 is not None and net.high95 < 0 else "not-told"


@dataclass(frozen=True)
class Inputs:
    """What the net benefit is made of; per km where a km is named, ``distance_m`` [m]."""

    drawn_wh_per_km: Uncertain
    returned_wh_per_km: Uncertain
    distance_m: Uncertain
    drag_n: Uncertain
    battery_efficiency: Uncertain
    drive_efficiency: Uncertain

    def results(self, dragged_share: float) -> dict[str, Uncertain]:
        """Every number that follows if drag costs on so much of the way, by its name in `Benefit`."""
        stored = self.battery_efficiency * self.returned_wh_per_km
        cost = drag_cost_wh_per_km(self.drag_n, dragged_share, drive_efficiency=self.drive_efficiency)
        net = stored - cost
        use = self.drawn_wh_per_km - stored
        efficiency = self.battery_efficiency * self.drive_efficiency
        return {
            "returned_wh_per_km": self.returned_wh_per_km,
            "drag_wh_per_km": cost,
            "net_wh_per_km": net,
            "use_wh_per_km": use,
            "freewheeling_wh_per_km": self.drawn_wh_per_km - cost,
            "break_even_n": break_even_drag_n(self.returned_wh_per_km, max(dragged_share, 1e-9), efficiency=efficiency),
            "distance_gained_m": net * self.distance_m / use.at_least(1e-9),
        }


def benefit_record(
    energy: Throughput, distance_m: Uncertain, drag: Drag, dragged: tuple[float, float], radius_m: float
) -> Benefit:
    """The net benefit of a ride with its interval, and what follows from it.

    Parameters
    ----------
    energy : the ride's drawn and returned [Wh]
    distance_m : of the ride [m]
    drag : of the motor
    dragged : what rolls unpowered and what is not braked, see `dragged_range`; φ lies between them
    radius_m : of the wheel [m]

    Returns
    -------
    Record with all intervals.
    """
    km, rng = distance_m / 1000, stream("benefit")
    drag_n = rectangular(drag.low_n, drag.high_n, rng, source="motor drag")
    stored = rectangular(*BATTERY_EFFICIENCY, rng, source="battery efficiency")
    driven = rectangular(*DRIVE_EFFICIENCY, rng, source="drive efficiency")
    inputs = Inputs(energy.drawn / km, energy.returned / km, distance_m, drag_n, stored, driven)
    middle, *ends = (inputs.results(share) for share in (sum(dragged) / 2, *dragged))
    unpowered, everywhere = ({name: known_quantity(part) for name, part in end.items()} for end in ends)
    found = {name: hull(part.value, (unpowered[name], everywhere[name])) for name, part in middle.items()}
    half_n = 0.95 * (drag.high_n - drag.low_n) / 2  # 95 % of a rectangle
    even_n = everywhere["break_even_n"] if dragged[1] > 0 else None
    return Benefit(
        drag_n=Quantity(drag.value_n, drag.value_n - half_n, drag.value_n + half_n),
        unpowered_pct=100 * dragged[0],
        unbraked_pct=100 * dragged[1],
        break_even_n=even_n,
        break_even_nm=None if even_n is None else scaled(even_n, radius_m),
        distance_gained_m=found["distance_gained_m"] if found["use_wh_per_km"].value > 0 else None,
        unpowered_net_wh_per_km=unpowered["net_wh_per_km"],
        verdict=verdict_of(found["net_wh_per_km"]),
        assumed=Facts({**drag_facts(drag), **efficiency_facts()}),
        **{name: found[name] for name in BY_NAME},
    )


BY_NAME = ("returned_wh_per_km", "drag_wh_per_km", "net_wh_per_km", "use_wh_per_km", "freewheeling_wh_per_km")


def efficiency_facts() -> dict[str, Fact]:
    """What is assumed of battery and drive."""
    return {
        "battery_efficiency_low_pct": 100 * BATTERY_EFFICIENCY[0],
        "battery_efficiency_high_pct": 100 * BATTERY_EFFICIENCY[1],
        "drive_efficiency_low_pct": 100 * DRIVE_EFFICIENCY[0],
        "drive_efficiency_high_pct": 100 * DRIVE_EFFICIENCY[1],
    }


def scaled(value: Quantity, factor: float) -> Quantity:
    """A quantity times a positive number."""
    low, high = (None if bound is None else bound * factor for bound in (value.low95, value.high95))
    return Quantity(value.value * factor, low, high)
