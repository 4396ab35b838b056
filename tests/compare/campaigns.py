"""Made-up campaigns of rides and hills with their truth, and a comparison that tests of words share."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cache
from typing import Any

import numpy as np

from ridelog.compare.comparison import group_mean
from ridelog.compare.differences import differences
from ridelog.compare.observations import Observations
from ridelog.compare.record import Comparison, Condition, Flow, GroupFigure, Loggers, Over, RideRow, Spread
from ridelog.compare.statistics.agreement import agreement
from ridelog.compare.statistics.precision import precision
from ridelog.findings import Finding
from ridelog.fleet.task import Failure
from ridelog.uncertain.quantity import Quantity

Floats = np.ndarray[Any, np.dtype[np.float64]]
HOUR_S = 3600.0
_NONE, _FIVE, _ONCE = Over(6, 0.0, 0.0, 0.0, 0.0), Over(6, 5.0, 0.0, 5.0, 5.0), Over(1, 0.0, None, 0.0, 0.0)


def objects(values: Sequence[Any]) -> Any:
    return np.asarray(values, dtype=object)


def observed(values: Sequence[float] | Floats, groups: Sequence[str], **columns: Any) -> Observations:
    """Whole rides of one route, an hour apart, but for what is said."""
    n = len(values)
    told = {
        "quantity": "recovered_pct", "ride": [f"ride {at:03d}" for at in range(n)], "start_s": np.arange(n) * HOUR_S,
        "route": np.zeros(n, dtype=int), "hill": [""] * n, "own_u": np.full(n, 0.05), "shared": {},
    } | columns  # fmt: skip
    return Observations(
        told["quantity"], objects(list(groups)), objects(told["ride"]), np.asarray(told["start_s"], dtype=float),
        np.asarray(told["route"], dtype=np.intp), objects(told["hill"]), np.asarray(values, dtype=float),
        np.asarray(told["own_u"], dtype=float), told["shared"],
    )  # fmt: skip


@dataclass(frozen=True)
class World:
    """How a campaign comes about.

    ``difference`` : of the quantity between the groups · ``sd`` : between rides · ``own_u`` : of each ride's own error
    · ``logger_u`` : of an error that all rides of one logger share · ``loggers`` : "shared" or "separate" ·
    ``day_sd`` : that neighbours in time have in common · ``spread`` : "normal" or "skewed" · ``sizes`` : rides of each
    group · ``hills`` : of each ride, 0 for whole rides · ``hill_sd`` : of a hill on a ride · ``route`` : -1 unknown ·
    ``missing`` : share of the passes of hills that a ride did not have
    """

    difference: float = 0.0
    sd: float = 0.8
    own_u: float = 0.1
    logger_u: float = 0.0
    loggers: str = "shared"
    day_sd: float = 0.0
    spread: str = "normal"
    sizes: tuple[int, int] = (6, 6)
    hills: int = 0
    hill_sd: float = 1.0
    quantity: str = "recovered_pct"
    route: int = 0
    missing: float = 0.0


def order(sizes: tuple[int, int]) -> list[str]:
    """A-B-B-A, as far as both groups last, and then what is left."""
    left, told = {"A": sizes[0], "B": sizes[1]}, []
    for name in "ABBA" * max(sizes):
        if left[name]:
            left[name] -= 1
            told.append(name)
    return told


def noise(rng: np.random.Generator, world: World, n: int) -> Floats:
    """Of mean 0 and standard deviation 1; the skewed one is log-normal (skewness 1.75)."""
    if world.spread == "normal":
        return rng.normal(0, 1, n)
    sigma = 0.5
    raw = np.exp(rng.normal(0, sigma, n))
    return np.asarray((raw - np.exp(sigma**2 / 2)) / np.sqrt((np.exp(sigma**2) - 1) * np.exp(sigma**2)))


def campaign(rng: np.random.Generator, world: World) -> Observations:
    """One campaign."""
    groups = np.array(order(world.sizes))
    n = len(groups)
    second = groups == "B"
    ride = 10 + world.difference * second + world.sd * noise(rng, world, n)
    ride += np.repeat(rng.normal(0, world.day_sd, n), 2)[:n] if world.day_sd else 0.0
    owner = np.where(second & (world.loggers == "separate"), "other", "one")
    shared: dict[tuple[str, str], Floats] = {}
    for name in sorted(set(owner)):
        effect = world.logger_u * (owner == name)
        ride = ride + effect * np.sqrt(3) * rng.uniform(-1, 1)
        shared["current zero", str(name)] = effect.astype(float)
    if not world.hills:
        value = ride + rng.normal(0, world.own_u, n)
        return observed(
            value,
            groups.tolist(),
            quantity=world.quantity,
            own_u=np.full(n, world.own_u),
            shared=shared,
            route=np.full(n, world.route),
        )
    of, hill = (each.ravel() for each in np.meshgrid(np.arange(n), np.arange(world.hills), indexing="ij"))
    ridden = rng.uniform(0, 1, len(of)) >= world.missing
    of, hill = of[ridden], hill[ridden]
    value = ride[of] + 3.0 * hill + rng.normal(0, world.hill_sd, len(of)) + rng.normal(0, world.own_u, len(of))
    return observed(
        value, groups[of].tolist(), quantity=world.quantity, own_u=np.full(len(of), world.own_u),
        ride=[f"ride {at:03d}" for at in of], start_s=of * HOUR_S, route=np.full(len(of), world.route),
        hill=[f"hill {at}" for at in hill], shared={key: each[of] for key, each in shared.items()},
    )  # fmt: skip


@cache
def told_comparison() -> Comparison:
    """A comparison with something of everything: a difference told, one not, one without bounds, and what limits it."""
    rng = np.random.default_rng(12)
    n, groups = 12, list("ABBA" * 3)
    names = ["off" if each == "A" else "strong" for each in groups]
    second = np.array(groups) == "B"
    recovered = observed(5 + 2.1 * second + rng.normal(0, 0.4, n), names)
    used = observed(
        9 - 0.2 * second + rng.normal(0, 0.7, n), names, quantity="net_wh_per_km",
        shared={("voltage gain", "x"): np.where(second, 0.3, 0.0)},
    )  # fmt: skip
    captured = observed([20.0, 45], ["off", "strong"], quantity="captured_pct")
    asked = differences([recovered, captured, used], ("off", "strong"))
    restated = replace(asked[0].told, corrected=True)
    figures = tuple(
        GroupFigure(
            name, 6, group_mean(recovered, np.flatnonzero(recovered.group == name)), None,
            group_mean(used, np.flatnonzero(used.group == name)),
            {"recovered_pct": precision(np.arange(6.0) ** 1.5, objects([0] * 6), objects(list("aaabbb")))},
        )
        for name in ("off", "strong")
    )  # fmt: skip
    day = datetime(2026, 6, 1, 8, tzinfo=UTC)
    return Comparison(
        groups=figures,
        differences=(*(one.told for one in asked), restated),
        conditions=(
            Condition("moving_speed_mps", {"off": Spread(5.0, 0.2), "strong": Spread(6.0, 0.3)}, True, True),
            Condition("wind_mps", {"off": Spread(None, None), "strong": Spread(0.0, None)}, False, False),
        ),
        rides=(RideRow("off", "monday", day, "ab12", "Avocet", "x", Quantity(5.0, 4.9, 5.1), None, Quantity(9.0)),),
        findings=(Finding("one-ride-in-group", "warning", {"group": "off", "quantities": ("captured_pct",)}),),
        loggers=(Loggers("recovered_pct", "off", "strong", agreement(np.arange(4.0), np.arange(4.0) ** 1.1)),),
        flows=(
            Flow("braking", "stop_events", {"off": Over(6, 4.5, 0.55, 4.0, 5.0), "strong": _FIVE}),
            Flow("braking", "stop_captured_pct", {"strong": Over(4, 31.26, 2.5, 28.0, 34.0)}),
            Flow("ledger", "returned_wh", {"off": _NONE, "strong": Over(6, 5.123, 0.31, 4.8, 5.6)}),
            Flow("ledger", "unplaced_wh", {"off": _NONE, "strong": _NONE}),
            Flow("pack", "highest_charge_a", {"off": _ONCE, "strong": Over(6, 8.2, 0.4, 7.9, 9.04)}),
        ),
        failed=(Failure("junk.fit", "is no FIT file", "export it again"),),
    )  # fmt: skip
