"""The drag of the unpowered motor: whether there is any, and how much."""

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from ridelog.findings import Fact
from ridelog.lazy import dataclass
from ridelog.settings.bike import Bike

TURNS_WITH_THE_WHEEL: Mapping[str, bool] = MappingProxyType(
    {"direct-drive": True, "geared-locked": True, "geared-freewheel": False, "mid-drive": False}
)
# Judgement, no published measurement: rectangular limits of what is not in the bike file.
DRAG_TORQUE_NM = (0.2, 1.0)  # a motor that turns with the wheel, unpowered
GIVEN_DRAG_LIMIT = 0.2  # of a drag that the bike file gives: a coast-down hardly tells it better
DEFAULT_CIRCUMFERENCE_M = 2.15  # a wheel of 28 inches; 26 inches have 2.05 m


def can_regenerate(kind: str | None) -> bool | None:
    """Whether a kind of motor can return anything, and therefore also drags; ``None`` where the kind is not known."""
    return None if kind is None else TURNS_WITH_THE_WHEEL[kind]


DragSource = Literal["entered", "freewheel", "assumed"]  # in the bike file, by the motor's kind, or for want of both


@dataclass(frozen=True)
class Drag:
    """Drag of the unpowered motor at the rim: a rectangle from ``low_n`` to ``high_n`` [N], and where it is from."""

    low_n: float
    high_n: float
    source: DragSource

    @property
    def value_n(self) -> float:
        """The middle [N]."""
        return (self.low_n + self.high_n) / 2


def wheel_radius_m(bike: Bike) -> float:
    """Radius of the wheel, from its circumference or `DEFAULT_CIRCUMFERENCE_M` [m]."""
    return (bike.bike.wheel_circumference_m or DEFAULT_CIRCUMFERENCE_M) / (2 * math.pi)


def assumed_drag(bike: Bike) -> Drag:
    """The drag of a motor that turns with the wheel, where nothing is known of it."""
    radius_m = wheel_radius_m(bike)
    low, high = DRAG_TORQUE_NM
    return Drag(low / radius_m, high / radius_m, "assumed")


def drag_of(bike: Bike, *, returned_something: bool) -> Drag | None:
    """The drag of this bike's motor; ``None`` where even its kind is not known and nothing came back to tell it.

    Parameters
    ----------
    bike : a ``motor.kind`` that freewheels has none; else ``road.motor_drag_n`` comes first
    returned_something : a motor that returned something turns with the wheel
    """
    turns = can_regenerate(bike.motor.kind)
    if turns is False:
        return Drag(0.0, 0.0, "freewheel")
    if (given_n := bike.road.motor_drag_n) is not None:
        part = GIVEN_DRAG_LIMIT * given_n
        return Drag(given_n - part, given_n + part, "entered")
    return assumed_drag(bike) if turns or returned_something else None


def drag_facts(drag: Drag | None) -> dict[str, Fact]:
    """What was assumed of the motor's drag, for an answer."""
    if drag is None:
        return {"motor_drag_from": "unknown"}
    facts: dict[str, Fact] = {
        "motor_drag_from": drag.source,
        "motor_drag_low_n": drag.low_n,
        "motor_drag_high_n": drag.high_n,
    }
    if drag.source == "assumed":
        facts |= {"motor_drag_low_nm": DRAG_TORQUE_NM[0], "motor_drag_high_nm": DRAG_TORQUE_NM[1]}
    return facts


def told_drag(bike: Bike) -> Drag | None:
    """The drag of the unpowered motor where the bike file tells it: as a force, or by a motor that freewheels."""
    if bike.road.motor_drag_n is None and can_regenerate(bike.motor.kind) is not False:
        return None
    return drag_of(bike, returned_something=False)
