"""Rides restated at common conditions: alike, with parts that are not known, and different in speed alone."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from ridelog.compare.conditions import conditions_of
from ridelog.compare.correction import CORRECTED, EVERY_RIDE, restated
from ridelog.compare.groups import compared
from ridelog.compare.observations import observations_of, ways_of
from ridelog.compare.places import group_place
from ridelog.compare.road_load import ENDS, Factors, changed, parts_of
from ridelog.fleet.audit import Hands
from sample_rides.campaign.plan import CampaignPlan
from sample_rides.campaign.rides import campaign_bikes, outing, the_way
from sample_rides.fleet.faults import Condition as Setting
from sample_rides.fleet.lockstep import ride_all
from sample_rides.fleet.logs import readings, write_logs
from tests.compare.made_up import compared_of
from tests.scenarios import sample_answer

COMMUTE = sample_answer("commute")
# --- rides ------------------------------------------------------------------------------------------------------------


def two_days(first=COMMUTE, second=COMMUTE):
    later = replace(second, ride=replace(second.ride, start=second.ride.start + timedelta(days=1)))
    return [("a", "one", "A", first), ("b", "two", "A", later)]


def test_rides_alike_stay_as_they_are_and_without_anything_to_take_away_there_is_nothing(tmp_path):
    rides = compared_of(tmp_path, two_days())
    observed, table = observations_of(rides), conditions_of(rides, ways_of(rides).routes)
    told = restated(rides, observed, table, CORRECTED)
    assert [one.quantity for one in told.observations] == ["recovered_pct", "captured_pct", "net_wh_per_km"]
    for before, after in zip(observed, told.observations, strict=False):
        assert after.value == pytest.approx(before.value, rel=1e-12)
        for cause in ENDS:
            assert after.shared[cause, EVERY_RIDE] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert restated(rides, observed, table, ()) is None


def test_a_ride_without_parts_stays_as_it_was_ridden_and_it_is_said(tmp_path):
    heavier = replace(
        COMMUTE, bike=replace(COMMUTE.bike, total_mass_kg=replace(COMMUTE.bike.total_mass_kg, value=130.0))
    )
    rides = compared_of(tmp_path, two_days(second=replace(heavier, ledger=None)))
    observed, table = observations_of(rides), conditions_of(rides, ways_of(rides).routes)
    told = restated(rides, observed, table, ["total_mass_kg"])
    assert told.as_ridden == (rides.rides[1].key,)
    mass = COMMUTE.bike.total_mass_kg.value
    assert told.common == {"total_mass_kg": pytest.approx((mass + 130) / 2)}
    used = told.observations[2].value / observed[2].value
    assert used[0] > 1.01  # with more mass it would have used more
    assert used[1] == 1.0


def test_half_of_what_lies_between_two_ends_is_the_half_width_of_an_error_of_all_rides(tmp_path):
    heavier = replace(
        COMMUTE, bike=replace(COMMUTE.bike, total_mass_kg=replace(COMMUTE.bike.total_mass_kg, value=130.0))
    )
    rides = compared_of(tmp_path, two_days(second=heavier))
    observed, table = observations_of(rides), conditions_of(rides, ways_of(rides).routes)
    told = restated(rides, observed, table, ["total_mass_kg"])
    mass, common = COMMUTE.bike.total_mass_kg.value, told.common["total_mass_kg"]
    for cause, ends in ENDS.items():
        for before, after in zip(observed, told.observations, strict=False):
            for at, own in enumerate((mass, 130.0)):
                low, high = (
                    getattr(changed(parts_of(COMMUTE), Factors(mass=common / own), end), before.quantity)
                    for end in ends
                )
                half_width = before.value[at] * (high - low) / 2
                assert after.shared[cause, EVERY_RIDE][at] == pytest.approx(half_width / np.sqrt(3), abs=1e-9)


def test_where_one_speed_differs_all_are_taken_away_each_kind_of_braking_by_its_own(tmp_path):
    """A ride that never held back on a descent has no such speed: the speed of its way stands in."""
    rides = compared_of(tmp_path, two_days())
    observed, table = observations_of(rides), conditions_of(rides, ways_of(rides).routes)
    table["way_speed_mps"], table["stop_speed_mps"] = [5.0, 6.0], [4.0, 4.4]
    for descents, ratios in (([8.0, 10.0], (9 / 8, 9 / 10)), ([8.0, np.nan], (5.5 / 5, 5.5 / 6))):
        table["descent_speed_mps"] = descents
        told = restated(rides, observed, table, ["braking_speed_mps"])
        for at, ratio in enumerate(ratios):
            factors = Factors(5.5 / (5.0, 6.0)[at], 4.2 / (4.0, 4.4)[at], ratio)
            for before, after in zip(observed, told.observations, strict=False):
                share = getattr(changed(parts_of(COMMUTE), factors), before.quantity)
                assert after.value[at] / before.value[at] == pytest.approx(share, rel=1e-9)


# --- simulated rides that differ in speed alone -----------------------------------------------------------------------


@pytest.fixture(scope="module")
def hurried(tmp_path_factory):
    """Three days on one bike under one setting, the same lights, wind and mass, ridden as usual and 12 % faster."""
    folder, setting, days = tmp_path_factory.mktemp("hurried"), Setting(regen_ratio=0.8), 3
    bike, _ = campaign_bikes(5)
    about = CampaignPlan().order[0][1]
    for name, pace in (("usual", 1.0), ("hurried", 1.12)):
        outings = [outing(bike, about + timedelta(days=day), setting, pace, (5, 1000 + day, 0)) for day in range(days)]
        rides = ride_all([one.scenario for one in outings], [the_way().road] * days)
        (folder / name).mkdir()
        (folder / name / "bike.toml").write_text(bike.toml, encoding="utf-8")
        for day, (one, ride) in enumerate(zip(outings, rides, strict=True)):
            (folder / name / f"day{day}").mkdir()
            logs = readings(ride, bike, setting, 5.0, np.random.default_rng([5, day, 3]))
            start = one.scenario.start + timedelta(hours=6 * (pace > 1))
            write_logs(folder / name / f"day{day}", bike, logs, start, one.air_temperature_c)
    return compared([group_place(f"{name}={folder / name}") for name in ("usual", "hurried")], hands=Hands(workers=1))


@pytest.mark.parametrize("at", range(3), ids=["recovered_pct", "captured_pct", "net_wh_per_km"])
def test_of_rides_that_differ_in_speed_alone_little_difference_is_left(hurried, at):
    """True difference at equal speed: none. Most of it goes, and what is left lies within what the correction says."""
    observed, table = observations_of(hurried), conditions_of(hurried, ways_of(hurried).routes)
    told = restated(hurried, observed, table, ("moving_speed_mps", "braking_speed_mps"))

    def difference(values):
        group = observed[at].group
        return float(values[group == "hurried"].mean() - values[group == "usual"].mean())

    after = told.observations[at]
    left, was = difference(after.value), difference(observed[at].value)
    assert abs(left) < 0.6 * abs(was)
    shared = sum(difference(effect) ** 2 for effect in after.shared.values())
    u = np.sqrt(shared + 2 * float((after.own_u**2).mean()) / 3)
    assert abs(left) < 1.96 * u
    assert abs(was) > 1.96 * np.sqrt(2 * float((observed[at].own_u ** 2).mean()) / 3)  # as ridden it is no chance
