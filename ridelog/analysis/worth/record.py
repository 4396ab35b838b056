"""Is regeneration worth it to this rider: range on the day, electricity, premium, and what it puts through the pack.

No price is ever invented: what the bike file does not say is listed with the key to enter.
"""

from dataclasses import dataclass, replace

import numpy as np

from ridelog.analysis.electrical.flow_model import Draws, coverage
from ridelog.analysis.road.drag import Drag, assumed_drag, can_regenerate, drag_of, wheel_radius_m
from ridelog.analysis.worth.benefit import benefit_record, km_draws, scaled
from ridelog.analysis.worth.motor import captured_overall, offers_by_kind, would_return, would_return_draws
from ridelog.answer.braking import Braking
from ridelog.answer.worth import Benefit, Worth, WouldReturn
from ridelog.arrays import Floats
from ridelog.settings.bike import Bike, CostSection
from ridelog.uncertain.quantity import Quantity

LEAST_DISTANCE_M = 100.0  # what a ride shorter than this uses per km says nothing
LEAST_SHARE = 0.001  # of what was drawn: less than this came back is "nothing" to a rider

WHAT_FOR = {
    "pack.capacity_ah": "the range on the day and what regeneration puts through the pack",
    "cost.km_per_year": "what a year gives",
    "cost.price_per_kwh": "what the electricity is worth",
    "cost.regen_premium": "when its price is back",
    "cost.currency": "what money the prices are in",
}


@dataclass(frozen=True)
class Ridden:
    """What the worth of a ride is judged from.

    ``charge``, ``energy`` : drawn and returned [Ah], [Wh], ``None`` where not known · ``shows_return`` : the log would
    show a return · ``distance_m`` : of the ride · ``dragged`` : see `benefit.dragged_range`
    """

    charge: Draws | None
    energy: Draws | None
    shows_return: bool
    distance_m: Quantity | None
    dragged: tuple[float, float] | None
    braking: Braking


def kwh_per_year(wh_per_km: Quantity, km_per_year: float) -> Quantity:
    """What so many Wh/km are in a year [kWh]."""
    return scaled(wh_per_km, km_per_year / 1000)


def payback_years(premium: float, saved_per_year: Quantity) -> Quantity | None:
    """When a premium is back by what is saved in a year, both in one currency; ``None`` where it may never be."""
    low, high = saved_per_year.low95, saved_per_year.high95
    if saved_per_year.value <= 0 or low is None or high is None or low <= 0:
        return None
    return Quantity(premium / saved_per_year.value, premium / high, premium / low)


def worth_record(ridden: Ridden, bike: Bike) -> Worth | None:
    """What regeneration is worth; ``None`` where neither charge nor energy is known."""
    flow = ridden.energy or ridden.charge
    if flow is None:
        return None
    kind = bike.motor.kind
    able = can_regenerate(kind)
    counts = ridden.shows_return and able is not False  # a return that cannot be is no result
    something = counts and flow.nominal[1] > LEAST_SHARE * flow.nominal[0]
    drag = drag_of(bike, returned_something=something)
    why = _why_no_benefit(ridden, able, drag)
    benefit = None
    if why is None and ridden.energy and ridden.distance_m and ridden.dragged and drag:
        benefit = benefit_record(ridden.energy, ridden.distance_m, drag, ridden.dragged, wheel_radius_m(bike))
    worth = Worth(kind, able, benefit, why, None if something else _would(ridden, bike), missing=_missing(bike))
    if benefit is not None:
        worth = _with_range(worth, ridden, benefit, bike.pack.capacity_ah)
    told = benefit if benefit is not None or worth.would is None else worth.would.benefit
    if told is not None:
        worth = _with_money(worth, told.net_wh_per_km, bike.cost)
    if something and ridden.charge is not None and bike.pack.capacity_ah:
        worth = _with_throughput(worth, ridden, bike.pack.capacity_ah, bike.cost.km_per_year)
    return worth


def _why_no_benefit(ridden: Ridden, able: bool | None, drag: Drag | None) -> str | None:
    """Why the net benefit is not known, with what would tell it; ``None`` where nothing is in its way."""
    if able is False:
        return "the drive freewheels, so it neither returns anything nor drags"
    if not ridden.shows_return:
        return "what came back is not known"
    if ridden.energy is None:
        return "without battery voltage, Wh are not known"
    if ridden.distance_m is None or ridden.distance_m.value < LEAST_DISTANCE_M or ridden.dragged is None:
        return "the distance is not known, or too short to tell"
    if drag is None:
        return "nothing came back, and whether the motor drags is not known: enter kind under [motor]"
    return None


def _missing(bike: Bike) -> tuple[str, ...]:
    given: dict[str, float | str | None] = {
        "pack.capacity_ah": bike.pack.capacity_ah,
        "cost.km_per_year": bike.cost.km_per_year,
        "cost.price_per_kwh": bike.cost.price_per_kwh,
        "cost.regen_premium": bike.cost.regen_premium,
    }
    if bike.cost.price_per_kwh is not None:
        given["cost.currency"] = bike.cost.currency
    return tuple(f"{key} for {WHAT_FOR[key]}" for key, value in given.items() if value is None)


def _with_range(worth: Worth, ridden: Ridden, benefit: Benefit, capacity_ah: float | None) -> Worth:
    """The range of a full pack at the ride's mean voltage while drawing."""
    if capacity_ah is None or ridden.charge is None or ridden.energy is None or ridden.distance_m is None:
        return worth
    drawn_ah, drawn_wh = float(ridden.charge.nominal[0]), float(ridden.energy.nominal[0])
    if drawn_ah <= 0 or benefit.use_wh_per_km.value <= 0:
        return worth
    pack_wh = capacity_ah * drawn_wh / drawn_ah
    drawn_q = coverage(
        1000 * drawn_wh / ridden.distance_m.value,
        ridden.energy.drawn / km_draws(ridden.distance_m, len(ridden.energy.drawn)),
    )
    ranges = [_range_km(pack_wh, use) for use in (benefit.use_wh_per_km, drawn_q, benefit.freewheeling_wh_per_km)]
    return replace(worth, range_km=ranges[0], range_without_km=ranges[1], range_freewheeling_km=ranges[2])


def _range_km(pack_wh: float, use_wh_per_km: Quantity) -> Quantity | None:
    low, high = use_wh_per_km.low95, use_wh_per_km.high95
    if low is None or high is None or low <= 0:
        return None
    return Quantity(pack_wh / use_wh_per_km.value, pack_wh / high, pack_wh / low)


def _with_money(worth: Worth, net_wh_per_km: Quantity, cost: CostSection) -> Worth:
    if cost.km_per_year is None:
        return worth
    kwh = kwh_per_year(net_wh_per_km, cost.km_per_year)
    worth = replace(worth, km_per_year=cost.km_per_year, kwh_per_year=kwh)
    if cost.price_per_kwh is None:
        return worth
    saved = scaled(kwh, cost.price_per_kwh)
    back = payback_years(cost.regen_premium, saved) if cost.regen_premium is not None else None
    return replace(
        worth,
        saved_per_year=saved,
        currency=cost.currency,
        premium=cost.regen_premium,
        payback_years=back,
    )


def _with_throughput(worth: Worth, ridden: Ridden, capacity_ah: float, km_per_year: float | None) -> Worth:
    if ridden.charge is None:
        return worth
    cycled = scaled(ridden.charge.returned_q(), 100 / capacity_ah)
    charges = None
    if km_per_year and ridden.distance_m is not None and ridden.distance_m.value >= LEAST_DISTANCE_M:
        charges = scaled(cycled, 10 * km_per_year / ridden.distance_m.value)  # 1000 m/km, 100 % a charge
    return replace(worth, cycled_pct=cycled, full_charges_per_year=charges)


def _would(ridden: Ridden, bike: Bike) -> WouldReturn | None:
    """What the ride would have returned with a motor that can; ``None`` where nothing is known of its braking."""
    offers = offers_by_kind(ridden.braking.events)
    available, captured = ridden.braking.available_wh, captured_overall(offers)
    if available is None or captured is None:
        return None
    draws = would_return_draws(available, captured)
    returned = would_return(available, captured)
    benefit = None
    if ridden.energy is not None and ridden.distance_m is not None and ridden.distance_m.value >= LEAST_DISTANCE_M:
        own = drag_of(bike, returned_something=True) if can_regenerate(bike.motor.kind) is not False else None
        energy = _with_return(ridden.energy, draws, returned.value)
        if ridden.dragged is not None:
            drag = own or assumed_drag(bike)
            benefit = benefit_record(energy, ridden.distance_m, drag, ridden.dragged, wheel_radius_m(bike))
    return WouldReturn(offers, returned, benefit)


def _with_return(energy: Draws, returned: Floats, nominal: float) -> Draws:
    """Drawn as it was, with another return."""
    return Draws(energy.drawn, np.resize(returned, len(energy.drawn)), (energy.nominal[0], nominal))
