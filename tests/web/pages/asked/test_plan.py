"""A plan on the page: from chosen rides to the checklist, with the numbers of the command line."""

import io
import json

import pytest

from ridelog.cli import main
from ridelog.errors import UsageError
from ridelog.web.pages.asked.plan import points
from tests.report.reading import Document
from tests.web.visits import write_campaign


def test_the_plan_is_that_of_the_command_line(guest, tmp_path):
    asked = {f"ride-campaign.weak.{n}": "A" for n in (1, 2, 3)}
    reply = guest.send(guest.form("/plan"), {**asked, "difference": "20,5"})
    path = reply.headers["Location"]
    page = guest.done(path)
    out = io.StringIO()
    main(["plan", str(write_campaign(tmp_path) / "weak"), "--difference", "20.5", "--json"], out, io.StringIO())
    told = json.loads(out.getvalue())
    assert json.loads(guest.see(f"{path}/plan.json").text) == told
    document = Document(page)
    table = document.tables["t-power"]
    assert [cell[0] for cell in table.column("power")] == [f"{100 * each['power']:.0f}" for each in told["curve"]]
    assert "A B B A" in document.text
    assert "qualified technician" in document.text
    assert guest.see(f"{path}/plan.pdf").data.startswith(b"%PDF")


@pytest.mark.parametrize("given", ["", "nan", "0", "-1", "1e9", "much"])
def test_what_is_no_difference_is_said(guest, given):
    reply = guest.send(guest.form("/plan"), {"ride-campaign.weak.1": "A", "difference": given})
    assert reply.status_code == 200
    assert "must be a number from 0.01" in reply.text
    assert "No ride is chosen." in guest.send(guest.form("/plan"), {"difference": "1"}).text


def test_a_comma_is_a_point():
    assert points(" 1,5 ") == 1.5
    with pytest.raises(UsageError, match="must be a number"):
        points("1,5,5")


@pytest.mark.parametrize(
    "given", ["nan", "-nan", "inf", "-1", "0", "1e-400", "1e-3", "100.1", "1_0", "1.000,5", "9" * 400, "", "x"]
)
def test_what_is_no_difference_is_refused(given):
    with pytest.raises(UsageError, match=r"must be a number from 0\.01 to 100"):
        points(given)
