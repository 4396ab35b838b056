"""Three people with a whole job each, from their files to what they came for; a reload at each step loses nothing."""

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from playwright.sync_api import expect

from sample_rides.fleet import truth_frame, write_fleet
from sample_rides.fleet.faults import FaultPlan
from tests.browser import later
from tests.browser.acts import another_stretch, chart_stands, give
from tests.browser.looks import assert_accessible, assert_no_sideways_scroll
from tests.browser.strangers import strangers_log
from tests.browser.visits import held_port, started
from tests.places import ROOT, SAMPLES

pytestmark = pytest.mark.browser

MASS_KG = "108,0"  # of the rider with the bike, as the sample's own bike file has it
TRUTH = json.loads((SAMPLES / "commute" / "truth.json").read_text())


@pytest.fixture
def page(blank, address):
    """A visitor's page as it begins to load."""
    blank.page.goto(address)
    return blank.page


def said(page):
    """What stands above all else of a ride: sentence, figures, and how sure they are."""
    return page.locator(".verdict").inner_text()


def again(page, wanted):
    """Reload and wait for what was there before; the words of the answer are the same."""
    chart_stands(page)
    expect(page.locator(".sharpen:not(:has-text('±'))")).to_have_count(0)  # what a mass would sharpen comes last
    before = said(page)
    page.reload()
    page.wait_for_selector(wanted)
    chart_stands(page)
    expect(page.locator(".verdict")).to_have_text(before, use_inner_text=True)  # some of it comes after the rest


def captured(page):
    text = page.locator(".figures > div", has_text="Captured").inner_text()
    low, high = re.search(r"(\d+) to (\d+)", text).groups()
    return float(low), float(high)


def test_an_owner_gets_from_two_files_to_an_answer_with_their_mass_and_again_next_week(page):
    """Four actions for the first ride, and one for the next; the shares hold the truth of the simulation."""
    give(page, ("RIDE0007.TXT", later.log()), ("evening.gpx", later.track()))  # 1
    page.wait_for_selector(".sharpen:has-text('±')")
    low, high = captured(page)
    again(page, ".sharpen")
    page.locator(".sharpen a").click()  # 2
    expect(page.locator("#bike input").first).to_be_focused()
    page.keyboard.type(MASS_KG)  # 3
    page.locator("#bike-save").click()  # 4
    page.wait_for_selector(".sharpen", state="detached")
    page.wait_for_selector(".changes:has-text('Total mass')")
    sharper = captured(page)
    assert sharper[1] - sharper[0] < 0.8 * (high - low)
    again(page, ".dateline:has-text('RIDE0007')")
    within = re.search(r"\(([\d.]+) to ([\d.]+)\s%, 95\s% interval\)", said(page))
    assert float(within[1]) <= TRUTH["recovered_wh_pct"] <= float(within[2])
    assert captured(page) == sharper
    first = page.url

    give(page, ("RIDE0008.TXT", later.log(7)), ("next.gpx", later.track(7)))  # 1, a week later
    page.wait_for_selector(".dateline:has-text('RIDE0008')")
    again(page, ".dateline:has-text('11 May 2026')")
    assert page.url != first
    assert page.locator(".sharpen").count() == 0  # the mass is known already
    assert captured(page) == sharper  # the same ride on another day
    expect(page.locator(".own-ride")).to_have_count(2)
    page.locator(".own-ride .sample-card", has_text="RIDE0007").click()
    page.wait_for_url(first)
    page.wait_for_selector(".dateline:has-text('4 May 2026')")
    for link in page.locator(".takeaway a").evaluate_all("links => links.map((link) => link.href)"):
        assert page.context.request.get(link).ok, link


def test_a_reviewer_gets_from_twelve_rides_to_a_saved_pdf(page, tmp_path):
    """The sample campaign, whose truth is that strong regen brought back more: the document says so, and is a PDF."""
    page.get_by_role("link", name="Compare", exact=True).click()
    page.get_by_role("link", name="sample campaign").click()
    page.wait_for_url("**/compare?sample")
    page.reload()
    assert page.locator("table tbody tr").count() >= 12
    page.get_by_role("button", name="Compare", exact=True).click()
    page.wait_for_url(re.compile(r"/compare/"))
    made = page.url
    page.reload()  # the work goes on, whoever looks
    page.locator("a[href$='.pdf']").first.wait_for()
    assert page.url == made
    page.reload()
    with page.expect_download() as saving:
        page.locator("a[href$='.pdf']").first.click()
    saving.value.save_as(tmp_path / "comparison.pdf")
    content = (tmp_path / "comparison.pdf").read_bytes()
    assert content.startswith(b"%PDF-")
    assert len(content) > 20_000
    found = json.loads(
        page.context.request.get(page.locator("a[href$='.json']").first.evaluate("link => link.href")).text()
    )
    assert [group["rides"] for group in found["groups"]] == [6, 6]
    difference = next(each for each in found["differences"] if each["quantity"] == "recovered_pct")
    told = f"{difference['difference']['value']:.1f}".replace("-", "\N{MINUS SIGN}")
    expect(page.locator("main")).to_contain_text(told.lstrip("\N{MINUS SIGN}"))
    assert_no_sideways_scroll(page)


def tab_to(page, wanted, *, most=150):
    """Press Tab until what is wanted has the focus, as somebody does who has no mouse."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", wanted):
            return
    raise AssertionError(f"{wanted} is not reached by Tab")


def pick(page, which, label):
    """Choose from a list by arrow keys."""
    tab_to(page, f"input[id*='read-0:{which}']")
    chosen = "[role=option][data-combobox-selected]"
    page.keyboard.press("ArrowDown")
    page.get_by_role("option", name=label, exact=True).wait_for()
    for _ in range(60):
        if page.locator(chosen).all_inner_texts() == [label]:
            break
        page.keyboard.press("ArrowDown")
    assert page.locator(chosen).all_inner_texts() == [label]
    page.keyboard.press("Enter")
    page.locator("[role=option]:visible").first.wait_for(state="hidden")


def test_by_the_keyboard_alone_from_a_file_to_its_columns_the_bike_the_chart_and_a_download(page):
    """A stranger's log of which the voltage is named; what is saved holds the share that is shown, and the mass."""
    page.on("filechooser", lambda _: None)  # from now on: asked for with the key, it may come after the key
    chart_stands(page)
    tab_to(page, "#files")
    with page.expect_file_chooser() as choosing:
        page.keyboard.press("Enter")
    log = strangers_log(timed=True)
    log = log[: len(log) // 3].rpartition(b"\n")[0] + b"\n"
    choosing.value.set_files([{"name": "fahrt.csv", "mimeType": "text/csv", "buffer": log}])
    page.wait_for_selector(".dateline:has-text('fahrt')")

    tab_to(page, "#sources > summary")
    page.keyboard.press("Enter")
    pick(page, "column", "Spg Batt")
    pick(page, "quantity", "battery voltage")
    pick(page, "unit", "V")
    tab_to(page, "#sources button")
    page.keyboard.press("Enter")
    page.wait_for_selector(".changes:has-text('“Spg Batt” read as battery voltage in V')")

    tab_to(page, "#bike > summary")
    page.keyboard.press("Enter")
    tab_to(page, "#bike input")
    page.keyboard.type(MASS_KG)
    tab_to(page, "#bike-save")
    page.keyboard.press("Enter")
    page.wait_for_selector(".changes:has-text('Total mass')")
    chart_stands(page)

    with another_stretch(page):
        tab_to(page, ".power button")
        page.keyboard.press("Space")
    tab_to(page, "#point")
    page.keyboard.press("PageUp")
    page.wait_for_function("() => /[WA] (drawn|returned)/.test(document.querySelector('#point-words').textContent)")

    tab_to(page, "a[href$='/answer.json']")
    with page.expect_download() as saving:
        page.keyboard.press("Enter")
    taken = json.loads(Path(saving.value.path()).read_text(encoding="utf-8"))
    assert f"came back: {taken['energy']['recovered_pct']['value']:.3g}" in said(page)
    assert taken["bike"]["total_mass_kg"]["value"] == 108.0


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, dict]]:
    """The address of the page on two bikes of eighteen rides, one of which lost its regen; and the truth of them."""
    folder = tmp_path_factory.mktemp("fleet")
    truth = write_fleet(
        folder / "bikes", n_bikes=2, rides_per_bike=(10, 8), seed=7,
        faults=FaultPlan(dead_regen=1, earliest_ride=3, develops_over_rides=2),
    )  # fmt: skip
    ridelog = [sys.executable, "-m", "ridelog"]
    audit = [*ridelog, "audit", str(folder / "bikes"), "--store", str(folder / "store"), "--workers", "1"]
    subprocess.run(audit, check=False, cwd=ROOT, capture_output=True)
    with held_port() as port:
        serve = [*ridelog, "serve", "--port", str(port), "--store", folder / "store"]
        with started(serve, said_on="stderr") as address:
            yield address, truth


def test_a_fleet_operator_gets_from_a_folder_to_the_bike_whose_regen_died(blank, fleet):
    """The bike and the day that the simulation broke it; no other bike stands out."""
    page, (address, truth) = blank.page, fleet
    (fault,) = truth["faults"]
    page.goto(address)
    page.get_by_role("link", name="Fleet", exact=True).click()
    expect(page.locator("main")).to_contain_text("1 bike stands out")
    before = page.locator("main").inner_text()
    page.reload()
    expect(page.locator("main")).to_contain_text("1 bike stands out")
    assert page.locator("main").inner_text() == before
    began = datetime.fromisoformat(fault["since"])
    assert f"{fault['bike']}: regen lost since {began.day} {began:%B %Y}." in before.replace("\N{NO-BREAK SPACE}", " ")
    assert "Rely on both friction brakes" in before
    page.get_by_role("link", name="Rides", exact=True).click()
    page.wait_for_url("**/rides")
    page.reload()
    last = page.locator("main a[href*='/ride/']").first
    last.wait_for()
    last.click()
    again(page, "#headline")


def test_what_the_rides_of_a_bike_teach_is_taken_over_by_a_press_and_stays(blank, fleet):
    """The largest zero error that its rides leave possible, which holds the one that the simulation gave its sensor."""
    page, (address, truth) = blank.page, fleet
    page.goto(address)
    give(page, ("RIDE0007.TXT", later.log()), ("evening.gpx", later.track()))
    page.wait_for_selector(".dateline:has-text('RIDE0007')")
    page.locator("#bike > summary").click()
    page.get_by_role("button", name="See what they teach").click()
    page.wait_for_selector("#bike-said:has-text('Choose the bike')")
    page.locator("#bike input[id*='learn-from']").click()
    page.locator("[role=option]:visible").first.click()
    with page.expect_response(lambda reply: '"type":"learned"' in (reply.request.post_data or "").replace("\\", "")):
        page.evaluate(
            "window.dash_clientside.set_props('tray', { data: { revision: 'another' } })"
        )  # all is drawn anew
    page.get_by_role("button", name="See what they teach").click()
    told = re.search(r"What (\d+) rides of (\w+) teach", page.locator("#bike .lead[role=status]").inner_text())
    assert_accessible(page)
    page.get_by_role("button", name="Take over: ").click()
    note = f"learned from {told[1]} rides of {told[2]}"
    page.wait_for_selector(f".changes:has-text('{note}')")
    again(page, f".changes:has-text('{note}')")
    taken = page.context.request.get(f"{page.url}/bike.toml").text()
    limit_a = float(re.search(rf"current_zero_limit_a = (\S+) # ridelog: {note}", taken)[1])
    rides = truth_frame(truth)
    zeros_a = rides[rides["bike"] == told[2]]["current_zero_a"]
    assert len(zeros_a) == int(told[1])
    assert abs(zeros_a.mean()) < limit_a < 0.15  # which is assumed without
    page.locator("#bike summary", has_text="Current and voltage sensor").evaluate(
        "fold => { fold.parentNode.open = true; }"
    )
    shown = page.locator("#bike").get_by_label("Current zero surely within ±, A")
    assert float(shown.input_value()) == limit_a
