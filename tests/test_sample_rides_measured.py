"""The sample rides as a stranger meets them: files in, answer out, held against the truth kept beside them."""

import json
import tomllib
from functools import cache

import pytest

import ridelog
from ridelog.settings.column_map import ColumnEntry, ColumnMap
from ridelog.tell.ride import headline
from tests.places import SAMPLES

SLUGS = sorted(path.parent.name for path in SAMPLES.glob("*/about.toml"))
SHOWING = [slug for slug in SLUGS if json.loads((SAMPLES / slug / "truth.json").read_text())["log_shows_return"]]


def truth(slug):
    return json.loads((SAMPLES / slug / "truth.json").read_text(encoding="utf-8"))


@cache
def measured(slug):
    about = tomllib.loads((SAMPLES / slug / "about.toml").read_text(encoding="utf-8"))
    folder = SAMPLES / slug
    ride = ridelog.load_ride([folder / name for name in about["files"]], bike=folder / about["bike"])
    return ride, ridelog.measure(ride)


def test_there_are_a_commute_an_errand_a_winter_descent_and_a_log_that_cannot_show_it():
    assert SLUGS == ["commute", "errand", "no-return", "winter"]


@pytest.mark.parametrize("slug", SHOWING)
def test_the_recovered_share_is_that_of_the_truth(slug):
    """0.1 points at 5 Hz, 0.3 points at 1 Hz."""
    _, answer = measured(slug)
    tolerance = 0.1 if answer.sources[0].step_s <= 0.2 else 0.3
    assert answer.energy.recovered_pct.value == pytest.approx(truth(slug)["recovered_wh_pct"], abs=tolerance)
    assert answer.charge.recovered_pct.value == pytest.approx(truth(slug)["recovered_ah_pct"], abs=tolerance)


def test_the_commute_recovers_about_eight_per_cent():
    assert truth("commute")["recovered_wh_pct"] == pytest.approx(8, abs=0.5)


@pytest.mark.parametrize("slug", SLUGS)
def test_every_hill_is_found_within_40_m_and_1_5_m(slug):
    _, answer = measured(slug)
    for hill in truth(slug)["hills"]:
        near = [
            found
            for found in answer.hills
            if found.direction == hill["direction"]
            and abs(found.start_m - hill["start_m"]) <= 40
            and abs(found.end_m - hill["end_m"]) <= 40
        ]
        assert len(near) == 1, hill
        assert abs(near[0].height_m.value) == pytest.approx(abs(hill["height_m"]), abs=1.5)


@pytest.mark.parametrize("slug", SLUGS)
def test_braking_events_are_those_of_the_truth(slug):
    """F1 at least 0.95, events matched one to one where they share half of the time that they cover together."""
    _, answer = measured(slug)
    free, n = list(answer.braking.events), 0
    for event in truth(slug)["events"]:
        for found in free:
            both = min(event["end_s"], found.end_s) - max(event["start_s"], found.start_s)
            if both >= 0.5 * (max(event["end_s"], found.end_s) - min(event["start_s"], found.start_s)):
                free.remove(found)
                n += 1
                break
    assert 2 * n / (len(truth(slug)["events"]) + len(answer.braking.events)) >= 0.95


def true_offset_s(clock):
    """Of the track's clock; where the log keeps no wall time, each of the two counts from its own first sample."""
    if clock["offset_s"] is not None:
        return clock["offset_s"]
    return -clock["first_sample_s"] * (1 + 1e-6 * clock["drift_ppm"])


@pytest.mark.parametrize("slug", SLUGS)
def test_the_clock_of_the_track_is_found_within_0_3_s(slug):
    ride, _ = measured(slug)
    ((name, clock),) = truth(slug)["clocks"].items()
    join = next(join for join in ride.joins if join.name.endswith(name))
    assert join.trusted
    assert join.offset_s == pytest.approx(true_offset_s(clock), abs=0.3)
    assert join.lag_s == pytest.approx(clock["first_sample_s"], abs=0.3)


@pytest.mark.parametrize("slug", SLUGS)
def test_the_answer_gives_offset_and_drift_of_each_track_with_intervals_that_hold_the_truth(slug):
    """Also for logs without wall time (errand, winter); an interval of a clock is never wider than 0.5 s or 200 ppm."""
    answer = measured(slug)[1].to_dict()
    ((name, clock),) = truth(slug)["clocks"].items()
    source = next(source for source in answer["sources"] if source["path"].endswith(name))
    offset, drift = source["clock_offset_s"], source["clock_drift_ppm"]
    assert offset["low95"] <= true_offset_s(clock) <= offset["high95"] <= offset["low95"] + 0.5
    assert drift["low95"] <= clock["drift_ppm"] <= drift["high95"] <= drift["low95"] + 200


@pytest.mark.parametrize("slug", SLUGS)
def test_the_answer_and_the_finding_give_the_same_offset(slug):
    answer = measured(slug)[1].to_dict()
    (sentence,) = [finding["message"] for finding in answer["findings"] if finding["code"] == "clock-joined"]
    assert f" {abs(answer['sources'][1]['clock_offset_s']['value']):.2f} s " in sentence


def test_the_log_that_cannot_show_it_gives_no_percentage():
    _, answer = measured("no-return")
    assert answer.to_dict()["energy"]["recovered_pct"] is None
    assert answer.to_dict()["energy"]["returned_wh"] is None
    assert "cannot-show-return" in [finding.code for finding in answer.findings]


@pytest.mark.parametrize("slug", SLUGS)
def test_json_of_a_sample_holds_no_number_that_json_does_not_know(slug):
    json.dumps(measured(slug)[1].to_dict(), allow_nan=False)


def test_distance_and_climb_of_the_commute_are_those_of_the_truth():
    """0.5 % of distance for the track's position error; 3 m of climb for 0.4 m of height error on ten slopes."""
    _, answer = measured("commute")
    assert answer.ride.distance_m.value == pytest.approx(truth("commute")["distance_m"], rel=0.005)
    assert answer.ride.ascent_m.value == pytest.approx(truth("commute")["ascent_m"], abs=3)


def commute_log(tmp_path, *, way=1, keep=3, held_s=0):
    """The commute's log with some of its columns; the current turned, the others held for seconds (it is of 5 Hz)."""
    rows = (SAMPLES / "commute" / "controller.csv").read_text(encoding="utf-8").splitlines()
    table = [row.split(",") for row in rows if not row.startswith("#")]
    written = [",".join(table[0][: keep + 1])]
    for number, cells in enumerate(table[1:]):
        held = table[1 + (number // (5 * held_s) * 5 * held_s if held_s else number)]
        written.append(",".join([cells[0], str(way * float(cells[1])), *held[2 : keep + 1]]))
    path = tmp_path / "log.csv"
    path.write_text("\n".join(written), encoding="utf-8")
    return path


def answered(*files, columns=None):
    ride = ridelog.load_ride(list(files), bike=SAMPLES / "commute" / "bike.toml", columns=columns)
    answer = ridelog.measure(ride)
    return answer, headline(answer).sentence, {finding.code: finding.severity for finding in answer.findings}


@pytest.mark.parametrize("held_s", [0, 3, 10])
def test_a_turned_commute_is_turned_back_by_volts_and_speeds_that_are_held(tmp_path, held_s):
    """Before, 1190 % with the sign of the log."""
    answer, said, codes = answered(commute_log(tmp_path, way=-1, held_s=held_s))
    assert answer.charge.recovered_pct.value == pytest.approx(truth("commute")["recovered_ah_pct"], abs=0.1)
    assert codes["sign-reversed"] == "warning"
    assert "but" not in said


def test_a_turned_commute_of_amperes_alone_is_turned_by_its_amounts_and_the_headline_says_so(tmp_path):
    answer, said, codes = answered(commute_log(tmp_path, way=-1, keep=1))
    assert answer.charge.recovered_pct.value == pytest.approx(truth("commute")["recovered_ah_pct"], abs=0.1)
    assert codes["sign-assumed"] == "warning"
    assert said.endswith("but only the amounts that flowed each way show the sign of the current.")


def test_a_turned_commute_of_amperes_alone_is_turned_by_the_motion_of_its_track(tmp_path):
    answer, said, codes = answered(commute_log(tmp_path, way=-1, keep=1), SAMPLES / "commute" / "track.gpx")
    assert answer.charge.recovered_pct.value == pytest.approx(truth("commute")["recovered_ah_pct"], abs=0.1)
    assert "sign-reversed" in codes
    assert "but" not in said


@pytest.mark.parametrize("keep", [1, 3])
def test_a_map_with_the_wrong_sign_is_the_first_suspect(tmp_path, keep):
    told = ColumnMap(column=(ColumnEntry(header="battery current [A]", sign=-1),))
    answer, said, codes = answered(commute_log(tmp_path, keep=keep), columns=told)
    share = answer.energy.recovered_pct or answer.charge.recovered_pct
    assert share.value > 1000
    assert codes["recovered-unusually-high"] == "warning"
    assert said.endswith("but the sign in the column map is in doubt.")
