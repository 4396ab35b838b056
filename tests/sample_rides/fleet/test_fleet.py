"""The made-up fleet: the same bytes each time, in the layout that audits read, faults where its truth says."""

import hashlib
import itertools
import json
import tomllib
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import ridelog
from ridelog.errors import InputError
from ridelog.fleet.audit import Hands, audit
from ridelog.fleet.store.store import open_store
from sample_rides.fleet import (
    FaultPlan,
    LogPlan,
    beside_truth,
    hills_frame,
    truth_frame,
    write_fleet,
    write_sample_fleet,
)
from sample_rides.fleet.__main__ import main
from sample_rides.fleet.broken import BROKEN_KINDS, break_file

# contract, section 10
CODES = {"regen-lost", "regen-fading", "zero-drifting", "resistance-rising", "wheel-size-off", "below-others"}
ONE_OF_EACH = FaultPlan(1, 1, 1, 1, 1, 1, weak_ratio=0.2, earliest_ride=1, latest_share=0.5, develops_over_rides=2)
FAULTY_LOGS = {
    "cannot-show-return",
    "zero-beyond-limit",
    "speeds-disagree",
}  # what single logs of faulty bikes may show


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    folder = tmp_path_factory.mktemp("samples") / "fleet"
    return folder, write_sample_fleet(folder)


@pytest.fixture(scope="module")
def audited(sample, tmp_path_factory):
    """What an audit of the sample fleet tells, and the store that it filled."""
    store = open_store(tmp_path_factory.mktemp("audited") / "store", create=True)
    return audit([sample[0]], store, hands=Hands(workers=1)), store


@pytest.fixture(scope="module")
def answers(sample, audited):
    """Each ride's row of the truth, and its answer, which is that of all of its files."""
    folder, truth = sample
    kept = [audited[1].answer(key) for key in list(audited[1].keys())]
    of = {frozenset(source.sha256 for source in answer.sources): answer for answer in kept}
    return [
        (row, of[frozenset(hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in row["files"])])
        for row in truth["rides"]
    ]


def content(folder):
    return {path.relative_to(folder): path.read_bytes() for path in Path(folder).rglob("*") if path.is_file()}


def test_the_same_seed_writes_the_same_bytes_and_another_other_ones(tmp_path):
    for name, seed in (("one", 3), ("two", 3), ("three", 4)):
        write_fleet(tmp_path / name, n_bikes=4, rides_per_bike=1, seed=seed, logs=LogPlan(hostile=0.5))
    one, two, three = (content(tmp_path / name) for name in ("one", "two", "three"))
    assert one == two
    assert one[Path("truth.json")] != three[Path("truth.json")]


def test_a_bike_is_a_folder_and_a_ride_a_folder_in_it(sample):
    folder, truth = sample
    bikes = sorted(path.parent for path in folder.glob("*/bike.toml"))
    assert len(bikes) == 5
    assert len(truth["rides"]) == 48
    assert {tomllib.loads((bike / "bike.toml").read_text("utf-8"))["bike"]["name"] for bike in bikes} == {
        row["bike"] for row in truth["rides"]
    }
    for row in truth["rides"]:
        assert all((folder / name).is_file() for name in row["files"])
        if not row["folder"].endswith("/logs"):
            assert row["folder"].split("/")[1][:10] == row["start"][:10]
    named = {name for row in truth["rides"] for name in row["files"]}
    assert named == {path.relative_to(folder).as_posix() for path in folder.glob("*/*/*")}


def test_one_bike_has_a_manifest_of_its_rides(sample):
    folder, truth = sample
    (manifest,) = folder.glob("*/rides.toml")
    rides = tomllib.loads(manifest.read_text("utf-8"))["ride"]
    bike = manifest.parent.name
    own = [row for row in truth["rides"] if row["folder"] == f"{bike}/logs"]
    assert [[f"{bike}/{name}" for name in ride["files"]] for ride in rides] == [row["files"] for row in own]
    assert {ride["group"] for ride in rides} == {"summer", "winter"}


def test_rides_of_a_bike_never_overlap_and_fill_the_year(tmp_path):
    truth = write_fleet(tmp_path, n_bikes=1, rides_per_bike=60, seed=5)
    spans = [(row["start"], row["end"]) for row in truth["rides"]]
    assert all(end < start for (_, end), (start, _) in itertools.pairwise(spans))
    assert (datetime.fromisoformat(spans[-1][0]) - datetime.fromisoformat(spans[0][0])).days > 300
    months = truth_frame(truth).groupby(lambda _: 0)["air_temperature_c"].agg(["min", "max"]).loc[0]
    assert months["min"] < 7 < 15 < months["max"]


def test_rides_cannot_be_more_than_a_year_holds(tmp_path):
    with pytest.raises(ValueError, match="731 rides need more than 365 days"):
        write_fleet(tmp_path, n_bikes=1, rides_per_bike=731)


def test_a_fleet_is_never_written_over_another(sample):
    with pytest.raises(FileExistsError):
        write_fleet(sample[0], n_bikes=5, rides_per_bike=1, seed=7)


def test_each_fault_acts_from_its_first_ride_on_and_on_no_other_bike(tmp_path):
    truth = write_fleet(tmp_path, n_bikes=7, rides_per_bike=6, seed=11, faults=ONE_OF_EACH)
    rides = truth_frame(truth)
    assert {fault["code"] for fault in truth["faults"]} == CODES
    shows = {
        "dead-regen": lambda row: row["regen_ratio"] == 0 and row["returned_wh"] == 0,
        "fading-regen": lambda row: 0.3 <= row["regen_ratio"] < 1,
        "drifting-zero": lambda row: row["zero_drift_a"] != 0,
        "weak-pack": lambda row: row["resistance_ratio"] > 1,
        "wrong-wheel": lambda row: abs(row["wheel_scale_ratio"] - 1) > 0.04,
        "weak-regen": lambda row: row["regen_ratio"] == 0.2,
    }
    for _, row in rides.iterrows():
        assert [kind for kind, shown in shows.items() if shown(row)] == ([row["fault"]] if row["fault"] else [])
    for fault in truth["faults"]:
        own = rides[rides["bike"] == fault["bike"]].sort_values("start")
        assert own["fault"].isna().sum() == fault["first_ride"]
        assert (fault["first_ride"] == 0) == (fault["kind"] == "weak-regen")
        assert pd.Timestamp(fault["since"]) == own["start"].iloc[fault["first_ride"]]


def test_faults_that_do_not_fit_are_refused(tmp_path):
    with pytest.raises(ValueError, match="2 faults need as many bikes"):
        write_fleet(tmp_path, n_bikes=1, rides_per_bike=20, faults=FaultPlan(dead_regen=2))
    with pytest.raises(ValueError, match="too late for 4 rides"):
        write_fleet(tmp_path, n_bikes=1, rides_per_bike=6, faults=FaultPlan(dead_regen=1))


def test_answers_hold_the_truth(answers):
    # 95 % of 48 are 46; 41 or fewer would come about once in 105 fleets (binomial). The gain of a bike's logger is the
    # same on all its rides, so that what it moves alone, the Wh, is no such count.
    held = Counter()
    for row, answer in answers:
        for name, found in (("energy", answer.energy), ("charge", answer.charge)):
            share, true = found.recovered_pct, row[f"{name}_recovered_pct"]
            held[name] += share is None or share.low95 <= true <= share.high95
        captured = answer.braking.captured_pct
        held["captured"] += captured is None or captured.low95 <= row["captured_pct"] <= captured.high95
    assert min(held["energy"], held["charge"], held["captured"]) >= 42


def test_every_hill_is_found_where_it_is_and_no_other(answers):
    for row, answer in answers:
        assert [hill.direction for hill in answer.hills] == [hill["direction"] for hill in row["hills"]]
        for found, true in zip(answer.hills, row["hills"], strict=True):
            # a joint of two stretches is rounded over 20 m, and distances err by the wheel's gain of up to 1 %
            assert found.start_m == pytest.approx(true["start_m"], abs=60)
            assert found.end_m == pytest.approx(true["end_m"], abs=60)
            assert abs(found.height_m.value) == pytest.approx(true["height_m"], abs=2.0)


def test_logs_of_sound_bikes_warn_of_nothing(sample, answers):
    rides = truth_frame(sample[1]).set_index(["bike", "start"])["fault"]
    for row, answer in answers:
        warned = {finding.code for finding in answer.findings if finding.severity != "note"}
        assert warned <= (FAULTY_LOGS if rides.loc[row["bike"], pd.Timestamp(row["start"])] else set())


def test_every_ride_starts_when_the_truth_says(answers):
    for row, answer in answers:
        off_s = (answer.ride.start - datetime.fromisoformat(row["start"])).total_seconds()
        assert abs(off_s) <= abs(row["clock_offset_s"]) + 1.0  # the electrical log's own wall time, or the track's


def test_answers_are_laid_beside_the_truth(sample, answers):
    rides = truth_frame(sample[0])
    rows = [
        {"bike": row["bike"], "ride_start": pd.Timestamp(answer.ride.start), "distance_m": answer.ride.distance_m.value}
        for row, answer in answers
    ]
    stranger = {"bike": "Nobody's", "ride_start": pd.Timestamp("2025-06-01", tz="UTC"), "distance_m": 1.0}
    both = beside_truth(pd.DataFrame([*rows, stranger]), rides)
    known = both[both["bike"] != "Nobody's"]
    assert len(both) == 49
    assert known["true_start"].is_unique
    assert known["distance_m"].to_numpy() == pytest.approx(known["true_distance_m"].to_numpy(), rel=0.02)
    assert both.loc[both["bike"] == "Nobody's", "folder"].isna().all()


def test_the_sample_fleet_is_written_once_and_whole(sample):
    folder, truth = sample
    before = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
    assert write_sample_fleet(folder) == truth
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*")} == before
    assert not list(folder.parent.glob(".*"))


def test_a_sample_fleet_that_breaks_off_leaves_nothing(tmp_path, monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("sample_rides.fleet.folders.write_logs", full)
    with pytest.raises(OSError, match="No space left"):
        write_sample_fleet(tmp_path / "fleet")
    assert list(tmp_path.iterdir()) == []


def test_hills_are_a_frame_of_passes(sample):
    hills = hills_frame(sample[0])
    rides = truth_frame(sample[0])
    assert len(hills) == sum(len(row["hills"]) for row in sample[1]["rides"])
    totals = hills.groupby("folder")["returned_wh"].sum()
    per_ride = rides.groupby("folder")["returned_wh"].sum()
    assert (totals <= per_ride.loc[totals.index] + 1e-4).all()
    assert hills["height_m"].min() >= 8


def test_a_share_of_rides_has_a_broken_file(tmp_path):
    truth = write_fleet(tmp_path, n_bikes=4, rides_per_bike=10, seed=2, logs=LogPlan(hostile=0.5))
    broken = [row for row in truth["rides"] if row["broken"]]
    assert 10 <= len(broken) <= 30  # 20 ± 3.2, three standard deviations
    assert {row["broken"]["kind"] for row in broken} == set(BROKEN_KINDS)
    assert all(row["broken"]["file"] in row["files"] for row in broken)
    assert set(truth_frame(truth)["broken"].dropna()) == set(BROKEN_KINDS)


@pytest.mark.parametrize("kind", ["empty", "junk", "other-text"])
def test_a_broken_file_is_none_that_can_be_read(tmp_path, kind):
    path = tmp_path / "ride.csv"
    path.write_text("time [s],battery current [A],battery voltage [V]\n0,1.0,50.0\n1,1.0,50.0\n")
    break_file(path, kind, np.random.default_rng(1))
    with pytest.raises(InputError):
        ridelog.load_ride([path])


def test_a_cut_file_is_a_part_of_the_whole(tmp_path):
    path = tmp_path / "ride.csv"
    path.write_bytes(whole := bytes(range(256)) * 8)
    break_file(path, "cut", np.random.default_rng(1))
    assert whole.startswith(left := path.read_bytes())
    assert 0.1 <= len(left) / len(whole) <= 0.5


def test_the_command_writes_the_fleet_that_was_asked_for(tmp_path, capsys):
    main([str(tmp_path / "fleet"), "--bikes", "3", "--rides", "7", "--seed", "9"])
    assert "7 rides, 0 faults" in capsys.readouterr().out
    truth = json.loads((tmp_path / "fleet" / "truth.json").read_text("utf-8"))
    assert Counter(Counter(row["bike"] for row in truth["rides"]).values()) == {2: 2, 3: 1}
    assert datetime(2025, 4, 1, tzinfo=UTC) <= min(datetime.fromisoformat(row["start"]) for row in truth["rides"])


def test_an_audit_of_the_sample_fleet_tells_what_was_planted_and_nothing_else(sample, audited):
    planted, result = sample[1]["faults"], audited[0]
    told = {(bike.bike, one.code): one.since for bike in result.bikes for one in bike.stands_out}
    assert set(told) == {(fault["bike"], fault["code"]) for fault in planted}
    for fault in planted:
        (bike,) = (bike for bike in result.bikes if bike.bike == fault["bike"])
        at = [ride.start for ride in bike.history].index(told[fault["bike"], fault["code"]])
        assert abs(at - fault["first_ride"]) <= 2
