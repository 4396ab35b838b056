"""A stranger's files on the page: columns are shown, mended by choosing and remembered; choices say what they did."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.acts import give, headline
from tests.browser.looks import BY_DAY, assert_accessible, assert_good_in, assert_no_sideways_scroll
from tests.browser.strangers import TRACK, strangers_log
from tests.browser.visits import NARROW, WIDE

pytestmark = pytest.mark.browser

REFUSED = "is not a recording that ridelog can read"


def choose(page, place, which, label):
    """Choose from a list of a log by its words."""
    page.locator(f"input[id*='{place}:{which}']").click()
    page.get_by_role("option", name=label, exact=True).click()


def share(page):
    return float(re.search(r"came back: ([\d.]+)", headline(page)).group(1))


def test_a_log_without_a_time_is_mended_by_choosing_and_remembered(visit):
    """No time, odd words, mA, the sign turned, no bike file: said how far rows are apart, and what holds the voltage.

    The commute gives back 8.08 % as `ridelog measure` has it from its own log (README).
    """
    page = visit.page
    log = strangers_log(timed=False)
    give(page, ("fahrt.csv", log), TRACK)
    page.wait_for_selector(".refusal .editor")
    refusal = page.locator(".refusal")
    expect(refusal).to_contain_text("no column tells the time")
    expect(refusal).to_contain_text("“Lfd” rises from row to row")
    expect(refusal.locator("img.spark").first).to_be_visible()
    expect(refusal).to_contain_text("missing: charge is known in Ah")
    page.locator("input[id*='asked-0:step']").fill("0,2")
    assert_good_in(page, ((NARROW, "dark"), (WIDE, "light")))
    expect(page.locator("input[id*='asked-0:step']")).to_have_value("0,2")
    refusal.get_by_role("button", name="Read it so").first.click()
    page.wait_for_selector(".changes:has-text('“Spg Batt” read as battery voltage in V; rows taken to be 0,2 s apart')")
    expect(page.locator(".changes")).to_contain_text("the files could not be measured before; now came back")
    page.locator("#sources > summary").click()
    choose(page, "read-0", "column", "Spg Batt")
    choose(page, "read-0", "quantity", "battery voltage")
    choose(page, "read-0", "unit", "V")
    page.locator("#sources").get_by_role("button", name="Read it so").first.click()
    page.wait_for_selector(".changes:has-text('“Spg Batt” read as battery voltage in V')")
    expect(page.locator(".changes")).to_contain_text("it changed nothing in the answer")  # as proposed
    assert share(page) == pytest.approx(8.08, abs=0.02)
    assert_good_in(page, BY_DAY)
    give(page, ("naechste.csv", log[: len(log) // 3].rpartition(b"\n")[0] + b"\n"))
    page.wait_for_selector(".dateline:has-text('naechste')")  # the same header: nothing is asked again
    assert "came back" in headline(page)


def test_files_given_at_once_have_a_result_each_and_an_hour_between_clocks_does_no_harm(visit):
    """A log an hour ahead of its track, a broken file, a bike file that is none: two rides, and a word on the third.

    Then the ride is taken out as a whole and comes back at its address; then the program is gone, and says so whatever
    is pressed.
    """
    page = visit.page
    give(
        page, ("fahrt.csv", strangers_log(timed=True)), TRACK, ("urlaub.csv", b"\0\1\2\3" * 99), ("rad.toml", b"[bike")
    )
    own, broken = (page.locator(".own-ride", has_text=name) for name in ("fahrt", "urlaub"))
    expect(own).to_contain_text("came back")
    expect(page.locator(".complaint")).to_contain_text("Not used: rad.toml")
    expect(broken).to_contain_text(REFUSED)
    expect(page.locator(".own-ride")).to_have_count(2)
    own.locator(".sample-card").click()
    page.wait_for_selector(".dateline:has-text('fahrt')")
    address = page.url
    own.locator("summary").click()
    own.get_by_role("button", name="Take fahrt + spur out").click()
    page.wait_for_selector(".undo:has-text('were taken out')")
    page.get_by_role("button", name="Put it back").click()
    expect(own).to_contain_text("came back")
    page.goto(address)
    page.wait_for_selector(".dateline:has-text('fahrt')")
    page.locator("#bike > summary").click()
    page.get_by_role("button", name="Look for coasting").click()
    page.wait_for_selector(".offer .lead:has-text('CdA'), .offer .lead:has-text('Nothing could be fitted')")
    assert page.locator(".offer [id*='stretch']").count() >= 2
    assert_accessible(page)
    assert_no_sideways_scroll(page)
    visit.expected = "net::ERR_CONNECTION_REFUSED|Failed to fetch|the server did not respond"
    page.route("**/*", lambda route: route.abort("connectionrefused"))
    page.get_by_role("button", name="Look for coasting").click()
    page.wait_for_selector(".gone:has-text('does not answer')")
    assert_accessible(page)
    page.unroute("**/*")
    page.wait_for_selector(".gone", state="detached")  # it asks again by itself
