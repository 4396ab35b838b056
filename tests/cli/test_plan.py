"""`ridelog plan` as it is called."""

import io
import json
import shlex
import shutil

import pytest

from ridelog.cli import main
from ridelog.errors import Exit
from tests.places import SAMPLES
from tests.report.reading import Document

COMMUTE = [str(SAMPLES / "commute" / name) for name in ("controller.csv", "track.gpx", "bike.toml")]


def call(*arguments):
    out, err = io.StringIO(), io.StringIO()
    return main(["plan", *map(str, arguments)], out, err), out.getvalue(), err.getvalue()


def test_from_one_ride_a_usual_spread_is_said():
    status, out, _ = call(*COMMUTE, "--difference", 2)
    assert status == Exit.OK
    assert "A usual spread" in " ".join(out.split())
    assert "A B B A" in out


def test_from_a_folder_the_spread_of_its_rides_is_taken():
    status, out, err = call(SAMPLES / "campaign" / "weak", "--difference", 1, "--json")
    told = json.loads(out)
    assert (status, told["schema"], told["rides"], told["spread_assumed"]) == (Exit.OK, 1, 6, False)
    assert told["pairs"] % 2 == 0
    assert err.splitlines()[-1] == "6 of 6 rides done"


def test_before_any_ride_a_usual_spread_is_assumed_and_said(tmp_path):
    told = json.loads(call("--difference", 1, "--json")[1])
    assert (told["rides"], told["recovered_pct"], told["spread_assumed"]) == (0, None, True)
    assert told["spread"] == pytest.approx(0.8)  # a tenth of 8 %
    status, out, _ = call("--difference", 1)
    assert status is Exit.OK
    assert "No ride so far, so a usual spread from ride to ride of 0.80 points is" in out
    assert "so far shows" not in out
    assert call("--difference", 1, "--output", tmp_path / "plan.html")[0] is Exit.OK
    page = (tmp_path / "plan.html").read_text(encoding="utf-8")
    assert "before any ride" in page
    assert "ridelog plan --difference 1 --output plan.html" in page
    status, _, err = call("--difference", 1, "--bike", tmp_path / "bike.toml")
    assert status is Exit.USAGE
    assert "--bike: goes with the files of rides so far" in err


def test_a_difference_may_have_a_decimal_comma():
    told = [json.loads(call(*COMMUTE, "--difference", points, "--json")[1]) for points in ("0,5", "0.5")]
    assert told[0] == told[1]
    assert told[0]["difference"] == 0.5


@pytest.mark.parametrize("points", ["0", "-1", "nan", "1,000.5", "much", "101", "1e-3", "1_0"])
def test_what_is_no_difference_is_refused_in_a_sentence(points):
    status, out, err = call(*COMMUTE, f"--difference={points}")
    assert (status, out) == (Exit.USAGE, "")
    assert "is no difference" in err


def test_a_ride_without_a_return_is_no_ground_for_a_plan():
    folder = SAMPLES / "no-return"
    logs = sorted(str(path) for path in folder.iterdir() if path.suffix in (".csv", ".gpx") or path.name == "bike.toml")
    status, _, err = call(*logs, "--difference", 1)
    assert status == Exit.USAGE
    assert "nothing to plan from" in err


def test_the_command_in_the_page_makes_the_page_again(tmp_path, monkeypatch):
    for path in COMMUTE:
        shutil.copy(path, tmp_path)
    monkeypatch.chdir(tmp_path)
    target = tmp_path / "plan.html"
    status, out, err = call(*COMMUTE, "--difference", 1.5, "--paper", "letter", "--output", target)
    assert (status, out, err) == (Exit.OK, "", f"wrote {target}\n")
    made = target.read_bytes()
    program, *arguments = shlex.split(Document(made.decode()).command)
    assert program == "ridelog"
    assert main([*arguments, "--force"], io.StringIO(), io.StringIO()) == Exit.OK
    assert target.read_bytes() == made
    assert "size: letter" in made.decode()
    status, _, err = call(*COMMUTE, "--difference", 1.5, "--output", target)
    assert status == Exit.USAGE
    assert "--force" in err


def test_a_plan_is_no_table():
    status, _, err = call(*COMMUTE, "--difference", 1, "--output", "plan.csv")
    assert status == Exit.USAGE
    assert ".html" in err
