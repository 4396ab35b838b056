"""Answers of a whole made-up fleet against what happened: as many bikes, loggers and days as an audit meets.

The truth is the quick simulation's own (sums over its steps of 0.1 s, `sample_rides.fleet.lockstep`). All rides of a
bike share its logger's zero and gains, so that many bikes with few rides each tell more than few with many.
"""

from collections import Counter

import pytest

import ridelog
from sample_rides.fleet import write_fleet

pytestmark = pytest.mark.proof

SEEDS = range(101, 106)
N_BIKES, RIDES_PER_BIKE = 60, 3


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    """900 rides on 300 sound bikes of five fleets: each row of the truth, and the answer."""
    both = []
    for seed in SEEDS:
        folder = tmp_path_factory.mktemp(f"fleet-{seed}")
        truth = write_fleet(folder, n_bikes=N_BIKES, rides_per_bike=RIDES_PER_BIKE, seed=seed)
        for row in truth["rides"]:
            bike = folder / row["folder"].split("/")[0] / "bike.toml"
            ride = ridelog.load_ride([folder / name for name in row["files"]], bike=bike)
            both.append((row, ridelog.measure(ride)))
    return both


def covered(pairs):
    """Share of the intervals that hold the truth, of those that are known."""
    held = [said.low95 <= true <= said.high95 for said, true in pairs if said is not None]
    assert len(held) >= 0.95 * N_BIKES * RIDES_PER_BIKE * len(SEEDS)
    return sum(held) / len(held)


@pytest.mark.parametrize("name", ["energy", "charge"])
def test_the_recovered_share_is_covered_93_to_99_times_in_100(answers, name):
    """Above 97, since loggers are drawn within limits whose ends are as likely as their middle."""
    pairs = [(getattr(answer, name).recovered_pct, row[f"{name}_recovered_pct"]) for row, answer in answers]
    assert 0.93 <= covered(pairs) <= 0.99


@pytest.mark.parametrize("name", ["drawn_wh", "returned_wh"])
def test_the_watt_hours_are_covered_93_to_99_times_in_100(answers, name):
    assert 0.93 <= covered((getattr(answer.energy, name), row[name]) for row, answer in answers) <= 0.99


def test_the_captured_share_is_covered_at_least_93_times_in_100(answers):
    assert covered((answer.braking.captured_pct, row["captured_pct"]) for row, answer in answers) >= 0.93


def test_the_resistance_is_covered_93_to_99_times_in_100(answers):
    assert 0.93 <= covered((answer.pack.resistance_ohm, row["resistance_ohm"]) for row, answer in answers) <= 0.99


def test_hills_are_found_and_no_others(answers):
    """At least 99 rides of 100 have the hills that their road has, in its order."""
    right = [[hill.direction for hill in a.hills] == [hill["direction"] for hill in row["hills"]] for row, a in answers]
    assert sum(right) >= 0.99 * len(right)


def test_sound_bikes_are_warned_of_nothing(answers):
    """At most 1 ride in 200 has a finding beyond a note."""
    warned = Counter(f.code for _, answer in answers for f in answer.findings if f.severity != "note")
    assert sum(warned.values()) <= len(answers) / 200, warned
