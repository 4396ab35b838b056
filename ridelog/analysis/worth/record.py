"""Is regeneration worth it to this rider: range on the day, electricity, premium, and what it puts through the pack.

No price is ever invented: what the bike file does not say is listed with the key to enter.
"""

from dataclasses import replace

from ridelog.analysis.electrical.flow import Window
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.analysis.road.drag import Drag, assumed_drag, can_regenerate, drag_of, wheel_radius_m
from ridelog.analysis.worth.benefit import benefit_record, scaled
from ridelog.analysis.worth.motor import captured_overall, would_return
from ridelog.answer.worth import Benefit, BrakingToCapture, WhyNoOutlook, WhyUnknown, Worth, WouldReturn
from ridelog.lazy import dataclass
from ridelog.settings.bike import Bike, CostSection
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import UNKNOWN, Uncertain, known_quantity

LEAST_DISTANCE_M = 100.0  # what a ride shorter than this uses per km says nothing
LEAST_OUTLOOK_M = 1000.0  # a shorter ride is one start and one stop, and tells of no range and no year
# A ride that ends so much lower or higher that the energy of that height is more than this share of what it drew tells
# of none either: nobody rides downhill all year.
MOST_HEIGHT_SHARE = 0.2
LEAST_SHARE = 0.001  # of what was drawn: less than this came back is "nothing" to a rider


@dataclass(frozen=True)
class RideTotals:
    """What the worth of a ride is judged from.

    Attributes
    ----------
    flow : charge and energy through the battery terminals
    distance_m : of the ride [m]
    dragged : shares of the way, see `benefit.dragged_range`; ``None`` where not known
    available_wh : what all braking had available [Wh]
    kinds : the same by kind
    lower_wh : energy of the height by which the ride ends lower than it begins, at the wheel; ``None`` without heights
    """

    flow: Window
    distance_m: Uncertain
    dragged: tuple[float, float] | None
    available_wh: Uncertain = UNKNOWN
    kinds: tuple[BrakingToCapture, ...] = ()
    lower_wh: float | None = None

    @property
    def far_enough(self) -> bool:
        """Whether the distance is known and long enough to tell what is used per km."""
        return self.distance_m.known and self.distance_m.value >= LEAST_DISTANCE_M


def kwh_per_year(wh_per_km: Quantity, km_per_year: float) -> Quantity:
    """What so many Wh/km are in a year [kWh]."""
    return scaled(wh_per_km, km_per_year / 1000)


def payback_years(premium: float, saved_per_year: Quantity) -> Quantity | None:
    """When a premium is back by what is saved in a year, both in one currency; ``None`` where it may never be."""
    low, high = saved_per_year.low95, saved_per_year.high95
    if saved_per_year.value <= 0 or low is None or high is None or low <= 0:
        return None
    return Quantity(premium / saved_per_year.value, premium / high, premium / low)


def soonest_payback_years(premium: float, saved_per_year: Quantity) -> float | None:
    """Before when a premium that may never be back is not back, by the upper bound of what is saved in a year.

    ``None`` where it is back for sure, see `payback_years`, and where it never is.
    """
    most = saved_per_year.high95
    if most is None or most <= 0 or payback_years(premium, saved_per_year) is not None:
        return None
    return premium / most


def worth_record(ride: RideTotals, bike: Bike) -> Worth | None:
    """What regeneration is worth; ``None`` where neither charge nor energy is known."""
    charge, energy = ride.flow.charge, ride.flow.energy
    flow = energy if energy.drawn.known else charge
    if not flow.drawn.known:
        return None
    kind = bike.motor.kind
    able = can_regenerate(kind)
    counts = flow.returned.known and able is not False  # a return that cannot be is no result
    something = counts and flow.returned.value > LEAST_SHARE * flow.drawn.value
    drag = drag_of(bike, returned_something=something)
    why = _why_no_benefit(ride, able, drag)
    benefit = None
    if why is None and ride.dragged and drag:
        benefit = benefit_record(energy, ride.distance_m, drag, ride.dragged, wheel_radius_m(bike))
    no_outlook = why_no_outlook(ride)
    worth = Worth(kind, able, benefit, why, None if something else _would(ride, bike), no_outlook=no_outlook)
    worth = replace(worth, missing=_missing(bike, no_outlook=no_outlook is not None))
    if something and charge.returned.known and bike.pack.capacity_ah:
        km_per_year = bike.cost.km_per_year if no_outlook is None else None
        worth = _with_throughput(worth, ride, bike.pack.capacity_ah, km_per_year)
    return worth if no_outlook is not None else _with_outlook(worth, ride, bike)


def why_no_outlook(ride: RideTotals) -> WhyNoOutlook | None:
    """Why nothing is carried over from a ride to a full battery or a year; ``None`` where it may be."""
    if ride.distance_m.known and ride.distance_m.value < LEAST_OUTLOOK_M:
        return "too-short"
    drawn = ride.flow.energy.drawn
    if ride.lower_wh is None or not drawn.known or abs(ride.lower_wh) <= MOST_HEIGHT_SHARE * drawn.value:
        return None
    return "ends-lower" if ride.lower_wh > 0 else "ends-higher"


def _with_outlook(worth: Worth, ride: RideTotals, bike: Bike) -> Worth:
    """With what the ride tells of a full battery and of a year."""
    if worth.benefit is not None:
        worth = _with_range(worth, ride, worth.benefit, bike.pack.capacity_ah)
    told = worth.benefit if worth.benefit is not None or worth.would is None else worth.would.benefit
    return worth if told is None else _with_money(worth, told.net_wh_per_km, bike.cost)


def _why_no_benefit(ride: RideTotals, able: bool | None, drag: Drag | None) -> WhyUnknown | None:
    """Why the net benefit is not known; ``None`` where nothing is in its way."""
    if able is False:
        return "freewheel"
    if not (ride.flow.energy.returned.known or ride.flow.charge.returned.known):
        return "return-unknown"
    if not ride.flow.energy.drawn.known:
        return "energy-unknown"
    if not ride.far_enough or ride.dragged is None:
        return "distance-unknown"
    if drag is None:
        return "drag-unknown"
    return None


def _missing(bike: Bike, *, no_outlook: bool) -> tuple[str, ...]:
    """What to enter; no price where the ride tells of no year."""
    given: dict[str, float | str | None] = {
        "pack.capacity_ah": bike.pack.capacity_ah,
        "cost.km_per_year": bike.cost.km_per_year,
        "cost.price_per_kwh": bike.cost.price_per_kwh,
        "cost.regen_premium": bike.cost.regen_premium,
    }
    if bike.cost.price_per_kwh is not None:
        given["cost.currency"] = bike.cost.currency
    return tuple(key for key, value in given.items() if value is None and not (no_outlook and key.startswith("cost.")))


def _with_range(worth: Worth, ride: RideTotals, benefit: Benefit, capacity_ah: float | None) -> Worth:
    """The range of a full pack at the ride's mean voltage while drawing."""
    drawn_ah, energy = ride.flow.charge.drawn, ride.flow.energy
    if capacity_ah is None or not drawn_ah.value > 0 or benefit.use_wh_per_km.value <= 0:
        return worth
    pack_wh = capacity_ah * energy.drawn.value / drawn_ah.value
    without = known_quantity(energy.drawn / (ride.distance_m / 1000))
    ranges = [_range_km(pack_wh, use) for use in (benefit.use_wh_per_km, without, benefit.freewheeling_wh_per_km)]
    return replace(worth, range_km=ranges[0], range_without_km=ranges[1], range_freewheeling_km=ranges[2])


def _range_km(pack_wh: float, use_wh_per_km: Quantity) -> Quantity | None:
    low, high = use_wh_per_km.low95, use_wh_per_km.high95
    if low is None or high is None:
        return Quantity(pack_wh / use_wh_per_km.value)
    if low <= 0:
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
    premium = cost.regen_premium
    return replace(
        worth,
        saved_per_year=saved,
        currency=cost.currency,
        premium=premium,
        payback_years=payback_years(premium, saved) if premium is not None else None,
        soonest_payback_years=soonest_payback_years(premium, saved) if premium is not None else None,
    )


def _with_throughput(worth: Worth, ride: RideTotals, capacity_ah: float, km_per_year: float | None) -> Worth:
    cycled_pct = ride.flow.charge.returned * (100 / capacity_ah)
    charges = None
    if km_per_year and ride.far_enough:
        charges = cycled_pct * (10 * km_per_year / ride.distance_m.value)  # 1000 m/km, 100 % a charge
    return replace(
        worth,
        cycled_pct=cycled_pct.quantity(),
        full_charges_per_year=None if charges is None else charges.quantity(),
    )


def _would(ride: RideTotals, bike: Bike) -> WouldReturn | None:
    """What the ride would have returned with a motor that can; ``None`` where nothing is known of its braking."""
    captured = captured_overall(ride.kinds)
    if not ride.available_wh.known or captured is None:
        return None
    returned = would_return(ride.available_wh, captured)
    benefit, drawn = None, ride.flow.energy.drawn
    if drawn.known and ride.far_enough and ride.dragged is not None:
        own = drag_of(bike, returned_something=True) if can_regenerate(bike.motor.kind) is not False else None
        energy, drag = Throughput(drawn, returned), own or assumed_drag(bike)
        benefit = benefit_record(energy, ride.distance_m, drag, ride.dragged, wheel_radius_m(bike))
    return WouldReturn(ride.kinds, known_quantity(returned), benefit)
