"""The pages on a store in a real browser: rides, a hill, the fleet, and a kept ride at its address."""

import re
import sys
from dataclasses import replace

import pytest
from playwright.sync_api import expect

from ridelog.fleet.store.store import open_store
from tests.browser.acts import chart_stands, choose
from tests.browser.looks import assert_accessible, assert_good_in, assert_no_sideways_scroll, seen_as
from tests.browser.visits import HEIGHT, NARROW, WIDE, started, watched
from tests.fleet.store.kept import key_of
from tests.web.pages.conftest import ride_with_heights

pytestmark = pytest.mark.browser

PROGRAM = """
import sys
from ridelog.web.kept.sources import store_rides
from ridelog.web.serve import serve
serve(port=0, kept=store_rides(sys.argv[1]))
"""
LONG = "Bundesstraßenbrückenbaustellenumleitungsstreckenabschnitt, over the canal"  # the first, so it names the route
MOST_WORDS = 600  # of a page as it opens


@pytest.fixture
def served(tmp_path):
    """The address of the program on a store of eight rides of two bikes."""
    store = open_store(tmp_path / "store", create=True)
    for number in range(8):
        bike = "Avocet" if number < 4 else "Ruff"
        name = f"Ride {number}" if number else LONG
        store.write(replace(ride_with_heights(number, bike), group="weak" if number % 2 else "strong", name=name))
    with started([sys.executable, "-c", PROGRAM, store.address]) as address:
        yield address.rstrip("/")


@pytest.fixture
def page(context):
    """A visitor at no address yet."""
    context.clear_cookies()
    with watched(context) as visit:
        yield visit.page


def test_every_view_of_a_store_is_accessible_narrow_and_wide_by_day_and_by_night(served, page):
    """From the list by its filter, to the fleet, to a hill that gets a name, and to a ride; each in both looks."""
    page.goto(f"{served}/rides?route={key_of(0)}")
    page.wait_for_selector(".rides li:nth-child(8) .spark")
    assert LONG in page.get_by_label("Route").inner_text()
    looked_at(page)
    page.locator(".rides li", has_text="Ride 7").get_by_text("Remove", exact=True).click()
    page.get_by_role("button", name="Remove it: Ride 7").click()
    page.wait_for_selector("[role=status]:has-text('“Ride 7” was removed')")
    assert_accessible(page)
    page.get_by_role("status").get_by_role("button", name="Put it back").click()
    page.wait_for_selector(".rides li:has-text('Ride 7')")
    page.get_by_label("Bike").select_option("Ruff")
    page.get_by_role("button", name="Show").click()
    expect(page.locator(".rides li")).to_have_count(4)
    page.get_by_role("link", name="Fleet").click()
    page.wait_for_selector(".history svg")
    looked_at(page)
    page.locator("summary", has_text="Hills").click()
    page.locator('tbody a[href^="/hill/"]').first.click()
    page.get_by_label("What do you call this hill?").fill("Mill Lane")
    page.get_by_role("button", name="Save").click()
    page.wait_for_selector("h1:has-text('Mill Lane, down')")
    looked_at(page)
    page.locator("main summary").click()
    page.locator(f'tbody a[href="/ride/{key_of(0)}"]').click()
    page.wait_for_selector(".headline")
    address = page.url
    assert address == f"{served}/ride/{key_of(0)}"
    page.set_viewport_size({"width": 360, "height": HEIGHT})
    page.reload()
    chart_stands(page, "profile-chart")
    assert page.url == address
    assert_no_sideways_scroll(page)
    page.wait_for_function("title => document.title.startsWith(title)", arg=f"Avocet, {LONG}")
    seen_as(page, WIDE, "light")
    choose(page, "1,5", "UTC")
    page.wait_for_selector("#headline:has-text(',')")
    page.locator("#each-hill summary").click()
    page.locator("#each-hill a", has_text="over time").click()
    page.wait_for_selector("h1:has-text('Mill Lane, down')")
    assert_no_sideways_scroll(page)
    assert page.title() == "Mill Lane, down · ridelog"
    follows_the_choice(page, served)


def follows_the_choice(page, served):
    """What was chosen on a ride holds here; what is chosen here holds on a ride, and in an address that is shared."""
    assert re.search(r"\d,\d", page.locator("main").inner_text())
    assert not re.search(r"\d\.\d", page.locator("main").inner_text())
    page.locator("#choices summary").click()
    expect(page.get_by_label("Numbers")).to_have_value("comma")
    page.get_by_label("Units").select_option("imperial")
    page.get_by_role("button", name="Show it so").click()
    page.wait_for_selector("main:has-text('ft high')")
    shared = page.url
    page.goto(f"{served}/rides")
    assert re.search(r"\d,\d+\smi\b", page.locator(".rides").inner_text())
    page.locator(".rides a").first.click()
    expect(page.locator(".figures")).to_contain_text(re.compile(r"\d\smi(?!n)"))
    assert re.search(r"\d,\d", page.locator("#headline").inner_text())
    page.context.clear_cookies()
    page.goto(f"{served}/rides")
    assert re.search(r"\d\.\d+\skm\b", page.locator(".rides").inner_text())
    page.goto(shared)  # as somebody else sees it, who has chosen nothing
    page.wait_for_selector("main:has-text('ft high')")
    page.goto(f"{served}/ride/{key_of(0)}?units=imperial&numbers=comma")
    expect(page.locator(".figures")).to_contain_text(re.compile(r"\d\smi(?!n)"))
    assert page.context.cookies() == [] or "ridelog-written" not in {each["name"] for each in page.context.cookies()}


def looked_at(page):
    """Both looks, at both widths, with all that is folded open once."""
    assert len(page.locator("body").inner_text().split()) <= MOST_WORDS
    assert_good_in(page, ((WIDE, "light"), (NARROW, "dark")))
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert_good_in(page, ((NARROW, "dark"),))
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = false)")
    seen_as(page, WIDE, "light")
