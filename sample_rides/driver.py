"""What the rider does: keeps to a speed, coasts before braking, brakes for stops, bends and on descents."""

import math
from collections.abc import Sequence

import numpy as np

from sample_rides.machine import Machine, Rider
from sample_rides.route import Road, Route

_USUAL_DECEL_MPS2 = 0.9  # for speed limits; bends and stops state their own
TOUCH_N, LEAVE_N = 25.0, 12.0  # nobody touches the lever for less than the one, or holds it for the other
NEAR_STOP_M, LAST_M = 3.0, 25.0
WANDER_RATES = tuple(2 * math.pi / period_s for period_s in (23.0, 41.3, 67.9, 149.0))


def wander(time_s: float, phases: tuple[float, ...]) -> float:
    """A wavering of about ±1: four sines whose periods have no small common multiple."""
    first, second, third, fourth = WANDER_RATES
    return 0.5 * (
        math.sin(first * time_s + phases[0])
        + math.sin(second * time_s + phases[1])
        + math.sin(third * time_s + phases[2])
        + math.sin(fourth * time_s + phases[3])
    )


class Driver:
    """Decides, moment by moment, on the driving and the braking force.

    Below the square of the speed ceiling, which falls along each braking distance, the rider drives or coasts;
    above it he brakes.
    """

    def __init__(self, road: Road, rider: Rider, machine: Machine, *, lead_s: float, tail_s: float, seed: int) -> None:
        self.rider, self._mass_kg = rider, machine.effective_mass_kg
        rng = np.random.default_rng(seed)
        self._speed_phases = tuple(rng.uniform(0, 2 * math.pi, 4))
        self._effort_phases = tuple(rng.uniform(0, 2 * math.pi, 4))
        self._halts = halts_of(road.route, tail_s)
        self._next = 0
        self._held_until_s = lead_s
        self._clear_m = -1.0  # up to here, the ceiling of a halt that was kept counts no more
        self._braking = False
        self._ceiling2, self._decel = _ceiling(road, rider, self._halts)

    def finished(self, time_s: float) -> bool:
        """Whether the last halt is over."""
        return self._next == len(self._halts) and time_s >= self._held_until_s

    def stands(self, time_s: float, distance_m: float, speed_mps: float) -> bool:
        """Whether the rider keeps the bike standing now."""
        if time_s < self._held_until_s or self._next == len(self._halts):
            return True
        at_m, wait_s, _ = self._halts[self._next]
        if speed_mps <= 0 and at_m - distance_m < NEAR_STOP_M:
            self._next += 1
            self._held_until_s = time_s + wait_s
            self._clear_m = at_m + 1.0
            self._braking = False
            return True
        return False

    def wants(
        self, time_s: float, distance_m: float, speed_mps: float, resist_n: float, sine: float
    ) -> tuple[float, float, float]:
        """Force from pedals and motor together, the pedals' part of it, and braking force [N].

        ``resist_n`` is what air, rolling, motor drag and grade take now.
        """
        rider = self.rider
        ceiling2, decel = self._at(distance_m)
        ceiling, wavering = math.sqrt(ceiling2), wander(time_s, self._speed_phases)
        if not decel:  # nobody holds a speed exactly
            ceiling *= 1 + 0.6 * rider.waver * wavering
        to_stop_m = self._halts[self._next][0] - distance_m
        brake_n = self._brake(speed_mps, ceiling, decel, resist_n, to_stop_m)
        if brake_n > 0:
            return 0.0, 0.0, brake_n
        ahead2, _ = self._at(distance_m + speed_mps * rider.coast_s)
        if speed_mps * speed_mps > ahead2 and not (speed_mps < 1.2 and to_stop_m > 1.5):
            return self._roll_out_n(speed_mps, resist_n, to_stop_m), 0.0, 0.0
        ease = 1 - rider.climb_ease * max(0.0, sine)
        cruise = rider.cruise_mps * max(0.35, ease) * (1 + rider.waver * wavering)
        target = min(cruise, max(ceiling, 1.2))
        force = max(0.0, self._mass_kg * min(rider.start_mps2, (target - speed_mps) / 2) + resist_n)
        effort_w = rider.power_w * (1 + 3 * rider.waver * wander(time_s, self._effort_phases))
        pedals = min(rider.push_n, effort_w / max(speed_mps, 1.0), force)
        return force, pedals, 0.0

    def _at(self, distance_m: float) -> tuple[float, float]:
        """Square of the ceiling and its deceleration at a distance; beyond the next halt it stays at zero."""
        distance_m = min(max(distance_m, self._clear_m), self._halts[self._next][0])
        index = min(int(distance_m), len(self._ceiling2) - 2)
        share = distance_m - index
        low = self._ceiling2[index]
        return low + share * (self._ceiling2[index + 1] - low), self._decel[index]

    def _roll_out_n(self, speed_mps: float, resist_n: float, to_stop_m: float) -> float:
        """Force that keeps a coasting bike from standing short of its halt, as uphill it would [N]."""
        if to_stop_m > LAST_M:
            return 0.0
        slowing = speed_mps * speed_mps / (2 * max(to_stop_m, 0.5))
        return max(0.0, resist_n - self._mass_kg * slowing)

    def _brake(self, speed: float, ceiling: float, decel: float, resist_n: float, to_stop_m: float) -> float:
        """Braking force wanted, 0 while the lever is left alone [N]."""
        wanted = decel + (speed - ceiling) / (0.6 if decel else 1.5)
        halting = to_stop_m < NEAR_STOP_M and speed < 2.5
        if halting:
            wanted = max(wanted, 0.4)
        need_n = self._mass_kg * wanted - resist_n
        if self._braking:
            self._braking = need_n > LEAVE_N and (halting or speed > ceiling - 0.5)
        else:
            self._braking = need_n > TOUCH_N and speed >= ceiling
        return need_n if self._braking else 0.0


def halts_of(route: Route, tail_s: float) -> list[tuple[float, float, float]]:
    """Where the rider halts, how long he waits there and how hard he brakes, the end of the ride being the last.

    Raises
    ------
    ValueError : a stop lies beyond the road
    """
    end_m = math.floor(route.length_m) - 2.0
    halts = [(stop.at_m, stop.wait_s, stop.decel_mps2) for stop in sorted(route.stops, key=lambda s: s.at_m)]
    if halts and not 0 < halts[0][0] <= halts[-1][0] < end_m:
        raise ValueError(f"stops must lie between the start of the road and {end_m:g} m, where the ride ends")
    return [*halts, (end_m, tail_s, 1.1)]


def _ceiling(road: Road, rider: Rider, halts: Sequence[tuple[float, float, float]]) -> tuple[list[float], list[float]]:
    """Square of the highest speed at each metre, and the deceleration where it falls (0 elsewhere)."""
    route = road.route
    n = math.ceil(route.length_m) + 2
    limit, own = np.full(n, rider.descent_mps), np.full(n, _USUAL_DECEL_MPS2)
    joints = route.joints_m
    metres = np.arange(n)
    for stretch, start, end in zip(route.stretches, joints[:-1], joints[1:], strict=True):
        if stretch.limit_mps is not None:
            limit[(metres >= start) & (metres < end)] = min(stretch.limit_mps, rider.descent_mps)
    for bend in route.bends:
        inside = (metres >= bend.at_m) & (metres <= bend.at_m + bend.length_m)
        own[inside & (limit > bend.speed_mps)] = bend.decel_mps2
        limit[inside] = np.minimum(limit[inside], bend.speed_mps)
    falling = np.zeros(n)
    for at_m, _, decel in halts:
        index = round(at_m)
        limit[index], own[index], falling[index] = 0.0, decel, decel
    ceiling2 = limit**2
    for index in range(n - 2, -1, -1):
        reached = ceiling2[index + 1] + 2 * own[index + 1]
        if reached < ceiling2[index]:
            ceiling2[index], own[index], falling[index] = reached, own[index + 1], own[index + 1]
    return ceiling2.tolist(), falling.tolist()
