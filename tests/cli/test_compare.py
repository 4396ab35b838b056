"""`ridelog compare` as it is called: statuses, streams, files, and the invented campaign with its known truth."""

import io
import json
from datetime import timedelta

import pytest

from ridelog.cli import main
from ridelog.errors import Exit
from tests.fleet.recordings import MONDAY, write_log
from tests.places import SAMPLES

CAMPAIGN = SAMPLES / "campaign"


def call(*arguments):
    out, err = io.StringIO(), io.StringIO()
    return main(list(map(str, arguments)), out, err), out.getvalue(), err.getvalue()


@pytest.fixture
def two(tmp_path):
    for group in ("off", "on"):
        for day in range(2):
            write_log(tmp_path / group / f"day{day}" / "log.csv", MONDAY + timedelta(days=2 * day + (group == "on")))
        (tmp_path / group / "bike.toml").write_text("")
    return [f"--group={name}={tmp_path / name}" for name in ("off", "on")]


@pytest.fixture(scope="module")
def campaign():
    status, out, err = call("compare", *(f"--group={name}={CAMPAIGN / name}" for name in ("weak", "strong")), "--json")
    assert (status, err.splitlines()[-1]) == (Exit.OK, "12 of 12 rides done")
    return json.loads(out)


def test_the_campaign_tells_what_its_truth_says(campaign):
    truth = json.loads((CAMPAIGN / "truth.json").read_text())
    known = {each["quantity"]: each["difference"] for each in truth["differences"]}
    for told in campaign["differences"]:
        name = "hill_captured_pct" if told["paired_by"] == "hill" else told["quantity"]
        if name in known and not told["corrected"]:
            assert told["difference"]["low95"] <= known[name] <= told["difference"]["high95"], name
    verdicts = [each["verdict"] for each in campaign["differences"] if each["quantity"] == "recovered_pct"]
    assert set(verdicts) == {"second-higher"}


def test_the_campaign_is_paired_by_route_and_by_hill(campaign):
    assert {each["paired_by"] for each in campaign["differences"] if not each["corrected"]} == {"route", "hill"}
    assert [(group["name"], group["rides"]) for group in campaign["groups"]] == [("weak", 6), ("strong", 6)]
    assert len(campaign["rides"]) == 12


def test_words_go_to_one_stream_and_progress_to_the_other(two):
    status, out, err = call("compare", *two)
    assert status == Exit.OK
    assert out.splitlines()[0].startswith(("Off ", "On ", "It is not clear whether"))
    assert err.splitlines() == ["measuring 4 rides …", "4 of 4 rides done"]


def test_output_takes_the_form_of_its_ending_and_nothing_is_replaced_unasked(two, tmp_path):
    target = tmp_path / "told.json"
    status, out, _ = call("compare", *two, "--output", target)
    assert (status, out, json.loads(target.read_text())["schema"]) == (Exit.OK, "", 1)
    status, _, err = call("compare", *two, "--output", target)
    assert (status, "told.json" in err, err.count("\n")) == (Exit.USAGE, True, 2)
    assert call("compare", *two, "--output", target, "--force")[0] == Exit.OK
    assert call("compare", *two, "--output", tmp_path / "told.txt", "--units", "imperial")[0] == Exit.OK
    assert "Groups" in (tmp_path / "told.txt").read_text()


@pytest.mark.parametrize("name", ["told.pdf", "told.HTML", "told.csv"])
def test_a_form_that_it_does_not_write_is_refused_before_anything_is_measured(two, tmp_path, name):
    status, out, err = call("compare", *two, "--output", tmp_path / name)
    assert (status, out, err.splitlines()[1]) == (Exit.USAGE, "", "hint: end it in .json or .txt")
    assert not (tmp_path / name).exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [(["--group=off"], "--group off: is not a name and a path"), ([], "required"), (["--group=a=nowhere"], "nowhere")],
)
def test_what_is_wrong_is_said_in_a_line_and_a_hint(arguments, told):
    status, out, err = call("compare", *arguments)
    assert (status, out) == (Exit.USAGE, "")
    assert told in err.splitlines()[0]
    assert len(err.splitlines()) <= 2
