"""What goes wrong with a bike of the fleet, and from which ride on."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

FaultKind = Literal["dead-regen", "fading-regen", "drifting-zero", "weak-pack", "wrong-wheel", "weak-regen"]
# what an audit calls it (contract, section 10)
CODES: dict[FaultKind, str] = {
    "dead-regen": "regen-lost",
    "fading-regen": "regen-fading",
    "drifting-zero": "zero-drifting",
    "weak-pack": "resistance-rising",
    "wrong-wheel": "wheel-size-off",
    "weak-regen": "below-others",
}


@dataclass(frozen=True)
class FaultPlan:
    """How many bikes of a fleet have which fault, and how grave it is.

    Attributes
    ----------
    dead_regen, fading_regen, drifting_zero, weak_pack, wrong_wheel, weak_regen : number of bikes; weak regen is weak
        from the first ride on, all else begins later
    fades_to_ratio, weak_ratio : what is left of the regen torque and current, faded in the end, or weak always [1]
    zero_drift_a : how far the current's zero has gone in the end, to either side [A]
    resistance_ratio : how many times the pack's resistance it is in the end [1]
    wheel_gain_ratio : logged over true speed once the wheel does not fit its setting [1]
    develops_over_rides : what comes slowly takes so many rides
    earliest_ride, latest_share : no fault begins before this ride, nor after this share of a bike's rides
    """

    dead_regen: int = 0
    fading_regen: int = 0
    drifting_zero: int = 0
    weak_pack: int = 0
    wrong_wheel: int = 0
    weak_regen: int = 0
    fades_to_ratio: float = 0.3
    weak_ratio: float = 0.3
    zero_drift_a: float = 0.35
    resistance_ratio: float = 2.0
    wheel_gain_ratio: float = 1.07
    develops_over_rides: int = 8
    earliest_ride: int = 6
    latest_share: float = 0.75


NO_FAULTS = FaultPlan()
USUAL_FAULTS = FaultPlan(dead_regen=3, fading_regen=3, drifting_zero=2, weak_pack=2, wrong_wheel=1)


@dataclass(frozen=True)
class Fault:
    """One fault of one bike; ``first_ride`` counts from 0."""

    kind: FaultKind
    bike: int
    first_ride: int
    sign: int = 1


@dataclass(frozen=True)
class Condition:
    """What faults have made of a bike by one ride.

    Attributes
    ----------
    regen_ratio : what is left of regen [1]
    zero_drift_a : added to what the current sensor reads [A]
    resistance_ratio : on the pack's resistance [1]
    wheel_gain_ratio : on the logged speed of the wheel [1]
    """

    regen_ratio: float = 1.0
    zero_drift_a: float = 0.0
    resistance_ratio: float = 1.0
    wheel_gain_ratio: float = 1.0


@dataclass(frozen=True)
class Faults:
    """All faults of a fleet."""

    plan: FaultPlan
    faults: tuple[Fault, ...] = field(default=())

    def condition(self, bike: int, ride: int) -> Condition:
        """What a bike's faults, of which there is at most one, have made of it by the ride of that number."""
        for fault in self.faults:
            if fault.bike == bike and ride >= fault.first_ride:
                return _condition(self.plan, fault, ride - fault.first_ride)
        return Condition()


def drawn_faults(plan: FaultPlan, n_bikes: int, rides_per_bike: int, rng: np.random.Generator) -> Faults:
    """Faults on bikes and from rides by chance, no bike having two.

    Raises
    ------
    ValueError : there are more faults than bikes, or too few rides for a fault to begin
    """
    counts: dict[FaultKind, int] = {
        "dead-regen": plan.dead_regen,
        "fading-regen": plan.fading_regen,
        "drifting-zero": plan.drifting_zero,
        "weak-pack": plan.weak_pack,
        "wrong-wheel": plan.wrong_wheel,
        "weak-regen": plan.weak_regen,
    }
    n = sum(counts.values())
    latest = int(plan.latest_share * rides_per_bike)
    if n > n_bikes:
        raise ValueError(f"{n} faults need as many bikes, and there are {n_bikes}")
    if n and latest < plan.earliest_ride:
        raise ValueError(f"a fault begins with ride {plan.earliest_ride} at the earliest, too late for {latest} rides")
    bikes = iter(rng.permutation(n_bikes)[:n].tolist())
    return Faults(
        plan,
        tuple(
            Fault(
                kind,
                next(bikes),
                0 if kind == "weak-regen" else int(rng.integers(plan.earliest_ride, latest + 1)),
                int(rng.choice((-1, 1))),
            )
            for kind, count in counts.items()
            for _ in range(count)
        ),
    )


def _condition(plan: FaultPlan, fault: Fault, rides_since: int) -> Condition:
    """What one fault has done by so many rides after its first."""
    grown = min((rides_since + 1) / plan.develops_over_rides, 1.0)
    match fault.kind:
        case "dead-regen":
            return Condition(regen_ratio=0.0)
        case "fading-regen":
            return Condition(regen_ratio=1 - (1 - plan.fades_to_ratio) * grown)
        case "drifting-zero":
            return Condition(zero_drift_a=fault.sign * plan.zero_drift_a * grown)
        case "weak-pack":
            return Condition(resistance_ratio=1 + (plan.resistance_ratio - 1) * grown)
        case "wrong-wheel":
            return Condition(wheel_gain_ratio=plan.wheel_gain_ratio**fault.sign)
        case "weak-regen":
            return Condition(regen_ratio=plan.weak_ratio)
