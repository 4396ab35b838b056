"""What speed, mass and air would change: against energies worked by hand, and ends between which the middle lies."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.ledger.entries import GENERATOR_EFFICIENCY
from ridelog.answer.ledger import LedgerEntry
from ridelog.compare.road_load import (
    ENDS,
    LEAST_EFFICIENCY,
    LEAST_GENERATING,
    MIDDLE,
    Climbs,
    Factors,
    Lost,
    Model,
    Parts,
    changed,
    parts_of,
    with_more_air,
)
from ridelog.uncertain.quantity import Quantity
from tests.scenarios import sample_answer

COMMUTE = sample_answer("commute")
G, CRR, CDA = 9.80665, 0.008, 0.5
NO_CLIMBS = Climbs(*np.zeros((3, 0)))


def worked_by_hand(speed_mps, mass_kg=100.0, density=1.2, efficiency=0.75, shares=(0.6, 0.4)):
    """2 km of level road and two stops of 20 m, then 300 m down 6 % held by the brakes; by textbook formulas [Wh].

    Air ½ρ CdA v² s, rolling Crr m g s, speed ½ m v², height m g h. In a stop the air takes half of what it takes of
    steady speed over that way (v² falls evenly along it). A share comes back from stops, and one from the descent.
    """
    air_n, roll_n = density * CDA * speed_mps**2 / 2, CRR * mass_kg * G
    kinetic, height = mass_kg * speed_mps**2 / 2, mass_kg * G * 18
    event_kinetic = np.array([kinetic, kinetic, 0.0])
    event_height = np.array([0.0, 0.0, height])
    event_air = np.array([20 * air_n / 2, 20 * air_n / 2, 300 * air_n])
    event_rolling = np.array([20 * roll_n, 20 * roll_n, 300 * roll_n])
    available = event_kinetic + event_height - event_air - event_rolling
    back = np.array([shares[0], *shares]) * available
    air, rolling = 2000 * air_n + float(event_air.sum()), 2340 * roll_n
    to_wheel = air + rolling - height + float(available.sum())  # it begins and ends at rest, the descent is not climbed
    wh = 1 / 3600
    return Parts(
        drawn_wh=to_wheel / efficiency * wh, returned_wh=float(back.sum()) * wh, to_wheel_wh=to_wheel * wh,
        air_wh=air * wh, rolling_wh=rolling * wh, height_wh=-height * wh, kinetic_wh=0.0,
        events=Lost(event_kinetic * wh, event_height * wh, event_air * wh, event_rolling * wh),
        beside=Lost(*np.zeros((4, 3))), before_ratio=np.zeros(3), holds=np.array([0.0, 0.0, 1.0]),
        available_wh=available * wh, back_wh=back * wh, climbs=NO_CLIMBS,
    )  # fmt: skip


def quantities(parts):
    """Recovered [%], captured [%], used [Wh]."""
    drawn, back = parts.drawn_wh, parts.returned_wh
    return np.array([100 * back / drawn, 100 * parts.back_wh.sum() / parts.available_wh.sum(), drawn - back])


def shares(parts, factors, model=MIDDLE):
    told = changed(parts, factors, model)
    return np.array([told.recovered_pct, told.captured_pct, told.net_wh_per_km])


@pytest.mark.parametrize(("own", "common"), [(5.0, 6.0), (7.0, 5.5)])
@pytest.mark.parametrize("limited", [0.0, 0.5, 1.0])
def test_at_another_speed_it_is_what_is_worked_by_hand_there(own, common, limited):
    """Unlimited a stop's share goes with the speed, and as much comes back over the 300 m that are held back.

    At a limit what returns goes with the time: over the 300 m with one over the speed, and in a stop the share does. In
    the middle it is the geometric mean of both. The descent is as steep all along.
    """
    before, there = worked_by_hand(own), worked_by_hand(common)
    faster, share = common / own, before.back_wh / before.available_wh
    at_limit_wh = np.append(share[:2] / faster * there.available_wh[:2], before.back_wh[2] / faster)
    unlimited_wh = np.append(share[:2] * faster * there.available_wh[:2], before.back_wh[2])
    back_wh = unlimited_wh ** (1 - limited) * at_limit_wh**limited
    there = replace(there, back_wh=back_wh, returned_wh=float(back_wh.sum()))
    told = shares(before, Factors(*[faster] * 3), Model(limited, 1.0, 0.0, loss_with_work=1.0, generating=1.0))
    assert quantities(before) * told == pytest.approx(quantities(there), rel=1e-9)


def test_a_drive_that_gives_back_what_it_can_cannot_give_back_a_larger_share():
    own = worked_by_hand(6.0, shares=(0.85, 0.85))
    told = changed(own, Factors(*[1.1] * 3), Model(limited=0.0))
    assert told.captured_pct == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("limited", [0.0, 1.0])
def test_with_another_mass_and_in_other_air_too(limited):
    """At a limit an event gives back as much, in the same time, however much it offers."""
    own, common = worked_by_hand(6.0, 110.0, 1.25), worked_by_hand(6.0, 95.0, 1.15)
    back_wh = own.back_wh if limited else np.array([0.6, 0.6, 0.4]) * common.available_wh
    common = replace(common, back_wh=back_wh, returned_wh=float(back_wh.sum()))
    model = Model(limited, legs_steady=0.0, loss_with_work=1.0, generating=1.0)
    told = shares(own, Factors(mass=95 / 110, density=1.15 / 1.25), model)
    assert quantities(own) * told == pytest.approx(quantities(common), rel=1e-9)


def test_where_nothing_is_other_nothing_changes_whatever_is_not_known():
    for model in (Model(), *(end for ends in ENDS.values() for end in ends)):
        assert shares(worked_by_hand(6.0), Factors(), model) == pytest.approx([1.0, 1.0, 1.0], rel=1e-12)


@pytest.mark.parametrize("logged", [False, True])
def test_legs_that_keep_their_power_do_less_on_a_faster_ride(logged):
    """Legs give 4 Wh at 5 m/s, and so 4 · 5/6 Wh at 6 m/s; the drive takes 1/0.75 for each Wh that they do not."""
    slow, fast = worked_by_hand(5.0), worked_by_hand(6.0)
    legs_wh = 4.0 if not logged else 2.0
    drawn = [(one.to_wheel_wh - legs) / 0.75 for one, legs in ((slow, legs_wh), (fast, legs_wh * 5 / 6))]
    assert slow.to_wheel_wh / drawn[0] > 0.85 or logged  # so that the drive's efficiency lies between both its ends
    own = replace(slow, drawn_wh=drawn[0], rider_wh=legs_wh if logged else None)
    efficient = (0.75 - LEAST_EFFICIENCY) / (min(slow.to_wheel_wh / drawn[0], 0.85) - LEAST_EFFICIENCY)
    told = changed(own, Factors(*[1.2] * 3), Model(legs_steady=1.0, efficient=efficient, loss_with_work=1.0))
    returned = own.returned_wh * told.recovered_pct * (told_drawn := drawn[1]) / drawn[0]
    assert told.net_wh_per_km * (drawn[0] - own.returned_wh) == pytest.approx(told_drawn - returned, rel=1e-9)


def test_nothing_is_left_to_legs_where_the_drive_takes_so_much_that_it_did_all():
    """At 1.7 Wh a Wh at the wheel a drive is less than 60 % efficient, even with legs that do nothing."""
    own = worked_by_hand(5.0, efficiency=1 / 1.7)
    one, other = (shares(own, Factors(*[1.2] * 3), Model(legs_steady=end)) for end in (0.0, 1.0))
    assert one == pytest.approx(other, rel=1e-12)


@pytest.mark.parametrize(("speed", "mass", "density"), [(1.2, 1.0, 1.0), (0.9, 1.1, 0.95)])
def test_a_winding_loses_by_the_square_of_the_force_for_as_long_as_it_lasts(speed, mass, density):
    """500 m of climb with 90 N and 1500 m of level road with 30 N, of each 10 N of air; the loss is k F² t.

    Nobody pedals. A quarter of what the battery gives is lost, at 5 m/s.
    """
    way_m, air_n, other_n = np.array([500.0, 1500.0]), np.full(2, 10.0), np.array([80.0, 20.0])
    force_n, then_n = air_n + other_n, air_n * speed**2 * density + other_n * mass
    work_j, then_j = (float(each @ way_m) for each in (force_n, then_n))
    k = work_j / 3 / float(force_n**2 @ (way_m / 5.0))
    drawn_j = work_j * 4 / 3
    then_drawn_j = then_j + k * float(then_n**2 @ (way_m / (5.0 * speed)))
    nothing = np.zeros(0)
    own = Parts(
        drawn_j, 0.0, work_j, 2000 * 10.0, 20.0 * 2000, 60.0 * 500, 0.0, Lost(*[nothing] * 4), Lost(*[nothing] * 4),
        *[nothing] * 4, climbs=Climbs(np.array([90.0 * 500]), np.array([10.0 * 500]), np.array([0.25])),
    )  # fmt: skip
    factors, winding = Factors(speed, speed, speed, mass, density), Model(efficient=1.0, loss_with_work=0.0)
    assert changed(own, factors, winding).net_wh_per_km * drawn_j == pytest.approx(then_drawn_j, rel=1e-9)
    as_one = changed(replace(own, climbs=NO_CLIMBS), factors, winding).net_wh_per_km * drawn_j
    assert as_one > then_drawn_j if speed > 1 else as_one < then_drawn_j  # air is more of one force for all of it
    with_work = changed(own, factors, replace(winding, loss_with_work=1.0)).net_wh_per_km
    assert with_work == pytest.approx(then_j / work_j, rel=1e-9)


@pytest.mark.parametrize("limited", [0.0, 1.0])
def test_no_event_gives_back_a_larger_share_than_a_drive_does_at_best(limited):
    """At half or twice the speed, whichever makes the share rise; at a limit as well, which then is none any more."""
    own = worked_by_hand(6.0, shares=(0.6, 0.6))
    model = Model(limited, even=1.0, generating=1.0)
    told = changed(own, Factors(*[0.5 if limited else 2.0] * 3), model)
    assert told.captured_pct * own.back_wh.sum() / own.available_wh.sum() == pytest.approx(0.85, rel=1e-9)


@pytest.mark.parametrize("faster", [0.9, 1.1])
def test_a_motor_that_held_back_alone_returns_the_same_share_of_more_or_less_force(faster):
    """0.5 is more than a drive returns at least, so that friction may have taken nothing; a stop is no such thing."""
    own = worked_by_hand(6.0, shares=(0.2, 0.5))
    alone, helped = (
        changed(own, Factors(1.0, 1.0, faster), Model(0.0, even=1.0, generating=end)) for end in (0.0, 1.0)
    )
    there = own.events.height_wh[2] - own.events.rolling_wh[2] - faster**2 * own.events.air_wh[2]
    stops_wh, held_wh = own.available_wh[:2].sum(), own.available_wh[2]
    then = (0.2 * stops_wh + 0.5 * there) / (stops_wh + there), (0.2 * stops_wh + 0.5 * held_wh) / (stops_wh + there)
    now = own.back_wh.sum() / own.available_wh.sum()
    assert (alone.captured_pct * now, helped.captured_pct * now) == pytest.approx(then, rel=1e-9)


def test_a_motor_that_returned_less_than_any_drive_was_helped_by_friction():
    """Of 0.3 its share rises with less force; but no further than to 0.45, where it would hold back alone."""
    own = worked_by_hand(6.0, shares=(0.0, 0.3))
    alone = Model(0.0, even=1.0, generating=0.0)
    back = [changed(own, Factors(1.0, 1.0, faster), alone).captured_pct for faster in (1.1, 2)]
    there = [own.events.height_wh[2] - own.events.rolling_wh[2] - x * own.events.air_wh[2] for x in (1.21, 4)]
    stops_wh, held_wh = own.available_wh[:2].sum(), own.available_wh[2]
    now, force = own.back_wh.sum() / own.available_wh.sum(), there[0] / held_wh
    then = [0.3 / force * there[0] / (stops_wh + there[0]), 0.45 * there[1] / (stops_wh + there[1])]
    assert 0.3 / force < 0.45 < 0.3 / (there[1] / held_wh)
    assert np.array(back) * now == pytest.approx(then, rel=1e-9)


def test_a_drive_returns_at_least_what_the_ledger_takes_it_to():
    assert GENERATOR_EFFICIENCY[0] == LEAST_GENERATING


def test_the_middle_lies_between_the_ends():
    own, factors = parts_of(COMMUTE), Factors(1.05, 1.05, 1.05)
    middle = shares(own, factors)
    for ends in ENDS.values():
        low, high = np.sort([shares(own, factors, end) for end in ends], axis=0)
        assert np.all(low <= middle + 1e-9)
        assert np.all(middle <= high + 1e-9)


def test_where_air_takes_more_it_is_one_standard_uncertainty():
    own = replace(worked_by_hand(6.0), air_u_ratio=0.1)
    more = with_more_air(own)
    assert more.air_wh == pytest.approx(1.1 * own.air_wh)
    assert more.available_wh == pytest.approx(own.available_wh - 0.1 * own.events.air_wh)
    climb = Climbs(*np.array([[20.0], [3.0], [0.4]]))
    steeper = with_more_air(replace(own, climbs=climb)).climbs
    assert (*steeper.to_wheel_wh, *steeper.air_wh, *steeper.way_ratio) == pytest.approx((20.3, 3.3, 0.4))
    taken = more.available_wh.sum() - own.available_wh.sum()
    assert more.to_wheel_wh - own.to_wheel_wh == pytest.approx(0.1 * own.air_wh + taken)


# --- the parts of a ride ----------------------------------------------------------------------------------------------


def entry(kind, start_s, end_s, **wh):
    names = [name for name in LedgerEntry.__dataclass_fields__ if name.endswith("_wh") and name != "closing_wh"]
    told = {
        name: None if name.removesuffix("_wh") not in wh else Quantity(wh[name.removesuffix("_wh")]) for name in names
    }
    return LedgerEntry(kind, kind, start_s, end_s, **told, closing_wh=None)


@pytest.mark.parametrize("drawn", [0.0, 3.0])
def test_on_a_descent_that_nobody_drives_air_and_speed_beside_the_braking_are_braking_s_own(drawn):
    """Of 10 Wh 1 goes into speed, 3 into air and 1 into rolling; of these 0.2, 1 and 0.4 while it is braked."""
    ride = entry("ride", 0, 900, drawn=60, returned=5, to_wheel=45, air=20, rolling=15, potential=0, kinetic=0)
    hill = entry("hill", 300, 400, drawn=drawn, kinetic=1, potential=-10, air=3, rolling=1)
    event = entry("event", 340, 390, kinetic=0.2, potential=-6.6, air=1, rolling=0.4, available=5, caught=3)
    stop = entry("event", 700, 710, kinetic=-1, potential=0, air=0.1, rolling=0.1, available=0.8, caught=0.5)
    ledger = replace(COMMUTE.ledger, ride=ride, hills=(hill,), events=(event, stop))
    parts = parts_of(replace(COMMUTE, ledger=ledger))
    assert parts.events.air_wh == pytest.approx([1.0, 0.1])
    assert parts.events.kinetic_wh == pytest.approx([-0.2, 1.0])
    assert parts.beside.air_wh == pytest.approx([0.0 if drawn else 2.0, 0.0])
    assert parts.beside.kinetic_wh == pytest.approx([0.0 if drawn else -0.8, 0.0])
    assert parts.beside.height_wh == pytest.approx([0.0 if drawn else 3.4, 0.0])
    assert parts.before_ratio == pytest.approx([0.0 if drawn else 0.8, 0.0])  # 40 of 50 s
    assert list(parts.holds) == [0.0, 0.0]
    assert list(parts.available_wh) == [5.0, 0.8]


def test_what_comes_after_the_last_braking_of_a_descent_is_none_of_braking_s():
    """80 % of the time beside is before: of 2 Wh that air takes there 1.6 are lost to braking at more speed."""
    ride = entry("ride", 0, 900, drawn=60, returned=5, to_wheel=45, air=20, rolling=15, potential=0, kinetic=0)
    hill = entry("hill", 300, 400, drawn=0, kinetic=1, potential=-10, air=3, rolling=1)
    event = entry("event", 340, 390, kinetic=0.2, potential=-6.6, air=1, rolling=0.4, available=5, caught=3)
    parts = parts_of(replace(COMMUTE, ledger=replace(COMMUTE.ledger, ride=ride, hills=(hill,), events=(event,))))
    squared = 1.21
    kinetic, air = -0.2 - 0.8 * 0.8, 1 + 0.8 * 2
    available = 5 + (squared - 1) * (kinetic - air)
    told = changed(parts, Factors(1.1, 1.1, 1.1), Model(legs_steady=0.0, loss_with_work=1.0))
    wheel = 45 + (squared - 1) * 20 + available - 5
    assert told.recovered_pct == pytest.approx((5 + 3 * available / 5 - 3) / 5 / (wheel / 45), rel=1e-9)


@pytest.mark.parametrize(("steep_rolling", "shares"), [(4.0, [0.4]), (11.0, [])])
def test_a_climb_has_its_share_of_the_way_that_is_driven(steep_rolling, shares):
    """Of 15 Wh of rolling 3 are on a descent and 2 in a stop beside it: 10 are driven, of them 4 uphill.

    Where sums contradict each other, and nothing would be left beside the climbs, the ride is one stretch.
    """
    ride = entry("ride", 0, 900, drawn=60, returned=5, to_wheel=45, air=20, rolling=15, potential=0, kinetic=0)
    up = entry("hill", 100, 200, potential=10, air=2, rolling=steep_rolling, to_wheel=16)
    down = entry("hill", 300, 400, drawn=0, kinetic=1, potential=-10, air=3, rolling=3, to_wheel=0)
    event = entry("event", 340, 390, kinetic=0.2, potential=-6.6, air=1, rolling=1, available=5, caught=3)
    stop = entry("event", 700, 710, kinetic=-1, potential=0, air=0.1, rolling=2, available=0.8, caught=0.5)
    ledger = replace(COMMUTE.ledger, ride=ride, hills=(up, down), events=(event, stop))
    climbs = parts_of(replace(COMMUTE, ledger=ledger)).climbs
    assert climbs.way_ratio == pytest.approx(shares)
    assert list(climbs.to_wheel_wh) == [16.0] * len(shares)
    assert list(climbs.air_wh) == [2.0] * len(shares)


def test_a_ride_without_a_ledger_has_no_parts():
    assert parts_of(replace(COMMUTE, ledger=None)) is None
    assert (
        parts_of(replace(COMMUTE, ledger=replace(COMMUTE.ledger, ride=replace(COMMUTE.ledger.ride, air_wh=None))))
        is None
    )
