"""Rides compared on the page: chosen in a plain form, the numbers of the command line, everything to take away."""

import io
import json
import re
import zipfile

import pytest

from ridelog.cli import main
from tests.report.reading import Document
from tests.report.ride.test_page import assert_told
from tests.web.visits import log, write_campaign

ASKED = {"name-A": "weak", "name-B": "strong"} | {
    f"ride-campaign.{group}.{n}": letter for group, letter in (("weak", "A"), ("strong", "B")) for n in (1, 2, 3)
}


@pytest.fixture(scope="module")
def compared(guests):
    """The small campaign compared: the address, the page, and who asked."""
    guest = guests()
    reply = guest.send(guest.form("/compare?sample"), ASKED)
    assert reply.status_code == 303
    path = reply.headers["Location"]
    return path, guest.done(path), guest


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """What the command line says of the same rides."""
    folder, out = write_campaign(tmp_path_factory.mktemp("campaign")), io.StringIO()
    groups = [f"--group={name}={folder / name}" for name in ("weak", "strong")]
    main(["compare", *groups, "--json"], out, io.StringIO())
    return json.loads(out.getvalue())


def test_the_sample_campaign_is_proposed_with_its_names(guest):
    page = guest.form("/compare?sample").page
    chosen = dict(re.findall(r'name="ride-([^"]+)" value="([A-D])" checked', page))
    assert chosen == {key.removeprefix("ride-"): letter for key, letter in ASKED.items() if key.startswith("ride-")}
    assert re.findall(r'name="name-([AB])" value="(\w+)"', page) == [("A", "weak"), ("B", "strong")]
    assert "<script" not in page


def test_the_numbers_are_those_of_the_command_line(compared, told, guests):
    path, page, guest = compared
    assert json.loads(guest.see(f"{path}/comparison.json").text) == told
    document = Document(page)
    fields = {"recovered_mean": "recovered_pct", "captured_mean": "captured_pct", "use_mean": "net_wh_per_km"}
    n_checked = 0
    for row, group in enumerate(told["groups"]):
        for key, field in fields.items():
            if key in document.tables["t-groups"].keys:
                assert_told(document.tables["t-groups"].column(key)[row], group[field], 1.0, ".")
                n_checked += 1
    for row, ride in enumerate(told["rides"]):
        assert_told(document.tables["t-rides"].column("recovered_share")[row], ride["recovered_pct"], 1.0, ".")
        n_checked += 1
    for row, difference in enumerate(told["differences"]):
        if difference["difference"] is not None:
            assert_told(document.tables["t-differences"].column("change")[row], difference["difference"], 1.0, ".")
            n_checked += 1
    assert n_checked >= 9
    assert "strong recovered" in document.h1.lower()
    groups = "--group weak=weak --group strong=strong"
    assert document.command == f"ridelog report {groups} --no-place --output comparison.pdf"
    assert guests().see(path).text.count("Smallest told") == 1  # whoever has the address sees it


def test_a_plan_is_made_of_the_same_rides(compared):
    _, page, guest = compared
    (path,) = re.findall(r'href="(/plan\?[^"]*)"', page)
    asked = guest.see(path.replace("&amp;", "&")).text
    assert dict(re.findall(r'name="(ride-[^"]+)" value="([A-D])" checked', asked)) == {
        key: letter for key, letter in ASKED.items() if key.startswith("ride-")
    }


def test_all_of_it_can_be_taken_away(compared):
    path, page, guest = compared
    links = re.findall(rf'href="{path}/([^"]+)" download', page)
    assert {name.partition("?")[0] for name in links} == {
        "comparison.pdf", "comparison.html", "comparison.zip", "comparison.json", "differences.csv", "groups.csv",
        "conditions.csv", "precision.csv", "rides.csv",
    }  # fmt: skip
    for name in links:
        reply = guest.see(f"{path}/{name}")
        assert reply.status_code == 200
        assert reply.headers["Content-Disposition"].startswith("attachment")
    shown = guest.see(f"{path}/comparison.html")
    assert "Content-Disposition" not in shown.headers or shown.headers["Content-Disposition"].startswith("inline")
    assert shown.headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert guest.see(f"{path}/comparison.pdf").data.startswith(b"%PDF")
    with zipfile.ZipFile(io.BytesIO(guest.see(f"{path}/comparison.zip").data)) as packed:
        assert {"report.html", "tables/rides.csv", "manifest.json"} <= set(packed.namelist())
    for name in ("manifest.json", "..", "%2e%2e%5cgiven", "comparison.json%00", "made"):
        assert guest.see(f"{path}/{name}").status_code == 404
    assert "_dash-config" in guest.see(f"{path}/..%2f..%2fgiven").text  # no address: the page of one ride


def test_the_page_says_all_that_its_document_says(compared):
    path, page, guest = compared
    shown, taken = Document(page), Document(guest.see(f"{path}/comparison.html").text)
    assert shown.tables.keys() == taken.tables.keys() >= {"t-files", "t-bike"}
    assert {name: table.rows for name, table in shown.tables.items()} == {
        name: table.rows for name, table in taken.tables.items()
    }


def test_own_rides_are_compared_by_their_files_and_no_place_of_the_computer_is_told(guest):
    tokens = guest.give(*((f"day{day}.csv", log(day, back_a=1 + day % 2)) for day in (11, 12, 13, 14)))
    form = guest.form("/compare")
    asked = {f"ride-{token}": "AB"[n % 2] for n, token in enumerate(tokens)}
    reply = guest.send(form, {**asked, "name-A": "on <b>", "name-B": "off"})
    page = guest.done(reply.headers["Location"])
    told = json.loads(guest.see(f"{reply.headers['Location']}/comparison.json").text)
    assert [(group["name"], group["rides"]) for group in told["groups"]] == [("on <b>", 2), ("off", 2)]
    assert len({ride["logger"] for ride in told["rides"]}) == 1  # of one bike, whose errors they share
    assert "on &lt;b&gt;" in page
    assert "<b>" not in page.replace("<b class", "")
    assert "day11.csv" in page
    assert "ridelog-page" not in page


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({}, "fewer than two groups"),
        ({"ride-campaign.weak.1": "A"}, "fewer than two groups"),
        ({**ASKED, "name-A": "strong"}, "Two groups are called strong."),
        ({**ASKED, "name-A": "a=b"}, "Group 1 has no name"),
        ({"ride-../../etc": "A", "ride-campaign.weak.99": "B"}, "fewer than two groups"),
    ],
)
def test_what_cannot_be_compared_is_said_above_the_form_which_keeps_what_was_chosen(guest, fields, said):
    reply = guest.send(guest.form("/compare"), fields)
    assert reply.status_code == 200
    assert said in reply.text
    kept = {key: value for key, value in fields.items() if key.startswith("ride-campaign") and not key.endswith("99")}
    assert dict(re.findall(r'name="(ride-[^"]+)" value="([A-D])" checked', reply.text)) == kept
