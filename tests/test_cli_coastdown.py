"""The command ``ridelog coastdown``, driven whole."""

import io
import json
import math

import pytest

from ridelog.cli import main
from ridelog.errors import Exit
from ridelog.settings.bike import read_bike
from tests.analysis.coastdown.coasts import Session, Truth, known_bike, session_ride

HEADERS = {
    "elapsed_s": "time (s)",
    "current_a": "battery current (A)",
    "speed_mps": "speed (m/s)",
    "altitude_m": "altitude (m)",
    "latitude_deg": "latitude (deg)",
    "longitude_deg": "longitude (deg)",
}
BIKE = """# the grey one
[bike]
total_mass_kg = 110.0  # weighed
total_mass_limit_kg = 3.0
rotating_mass_kg = 1.4475
[road]
cda_m2 = 0.6
wind_mps = 0.0
air_temperature_c = 15.0
air_pressure_hpa = 1013.25
"""


def ridelog(*arguments):
    out, err = io.StringIO(), io.StringIO()
    status = main([str(argument) for argument in arguments], out, err)
    return status, out.getvalue(), err.getvalue()


def log_of(session, path):
    series = session_ride(Truth(), session, known_bike()).series
    known = [name for name in HEADERS if name in series]
    series[known].rename(columns=HEADERS).to_csv(path, index=False)
    return path


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A good session and a poor one, a bike file, as a rider would have them."""
    here = tmp_path_factory.mktemp("coasts")
    log_of(Session(runs_each_way=3), here / "good.csv")
    poor = Session(runs_each_way=1, with_height=False, with_position=False, start_mps=6.0, end_mps=3.0)
    log_of(poor, here / "poor.csv")
    (here / "bike.toml").write_text(BIKE, encoding="utf-8")
    return here


def test_json_holds_figures_with_their_intervals_and_every_stretch(folder):
    """The truth is CdA 0.559 m² and Crr 0.0077."""
    status, out, err = ridelog("coastdown", folder / "good.csv", "--bike", folder / "bike.toml", "--json")
    assert (status, err) == (Exit.OK, "")
    answer = json.loads(out)
    assert answer["cda_m2"]["low95"] <= 0.559 <= answer["cda_m2"]["high95"]
    assert answer["crr_with_drag"]["low95"] <= 0.0077 <= answer["crr_with_drag"]["high95"]
    assert answer["crr"] is None
    assert len(answer["stretches"]) == 6


def test_the_summary_begins_with_the_answer(folder):
    """And says what the figure for rolling holds."""
    _, out, _ = ridelog("coastdown", folder / "good.csv", "--bike", folder / "bike.toml")
    first = out.splitlines()[0]
    assert first.startswith("CdA 0.")
    assert first.endswith("with the motor's drag in it.")


def test_write_sets_the_results_in_a_bike_file_and_keeps_the_rest(folder, tmp_path):
    """Limits are √3 u: half the 95 % interval over 1.96, times √3; with a freewheel all of it is rolling."""
    target = tmp_path / "bike.toml"
    bike_text = BIKE.replace("[road]", '[motor]\nkind = "geared-freewheel"\n[road]')
    target.write_text(bike_text, encoding="utf-8")
    status, out, err = ridelog("coastdown", folder / "good.csv", "--bike", target, "--json", "--write", target)
    assert status is Exit.OK
    assert err.startswith("wrote cda_m2, cda_limit_m2, crr, crr_limit to ")
    cda, bike = json.loads(out)["cda_m2"], read_bike(target)
    assert bike.road.cda_m2 == pytest.approx(cda["value"], rel=1e-3)  # four digits are written
    half = (cda["high95"] - cda["low95"]) / 2
    assert bike.road.cda_limit_m2 == pytest.approx(half / 1.96 * math.sqrt(3), rel=0.03)  # by draws
    assert bike.road.crr is not None
    lines = target.read_text(encoding="utf-8").splitlines()
    assert [line for line in bike_text.splitlines() if not line.startswith("cda_m2")] == [
        line for line in lines if not line.startswith(("cda_", "crr"))
    ]


def test_the_bike_file_among_the_logs_may_be_the_one_to_write_to(folder, tmp_path):
    """Setting keys in a file replaces nothing else in it, so it needs no force."""
    target = tmp_path / "bike.toml"
    target.write_text(BIKE, encoding="utf-8")
    status, _, err = ridelog("coastdown", folder / "good.csv", target, "--write", target)
    assert status is Exit.OK
    assert err.startswith("wrote cda_m2, cda_limit_m2 to ")


def test_what_was_measured_poorly_is_shown_but_not_written(folder, tmp_path):
    """Two short runs, no heights, no positions."""
    target = tmp_path / "new.toml"
    status, out, err = ridelog("coastdown", folder / "poor.csv", "--bike", folder / "bike.toml", "--write", target)
    assert status is Exit.UNREADABLE
    assert "not written" in err.splitlines()[0]
    assert err.splitlines()[1].startswith("hint: ")
    assert "coastdown-vague" in out
    assert not target.exists()


def test_a_log_is_never_replaced_by_a_bike_file(folder):
    """Nor is a file that is no bike file."""
    log = folder / "good.csv"
    before = log.read_bytes()
    status, _, err = ridelog("coastdown", log, "--write", log)
    assert status is Exit.USAGE
    assert "would be overwritten" in err
    status, _, err = ridelog(
        "coastdown", folder / "good.csv", "--bike", folder / "bike.toml", "--write", folder / "poor.csv"
    )
    assert status is Exit.UNREADABLE
    assert "is not TOML" in err
    assert log.read_bytes() == before


def test_a_file_that_is_no_log_is_one_line_and_a_hint(tmp_path):
    """No traceback."""
    (tmp_path / "absurd.csv").write_text("hello\n", encoding="utf-8")
    status, out, err = ridelog("coastdown", tmp_path / "absurd.csv")
    assert (status, out) == (Exit.UNREADABLE, "")
    assert len(err.splitlines()) == 2


def test_a_crr_that_holds_the_motor_s_drag_is_not_written(folder, tmp_path):
    """Read back, it would say that the motor drags nothing."""
    target = tmp_path / "bike.toml"
    target.write_text(BIKE, encoding="utf-8")
    status, _, err = ridelog("coastdown", folder / "good.csv", "--bike", target, "--write", target)
    assert status is Exit.OK
    assert err.startswith("wrote cda_m2, cda_limit_m2 to ")
    assert read_bike(target).road.crr is None
    assert read_bike(target).road.motor_drag_n is None
