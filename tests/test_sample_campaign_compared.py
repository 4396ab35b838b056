"""The sample campaign as a stranger meets it: two folders in, a verdict out, held against the truth beside them."""

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ridelog
from ridelog.compare.comparison import comparison_of
from ridelog.compare.record import Comparison
from tests.places import SAMPLES
from tests.proof.campaign_study import in_folders, told

CAMPAIGN = SAMPLES / "campaign"
TRUTH = json.loads((CAMPAIGN / "truth.json").read_text("utf-8"))
# contract, section 10
DIFFERENCE = {
    "quantity", "first", "second", "paired_by", "pairs", "difference", "from_measurement_u", "from_ride_to_ride_sd",
    "verdict", "smallest_told", "rides_to_settle",
}  # fmt: skip


@cache
def compared_rides():
    return in_folders(CAMPAIGN, ("weak", "strong"))


@cache
def document(*groups):
    """Of the same rides, in the order of these groups."""
    rides = compared_rides()
    in_order = tuple(sorted(rides.rides, key=lambda ride: groups.index(ride.group)))
    table = rides.table.sort_values("group", key=lambda names: names.map(groups.index), kind="stable")
    return comparison_of(replace(rides, groups=groups, rides=in_order, table=table)).to_dict()


@cache
def measured():
    """Each ride as `ridelog measure --json` has it, by group and name."""
    return {
        ride["folder"]: ridelog.measure(
            ridelog.load_ride(
                [CAMPAIGN / name for name in ride["files"]], bike=CAMPAIGN / ride["setting"] / "bike.toml"
            )
        ).to_dict()
        for ride in TRUTH["rides"]
    }


def test_strong_regen_is_told_from_weak_and_what_is_not_told_is_not():
    verdicts = {one.quantity: one.verdict for one in told(document("weak", "strong"), TRUTH)}
    assert verdicts == {
        "recovered_pct": "second-higher", "captured_pct": "second-higher", "hill_captured_pct": "second-higher",
        "net_wh_per_km": "not-told",
    }  # fmt: skip


def test_each_interval_holds_what_the_settings_differ_by():
    for one in told(document("weak", "strong"), TRUTH):
        assert one.holds, one
        assert one.low95 < one.value < one.high95


def test_pairs_are_the_two_rides_of_a_day():
    for row in document("weak", "strong")["differences"]:
        assert (row["paired_by"], row["pairs"]) in {("route", 6), ("hill", 3)}
        assert (row["first_rides"], row["second_rides"], row["left_over"]) == (6, 6, 0)
    by_day = {}
    for ride in TRUTH["rides"]:
        number = measured()[ride["folder"]]["energy"]["recovered_pct"]["value"]
        by_day.setdefault(ride["start"][:10], {})[ride["setting"]] = number
    differences = [day["strong"] - day["weak"] for day in by_day.values()]
    row = document("weak", "strong")["differences"][0]
    assert row["difference"]["value"] == pytest.approx(np.mean(differences))
    # Student's t of six pairs, 2.571 at 5 degrees of freedom (Student 1908; any table)
    half = 2.5706 * np.std(differences, ddof=1) / np.sqrt(6)
    assert row["difference"]["high95"] - row["difference"]["value"] == pytest.approx(half, rel=0.01)


def random_effects_mean(values, own_u):
    """DerSimonian and Laird, Meta-analysis in clinical trials, 1986 (from memory): weights by variance and spread."""
    own = 1 / np.square(own_u)
    q = np.sum(own * (values - np.average(values, weights=own)) ** 2)
    between = max(0.0, (q - len(values) + 1) / (own.sum() - np.sum(own**2) / own.sum()))
    return np.average(values, weights=1 / (np.square(own_u) + between))


def test_each_ride_is_told_as_it_is_measured_alone():
    rides = document("weak", "strong")["rides"]
    assert len(rides) == 12
    for ride in rides:
        alone = measured()[f"{ride['group']}/{ride['name']}"]
        assert ride["recovered_pct"] == alone["energy"]["recovered_pct"]
        assert ride["captured_pct"] == alone["braking"]["captured_pct"]
        assert ride["net_wh_per_km"] == alone["energy"]["net_wh_per_km"]
        assert ride["start"] == alone["ride"]["start"]
    for group in document("weak", "strong")["groups"]:
        of_group = [ride for ride in rides if ride["group"] == group["name"]]
        for quantity in ("recovered_pct", "captured_pct", "net_wh_per_km"):
            values = [ride[quantity]["value"] for ride in of_group]
            alone = [measured()[f"{ride['group']}/{ride['name']}"]["shared_errors"]["ride"] for ride in of_group]
            mean = random_effects_mean(np.array(values), np.array([each[quantity]["own"] for each in alone]))
            assert group[quantity]["value"] == pytest.approx(mean, abs=0.02 * np.std(values))


def test_the_document_has_the_names_of_the_contract_and_comes_back():
    document_ = document("weak", "strong")
    assert document_["schema"] == 1
    assert {"ridelog", "groups", "differences", "conditions", "rides", "findings"} <= set(document_)
    assert all(set(row) >= DIFFERENCE for row in document_["differences"])
    assert {"group", "name", "start", "key"} <= set(document_["rides"][0])
    text = json.dumps(document_, allow_nan=False)
    assert json.dumps(Comparison.from_dict(json.loads(text)).to_dict()) == text


def test_turned_round_it_is_the_same_difference_the_other_way():
    there, back = document("weak", "strong")["differences"], document("strong", "weak")["differences"]
    turned = {"first-higher": "second-higher", "second-higher": "first-higher", "not-told": "not-told"}
    for one, other in zip(there, back, strict=True):
        assert one["difference"]["value"] == pytest.approx(-other["difference"]["value"])
        assert one["difference"]["low95"] == pytest.approx(-other["difference"]["high95"], abs=1e-3)
        assert one["verdict"] == turned[other["verdict"]]
