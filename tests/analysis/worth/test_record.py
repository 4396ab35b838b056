"""What regeneration is worth to a rider: range, electricity, premium and throughput, and never an invented price."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.electrical.flow import NO_FLOW, Window
from ridelog.analysis.electrical.flow_model import UNKNOWN_THROUGHPUT, Throughput
from ridelog.analysis.worth.motor import available_by_kind
from ridelog.analysis.worth.record import (
    RideTotals,
    kwh_per_year,
    payback_years,
    soonest_payback_years,
    why_no_outlook,
    worth_record,
)
from ridelog.settings.bike import Bike, CostSection, MotorSection, PackSection, RoadSection
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import UNKNOWN, evenly_between, exact

TEN_KM = exact(10_000.0)
ONE_STOP = evenly_between(2.9, 5.1, np.random.default_rng(1))  # Wh that braking had available where nothing came back


def ridden(*, returned_wh=10.0, shows=True, distance=TEN_KM, available=UNKNOWN, energy=True):
    """100 Wh and 2 Ah drawn over 10 km: 50 V; half of the way is not braked."""
    charge = Throughput(exact(2.0), exact(returned_wh / 50) if shows else UNKNOWN)
    flowed = Throughput(exact(100.0), exact(returned_wh) if shows else UNKNOWN) if energy else UNKNOWN_THROUGHPUT
    kinds = available_by_kind([("stop", available)])
    return RideTotals(Window(charge, flowed), distance, (0.5, 0.5), available, kinds)


def bike(kind="direct-drive", drag_n=0.0, **cost):
    return Bike(
        motor=MotorSection(kind=kind),
        road=RoadSection(motor_drag_n=drag_n),
        pack=PackSection(capacity_ah=10.0),
        cost=CostSection(**cost),
    )


# 1/(1 - ρ), four decimals (computed by hand); ρ is what can be drawn again of the returned, 0.95 of it
@pytest.mark.parametrize(
    ("recovered", "factor"), [(0.02, 1.0204), (0.05, 1.0526), (0.10, 1.1111), (0.15, 1.1765), (0.20, 1.25)]
)
def test_a_recovered_share_stretches_the_range(recovered, factor):
    """10 Ah at 50 V are 500 Wh; 10 Wh/km without return give 50 km."""
    worth = worth_record(ridden(returned_wh=100 * recovered / 0.95), bike())
    assert worth.range_without_km.value == pytest.approx(50.0)
    assert worth.range_km.value / worth.range_without_km.value == pytest.approx(factor, abs=5e-5)


def test_without_drag_a_freewheeling_drive_goes_as_far_as_one_that_returned_nothing():
    worth = worth_record(ridden(), bike(drag_n=0.0))
    assert worth.range_freewheeling_km.value == pytest.approx(worth.range_without_km.value)


# 3000 km a year at 0.2872 EUR/kWh, the mean of households in the EU in the second half of 2024 (Eurostat)
@pytest.mark.parametrize(("wh_per_km", "kwh", "eur"), [(0.2, 0.6, 0.17), (0.5, 1.5, 0.43), (1.0, 3.0, 0.86)])
def test_a_year_saves_next_to_no_electricity(wh_per_km, kwh, eur):
    found = kwh_per_year(Quantity(wh_per_km), 3000)
    assert found.value == pytest.approx(kwh)
    assert 0.2872 * found.value == pytest.approx(eur, abs=0.005)


def test_a_year_is_priced_by_the_net_benefit():
    """1 Wh/km * 0.95 * 2000 km = 1.9 kWh, at 0.5 a kWh 0.95; a premium of 95 is back in 100 years (by hand)."""
    cost = {"km_per_year": 2000.0, "price_per_kwh": 0.5, "regen_premium": 95.0, "currency": "EUR"}
    worth = worth_record(ridden(), bike(**cost))
    assert worth.kwh_per_year.value == pytest.approx(1.9)
    assert worth.saved_per_year.value == pytest.approx(0.95)
    assert worth.payback_years.value == pytest.approx(100.0)
    assert worth.payback_years.low95 < 100.0 < worth.payback_years.high95


@pytest.mark.parametrize("saved", [Quantity(0.5, -0.1, 1.0), Quantity(-0.5, -1.0, -0.1), Quantity(0.0, 0.0, 0.0)])
def test_a_saving_that_may_be_none_never_pays_back_for_sure(saved):
    assert payback_years(100.0, saved) is None


def test_a_premium_that_may_never_be_back_is_so_no_sooner_than_by_the_most_that_is_saved():
    """100 at up to 1.0 a year; back for sure, or never, there is no such time."""
    assert soonest_payback_years(100.0, Quantity(0.5, -0.1, 1.0)) == pytest.approx(100.0)
    assert soonest_payback_years(100.0, Quantity(0.5, 0.1, 1.0)) is None
    assert soonest_payback_years(100.0, Quantity(-0.5, -1.0, -0.1)) is None


def test_without_prices_nothing_is_priced_and_each_missing_key_is_named():
    worth = worth_record(ridden(), Bike(motor=MotorSection(kind="direct-drive")))
    assert (worth.kwh_per_year, worth.saved_per_year, worth.payback_years, worth.range_km) == (None,) * 4
    assert worth.missing == ("pack.capacity_ah", "cost.km_per_year", "cost.price_per_kwh", "cost.regen_premium")


def test_a_price_without_its_money_is_asked_for():
    assert worth_record(ridden(), bike(price_per_kwh=0.3)).missing[-1] == "cost.currency"


def test_a_year_without_a_price_is_told_in_kwh():
    worth = worth_record(ridden(), bike(km_per_year=2000.0))
    assert worth.kwh_per_year.value == pytest.approx(1.9)
    assert worth.saved_per_year is None


def test_the_pack_is_charged_by_what_came_back():
    """0.2 Ah of 10 Ah are 2 %; 200 such rides a year 4 full charges (by hand)."""
    worth = worth_record(ridden(), bike(km_per_year=2000.0))
    assert worth.cycled_pct.value == pytest.approx(2.0)
    assert worth.full_charges_per_year.value == pytest.approx(4.0)


@pytest.mark.parametrize("kind", ["geared-freewheel", "mid-drive"])
def test_a_motor_that_cannot_regenerate_gets_no_benefit_from_what_its_log_shows(kind):
    worth = worth_record(ridden(available=ONE_STOP), bike(kind))
    assert (worth.can_regenerate, worth.benefit, worth.cycled_pct) == (False, None, None)
    assert worth.why == "freewheel"
    assert worth.would is not None
    assert worth.would.benefit.drag_n.value > 0  # of the motor that it would take


def test_a_return_that_the_log_cannot_show_is_not_known():
    worth = worth_record(ridden(shows=False, available=ONE_STOP), bike())
    assert worth.benefit is None
    assert worth.why == "return-unknown"
    # 15 to 35 % of 4 Wh, by hand
    assert worth.would.returned_wh.value == pytest.approx(1.0)


def test_a_dragging_motor_that_returned_nothing_loses():
    """3.6 N on half of the way: 0.5 Wh/km at the wheel, more from the battery."""
    worth = worth_record(ridden(returned_wh=0.0, available=ONE_STOP), bike(drag_n=3.6))
    assert worth.benefit.verdict == "loses"
    assert worth.benefit.net_wh_per_km.value < -0.5
    assert worth.would is not None


def test_a_ride_that_returned_something_needs_no_guess_of_what_it_would_have():
    assert worth_record(ridden(available=ONE_STOP), bike()).would is None


def test_a_motor_of_unknown_kind_that_returned_nothing_is_asked_for():
    worth = worth_record(ridden(returned_wh=0.0), Bike())
    assert worth.benefit is None
    assert worth.why == "drag-unknown"


@pytest.mark.parametrize("distance", [UNKNOWN, exact(50.0)])
def test_without_a_distance_nothing_is_told_per_km(distance):
    worth = worth_record(ridden(distance=distance), bike(km_per_year=2000.0))
    assert worth.benefit is None
    assert worth.why == "distance-unknown"
    assert worth.kwh_per_year is None
    assert worth.full_charges_per_year is None


def test_without_voltage_the_benefit_is_not_known_but_the_throughput_is():
    worth = worth_record(ridden(energy=False), bike())
    assert worth.why == "energy-unknown"
    assert worth.cycled_pct.value == pytest.approx(2.0)


def test_without_any_current_there_is_nothing_to_say():
    assert worth_record(RideTotals(NO_FLOW.total, TEN_KM, None), bike()) is None


YEAR = {"km_per_year": 2000.0, "price_per_kwh": 0.5, "regen_premium": 95.0}
OUTLOOK = ("range_km", "range_without_km", "range_freewheeling_km", "kwh_per_year", "saved_per_year", "payback_years")


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"lower_wh": 19.0}, None),
        ({"lower_wh": 21.0}, "ends-lower"),  # of 100 Wh drawn
        ({"lower_wh": -21.0}, "ends-higher"),
        ({"distance_m": exact(900.0)}, "too-short"),
        ({"lower_wh": None}, None),
    ],
)
def test_a_ride_that_stands_for_no_year_tells_of_none(change, why):
    ride = replace(ridden(), **change)
    assert why_no_outlook(ride) == why
    worth = worth_record(ride, bike(**YEAR))
    assert worth.no_outlook == why
    assert {getattr(worth, name) is None for name in (*OUTLOOK, "full_charges_per_year")} == {why is not None}
    assert worth.benefit is not None
    assert worth.cycled_pct is not None


def test_no_price_is_asked_for_where_there_is_no_year():
    ride = replace(ridden(), lower_wh=50.0)
    assert worth_record(ride, Bike()).missing == ("pack.capacity_ah",)
    assert "cost.km_per_year" in worth_record(ridden(), Bike()).missing
