"""The made-up campaign: the same bytes each time, in the order of its plan, with differences that really are there."""

import gzip
import itertools
import json
import math
import tomllib
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace

import pytest

from ridelog.fleet.folders import find_rides
from sample_rides import quillmoor
from sample_rides.campaign import CampaignPlan, rides, write_campaign
from sample_rides.campaign.__main__ import main
from sample_rides.campaign.rides import campaign_bikes, figures
from sample_rides.fleet.roads import way
from tests.places import SAMPLES

CAMPAIGN = SAMPLES / "campaign"
OTHER_SEED = 9
SHORT = CampaignPlan(difference_pct=1.0, rides_per_setting=2, bike=4)


@pytest.fixture(scope="module")
def truth():
    return json.loads((CAMPAIGN / "truth.json").read_text("utf-8"))


@pytest.fixture(scope="module", autouse=True)
def short_way():
    """A third of the campaign's road, its first hill up and down: what is written anew here is no sample."""
    school = quillmoor.commute().route
    brae = replace(school, stretches=school.stretches[:4], stops=(), bends=())
    there_and_back = way("over Chandler's Brae and home", brae.there_and_back(), seed=11)
    known = (rides.known_settings, rides._reached)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rides, "the_way", lambda: there_and_back)
        for each in known:
            each.cache_clear()
        yield
    for each in known:
        each.cache_clear()


@pytest.fixture(scope="module")
def one_of_each(tmp_path_factory):
    """Small campaigns on the same bike: usual, ridden faster under strong regen, logged by two loggers, by both."""
    top = tmp_path_factory.mktemp("campaigns")
    plans = {
        "usual": SHORT,
        "faster": CampaignPlan(1.0, 2, bike=4, speed_confounded=True),
        "two loggers": CampaignPlan(1.0, 2, bike=4, two_loggers=True),
        "side by side": CampaignPlan(1.0, 2, bike=4, side_by_side=True),
    }
    seeds = {"side by side": OTHER_SEED}
    return {
        name: (top / name, write_campaign(top / name, plan, seed=seeds.get(name, 8))) for name, plan in plans.items()
    }


def content(folder):
    return {path.relative_to(folder): path.read_bytes() for path in Path(folder).rglob("*") if path.is_file()}


def difference(truth, quantity="recovered_pct"):
    (row,) = [row for row in truth["differences"] if row["quantity"] == quantity]
    return row


def test_the_same_seed_writes_the_same_bytes_and_another_other_ones(one_of_each, tmp_path):
    folder, _ = one_of_each["usual"]
    write_campaign(tmp_path / "again", SHORT, seed=8)
    assert content(folder) == content(tmp_path / "again")
    drawn = [
        [ride["mass_kg"] for ride in one_of_each[name][1]["rides"]] for name in ("usual", "faster", "side by side")
    ]
    assert drawn[0] == drawn[1] != drawn[2]  # a campaign's masses hang on its seed alone


def test_the_sample_campaign_is_twelve_short_rides_turn_and_turn_about(truth):
    settings = [ride["setting"] for ride in truth["rides"]]
    assert settings == ["weak", "strong", "strong", "weak"] * 3
    assert all(10 * 60 < ride["duration_s"] < 22 * 60 for ride in truth["rides"])
    starts = [datetime.fromisoformat(ride["start"]) for ride in truth["rides"]]
    assert starts == sorted(starts)
    assert sum(len(body) for body in content(CAMPAIGN).values()) < 1_500_000


def test_each_setting_is_a_whole_bike_alone_and_the_same_bike_with_the_other(truth):
    for given in ([CAMPAIGN], [CAMPAIGN / "weak", CAMPAIGN / "strong"]):
        found = find_rides(given)
        assert found.failed == ()
        assert {ride.bike for ride in found.rides} == {"Kittiwake"}
        assert all(ride.bike_file is not None and len(ride.looks) == 2 for ride in found.rides)
        assert len(found.rides) == len(truth["rides"])
    assert len(find_rides([CAMPAIGN / "weak"]).rides) == 6


def test_days_differ_as_days_do(truth):
    for name, least in (("mass_kg", 1.0), ("wind_mps", 0.3), ("start_soc", 0.15), ("air_temperature_c", 3.0)):
        values = [ride[name] for ride in truth["rides"]]
        assert max(values) - min(values) > least
    assert len({ride["duration_s"] for ride in truth["rides"]}) == 12


def test_the_settings_differ_by_what_was_asked(one_of_each, truth):
    for told, asked in ((truth, 3.0), (one_of_each["usual"][1], 1.0)):
        row = difference(told)
        assert row["difference"] == row["at_equal_speed"]
        assert abs(row["difference"] - asked) < 4 * row["standard_error"]
        assert row["standard_error"] < 0.1
        assert difference(told, "net_wh_per_km")["difference"] < 0 < difference(told, "captured_pct")["difference"]


@pytest.mark.proof
def test_settings_without_a_difference_have_none(tmp_path):
    told = write_campaign(tmp_path / "none", CampaignPlan(0.0, 2, bike=4))
    assert [row["difference"] for row in told["differences"]] == [0.0, 0.0, 0.0, 0.0]
    assert len(set(told["regen_ratios"].values())) == 1


def test_more_than_the_motor_gives_is_refused(tmp_path):
    with pytest.raises(ValueError, match=r"can differ by 0 to \d+\.\d points"):
        write_campaign(tmp_path / "much", CampaignPlan(40.0, 2, bike=4))
    with pytest.raises(ValueError, match="3 rides a setting cannot be ridden there and back in order"):
        CampaignPlan(rides_per_setting=3)


def test_a_campaign_is_never_written_over_another(one_of_each):
    with pytest.raises(FileExistsError):
        write_campaign(one_of_each["usual"][0], SHORT, seed=8)


def test_a_rider_in_a_hurry_hides_what_the_setting_does(one_of_each):
    usual, faster = (one_of_each[name][1] for name in ("usual", "faster"))
    speed = {
        setting: sum(r["distance_m"] for r in faster["rides"] if r["setting"] == setting)
        / sum(r["duration_s"] for r in faster["rides"] if r["setting"] == setting)
        for setting in ("weak", "strong")
    }
    assert speed["strong"] > 1.02 * speed["weak"]  # standing at lights takes as long
    row = difference(faster)
    assert row["difference"] < row["at_equal_speed"] / 2
    assert row["at_equal_speed"] == pytest.approx(difference(usual)["difference"], abs=0.4)


def test_another_logger_errs_otherwise_and_writes_other_files(one_of_each):
    folder, told = one_of_each["two loggers"]
    files = {setting: {Path(name).name for ride in told["rides"] if ride["setting"] == setting
                       for name in ride["files"]} for setting in ("weak", "strong")}  # fmt: skip
    assert files == {"weak": {"ride.csv.gz"}, "strong": {"controller.csv.gz", "track.gpx.gz"}}
    zeros = {(ride["setting"], ride["current_zero_a"]) for ride in told["rides"]}
    assert len(zeros) == 2
    assert len({ride["current_zero_a"] for ride in one_of_each["usual"][1]["rides"]}) == 1
    header = gzip.decompress((folder / "weak" / "2026-06-01" / "ride.csv.gz").read_bytes()).decode().splitlines()[0]
    assert "latitude" in header


def test_two_loggers_side_by_side_log_the_same_rides(one_of_each):
    folder, told = one_of_each["side by side"]
    alone = find_rides([folder / "strong"]).rides
    other = find_rides([folder / "strong-other"]).rides
    for one, same in zip(alone, other, strict=True):
        assert one.looks[0].start == same.looks[0].start
        assert {look.path.name for look in same.looks} == {"ride.csv.gz"}
    assert [Path(name).parts[0] for ride in told["rides"] for name in ride["files"][:1]] == [
        "weak", "strong", "strong", "weak",
    ]  # fmt: skip


def test_the_bike_file_states_what_the_rider_knows_not_what_is(truth):
    bike, other = campaign_bikes(truth["seed"])
    entered = tomllib.loads((CAMPAIGN / "weak" / "bike.toml").read_text("utf-8"))
    assert entered == tomllib.loads((CAMPAIGN / "strong" / "bike.toml").read_text("utf-8"))
    assert entered["bike"]["total_mass_kg"] != bike.machine.mass_kg
    masses = [ride["mass_kg"] for ride in truth["rides"]]
    limit = entered["bike"]["total_mass_limit_kg"]
    assert all(abs(mass - entered["bike"]["total_mass_kg"]) <= limit for mass in masses)
    sensor = entered["sensor"]
    for one in (bike, other):
        assert abs(one.errors.current_zero_a) <= sensor["current_zero_limit_a"]
        assert abs(one.errors.current_gain - 1) <= sensor["current_gain_limit_pct"] / 100


def test_the_command_writes_what_it_is_asked_for(tmp_path, capsys):
    main([str(tmp_path / "c"), "--seed", "4", "--difference", "0.5", "--rides", "2", "--off"])
    assert capsys.readouterr().out == f"{tmp_path / 'c'}: 6 rides under 3 settings\n"
    told = json.loads((tmp_path / "c" / "truth.json").read_text("utf-8"))
    assert [ride["setting"] for ride in told["rides"]] == ["off", "weak", "strong", "strong", "weak", "off"]
    assert {ride["returned_wh"] for ride in told["rides"] if ride["setting"] == "off"} == {0.0}
    pairs = {(row["first"], row["second"]) for row in told["differences"]}
    assert pairs == set(itertools.combinations(("off", "weak", "strong"), 2))


@pytest.mark.parametrize(("offered", "told"), [([(1, 4), (0, 0)], 25.0), ([(0, 0), (0, 0)], math.nan), ([], math.nan)])
def test_a_descent_that_offered_nothing_says_nothing_of_what_hills_give(monkeypatch, offered, told):
    hills = [{"direction": "down", "returned_wh": given, "available_wh": available} for given, available in offered]
    monkeypatch.setattr("sample_rides.campaign.rides.hills_truth", lambda _ride: hills)
    totals = {"drawn_wh": 40.0, "returned_wh": 2.0, "available_wh": 8.0}
    ride = SimpleNamespace(totals=totals, distance_m=[0.0, 4000.0])
    assert figures(ride) == pytest.approx((5.0, 25.0, 9.5, told), nan_ok=True)
