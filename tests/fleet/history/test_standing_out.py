"""Planted faults are found and dated; fleets without any stay silent at the stated rate; what single rides found."""

import json
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from ridelog.fleet.history.remarks import CODES
from ridelog.fleet.history.settings import HistorySettings
from ridelog.fleet.history.standing_out import stands_out
from ridelog.tell.fleet.standing_out import remark
from tests.fleet.history.made_up import FAULTS, NO_FINDINGS, Fault, bike_rides, fleet

NO_HILLS = pd.DataFrame()


def codes(remarks):
    return [each.code for each in remarks if each.code != "not-enough-rides"]


@pytest.fixture(scope="module")
def faulty():
    """Two fleets of 60 bikes, ten of which have a fault, twelve rides or more after its onset."""
    rng = np.random.default_rng(3)
    fleets = []
    for seed in range(2):
        planted = {at: Fault(FAULTS[at % 5], int(rng.integers(6, 25)), gradual=bool(at % 2)) for at in range(10)}
        made = fleet(1000 + seed, faults=planted)
        fleets.append((made, stands_out(made.answers, made.hills, made.findings)))
    return fleets


def held(remark_made, starts, fault):
    """A share that falls by 6 % a ride and varies by 20 % is dated by an interval."""
    if remark_made.code != "regen-fading" or not fault.gradual:
        return False
    ends = [pd.Timestamp(remark_made.evidence[name]) for name in ("since_earliest", "since_latest")]
    return ends[0] <= starts[fault.onset] <= ends[1]


# Of four each: a share of rides with a spread of 15 to 20 %, odd ones among them, takes more than twelve rides to show
# a partial loss beside 300 other tests; what is lost, or moves beyond its noise, shows in all.
FOUND = {"regen-lost": 4, "regen-fading": 1, "zero-drifting": 3, "resistance-rising": 3, "wheel-size-off": 4}


@pytest.mark.parametrize("code", FAULTS)
def test_a_planted_fault_is_found_and_dated_within_two_rides(faulty, code):
    planted, found, dated = 0, 0, 0
    for made, told in faulty:
        for bike, fault in made.faults.items():
            if fault.code != code:
                continue
            planted += 1
            starts = made.answers.loc[made.answers["bike"] == bike, "ride_start"].tolist()
            for each in told[bike]:
                if each.code == code:
                    found += 1
                    dated += abs(starts.index(pd.Timestamp(each.since)) - fault.onset) <= 2 or held(each, starts, fault)
                    assert each.evidence["p_value"] < 0.05
                    assert remark(each.code, each.evidence)
    assert planted == 4
    assert found >= FOUND[code]
    assert dated >= found - 1


def test_a_fault_is_the_only_thing_that_is_told_of_its_bike(faulty):
    others = [
        (bike, code)
        for made, told in faulty
        for bike, remarks in told.items()
        for code in codes(remarks)
        if bike not in made.faults or made.faults[bike].code != code
    ]
    assert others == []


@pytest.mark.parametrize("n_fleets", [2, pytest.param(20, marks=pytest.mark.proof)])
def test_fleets_without_a_fault_stay_silent_at_the_stated_rate(n_fleets):
    """At most 5 % of fleets have any false alarm: of 20, more than three would be seen in 1.6 % of such counts."""
    alarms = 0
    for seed in range(n_fleets):
        made = fleet(seed, n_bikes=60, rides=(6, 31))
        alarms += any(codes(remarks) for remarks in stands_out(made.answers, made.hills, made.findings).values())
    assert alarms <= (0 if n_fleets < 20 else 3)  # of two fleets with these seeds, none


def test_one_odd_ride_and_a_single_ride_without_return_are_no_loss():
    rng = np.random.default_rng(1)
    rides = bike_rides("a", 20, rng)[0]
    for column in ("braking_captured_pct", "energy_recovered_pct", "charge_recovered_pct"):
        rides.loc[rides.index[-1], column] = 0.0
    assert codes(stands_out(rides, NO_HILLS, NO_FINDINGS)["a"]) == []


def test_regen_is_lost_after_two_rides_where_the_logger_can_show_a_return():
    rides = bike_rides("a", 16, np.random.default_rng(2), Fault("regen-lost", 14))[0]
    (told,) = stands_out(rides, NO_HILLS, NO_FINDINGS)["a"]
    assert told.code == "regen-lost"
    assert told.since == rides["ride_start"].iloc[14]
    assert told.evidence["n_after"] == 2
    # Another set-up of the logger from then on: it may clip at zero, and nobody can say.
    layouts = np.where(np.arange(16) >= 14, "layout-2", "layout-1")
    assert codes(stands_out(rides.assign(log_layout=layouts), NO_HILLS, NO_FINDINGS)["a"]) == []


def test_regen_that_came_back_is_not_lost():
    rides = bike_rides("a", 20, np.random.default_rng(2))[0]
    for column in ("braking_captured_pct", "energy_recovered_pct", "charge_recovered_pct"):
        rides.loc[rides.index[8:12], column] = 0.0
    assert codes(stands_out(rides, NO_HILLS, NO_FINDINGS)["a"]) == []


def finding(code, severity, ride, **facts):
    start = pd.Timestamp("2026-01-01", tz="UTC") + pd.Timedelta(days=ride)
    return {
        "key": f"a-{ride}", "bike": "a", "ride_start": start, "code": code, "severity": severity,
        "facts": json.dumps(facts),
    }  # fmt: skip


def test_what_single_rides_found_is_gathered_from_its_first_ride():
    rides = bike_rides("a", 8, np.random.default_rng(4))[0]
    found = pd.DataFrame(
        [
            finding("cell-overcharged", "warning", 5, highest_v=4.22),
            finding("cell-overcharged", "danger", 3, highest_v=4.31),
            finding("cell-overcharged", "note", 1, highest_v=4.201),  # within the sensor's error
            finding("charged-cold", "warning", 2, lowest_c=-4.0),
            finding("clock-joined", "note", 2),
        ]
    )
    told = stands_out(rides, NO_HILLS, found)["a"]
    assert [(each.code, each.severity) for each in told] == [
        ("cell-overcharged", "danger"),
        ("charged-cold", "warning"),
    ]
    assert told[0].since == datetime(2026, 1, 4, tzinfo=UTC)
    assert told[0].evidence == {"n_rides": 2, "highest_v": 4.31}
    assert "4.310 V" in remark(told[0].code, told[0].evidence)
    assert told[1].evidence == {"n_rides": 1, "lowest_c": -4.0}


def test_too_few_rides_are_told():
    rides = bike_rides("a", 2, np.random.default_rng(5))[0]
    (told,) = stands_out(rides, NO_HILLS, NO_FINDINGS)["a"]
    assert (told.code, told.severity, told.since) == ("not-enough-rides", "note", None)
    assert told.evidence["n_rides"] == 2


def test_rides_without_wall_time_have_no_order_to_change_in():
    rides = bike_rides("a", 20, np.random.default_rng(2), Fault("regen-lost", 10))[0]
    assert codes(stands_out(rides, NO_HILLS, NO_FINDINGS)["a"]) == ["regen-lost"]
    undated = rides.assign(ride_start=pd.Series(pd.NaT, index=rides.index, dtype="datetime64[us, UTC]"))
    assert codes(stands_out(undated, NO_HILLS, NO_FINDINGS)["a"]) == []


def test_an_empty_store_has_no_bikes():
    rides = bike_rides("a", 3, np.random.default_rng(2))[0]
    assert stands_out(rides.iloc[:0], NO_HILLS, NO_FINDINGS) == {}


def test_the_rate_is_one_over_all_bikes():
    """The same fault, seen alone, and beside so many bikes that chance would show it somewhere."""
    rng = np.random.default_rng(7)
    weak = bike_rides("weak", 30, rng)[0]
    weak.loc[weak.index[15:], "braking_captured_pct"] *= 0.55
    alone = stands_out(weak, NO_HILLS, NO_FINDINGS)["weak"]
    assert codes(alone) == ["regen-fading"]
    strict = HistorySettings(false_alarm_rate=alone[0].evidence["p_value"])  # enough, were it the only test
    assert codes(stands_out(weak, NO_HILLS, NO_FINDINGS, strict)["weak"]) == []


def test_every_code_has_words_and_no_other_has():
    from ridelog.tell.fleet.standing_out import TEMPLATES

    assert set(TEMPLATES) == set(CODES)
