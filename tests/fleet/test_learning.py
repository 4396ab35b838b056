"""What the rides of a bike teach of it, and what a ride gains by it."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest

from ridelog.errors import StoreError
from ridelog.fleet.audit import Hands, audit
from ridelog.fleet.learning import teaching_of
from ridelog.fleet.store.store import open_store
from ridelog.settings.bike import read_bike
from ridelog.tell.fleet import learning as words
from sample_rides.fleet import LogPlan, truth_frame, write_fleet
from sample_rides.fleet.bikes import drawn_bike


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A bike whose file says nothing of its sensor, five rides of it in a store, and their truth."""
    place = tmp_path_factory.mktemp("learning")
    truth = truth_frame(write_fleet(place / "fleet", n_bikes=1, rides_per_bike=5, seed=31))
    (bike_file,) = (place / "fleet").glob("*/bike.toml")
    text = bike_file.read_text(encoding="utf-8")
    kept = [line for line in text.splitlines() if not line.startswith("current_zero_limit_a")]
    bike_file.write_text("\n".join([*kept, ""]), encoding="utf-8")
    store = open_store(place / "store", create=True)
    result = audit([place / "fleet"], store, hands=Hands(workers=1))
    return store, result.bikes[0].bike, truth


def test_the_zero_is_learned_as_it_was_made_and_its_limit_holds_it(made):
    store, bike, truth = made
    teaching = teaching_of(store, bike)
    (zero,) = (each for each in teaching.learned if each.name == "current_zero_a")
    true_a = float(truth["current_zero_a"].mean())
    assert zero.value.low95 <= true_a <= zero.value.high95
    assert teaching.values["sensor"]["current_zero_limit_a"] > abs(true_a)


def test_the_latest_ride_gains_by_it_and_still_holds_the_truth(made):
    store, bike, truth = made
    teaching = teaching_of(store, bike)
    before, after = teaching.gain.recovered_pct
    assert after.high95 - after.low95 <= before.high95 - before.low95
    latest = truth.sort_values("start").iloc[-1]
    assert after.low95 <= latest["energy_recovered_pct"] <= after.high95
    sentence = words.gain(teaching)
    assert sentence.startswith("With these, ")
    assert " -> " in sentence


def test_what_was_learned_reads_back_as_a_bike_file(made, tmp_path):
    teaching = teaching_of(made[0], made[1])
    path = tmp_path / "bike.toml"
    path.write_text(words.as_toml(teaching), encoding="utf-8")
    assert tomllib.loads(path.read_text())["sensor"]["current_zero_limit_a"] == pytest.approx(
        read_bike(path).sensor.current_zero_limit_a
    )


def test_a_ride_whose_files_are_gone_shows_no_gain(made, tmp_path, monkeypatch):
    monkeypatch.setattr(type(made[0].catalogue), "attempts", lambda _: {})
    assert teaching_of(made[0], made[1]).gain is None


def test_a_bike_that_is_not_there_is_named_with_those_that_are(made):
    with pytest.raises(StoreError, match="no ride of a bike named 'Nobody'") as caught:
        teaching_of(made[0], "Nobody")
    assert made[1] in caught.value.hint


def test_the_drag_area_is_learned_where_pedals_and_brake_are_logged(tmp_path):
    """Told only where it says more than is known without it; the latest ride is measured with it."""
    write_fleet(tmp_path / "fleet", n_bikes=1, rides_per_bike=6, seed=61, logs=LogPlan(with_controls=True))
    (bike_file,) = (tmp_path / "fleet").glob("*/bike.toml")
    lines = bike_file.read_text(encoding="utf-8").splitlines()
    bike_file.write_text("\n".join(line for line in lines if not line.startswith("cda_")) + "\n", encoding="utf-8")
    store = open_store(tmp_path / "store", create=True)
    name = audit([tmp_path / "fleet"], store, hands=Hands(workers=1)).bikes[0].bike
    teaching = teaching_of(store, name)
    true_m2 = drawn_bike(0, np.random.default_rng(61)).machine.cda_m2
    assert teaching.drag_limit_m2 == 0.29
    assert teaching.drag.cda_m2.low95 <= true_m2 <= teaching.drag.cda_m2.high95
    assert teaching.values["road"]["cda_limit_m2"] < 0.15
    assert "crr" not in teaching.values["road"]
    assert teaching.gain.captured_pct[0] != teaching.gain.captured_pct[1]
    area, constant = words.drag(teaching).rows
    assert area[-2:] != constant[-2:]
    assert words.drag(replace(teaching, drag=None)).rows == ()


def test_without_pedals_and_brake_no_drag_is_learned(made):
    assert teaching_of(made[0], made[1]).drag is None
