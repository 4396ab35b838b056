"""Rides chosen, a plan made beside the page, and help, in Chromium: by the keyboard, reloaded, printed, read aloud."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.looks import assert_good_in
from tests.browser.visits import HEIGHT, NARROW, WIDE

pytestmark = pytest.mark.browser


def test_a_plan_is_made_by_the_keyboard_survives_a_reload_and_prints_alone(blank, address):
    page = blank.page
    page.goto(f"{address}plan")
    ride = page.get_by_role("radio", name=re.compile("weak, .*: A$")).first
    ride.focus()
    page.keyboard.press("Space")
    page.get_by_label("Smallest difference").fill("1,5")
    page.keyboard.press("Enter")
    page.wait_for_url("**/plan/*")
    made = page.url
    page.reload()  # while it is made, or after
    page.wait_for_selector(".plan")
    assert page.url == made
    assert_good_in(page, ((WIDE, "dark"), (NARROW, "light")))
    assert page.get_by_role("link", name=re.compile("^PDF")).get_attribute("href").startswith("/plan/")
    page.emulate_media(media="print")
    expect(page.locator(".plan")).to_be_visible()
    for hidden in (".navigation", ".takeaway", "footer"):
        expect(page.locator(hidden)).to_be_hidden()
    page.emulate_media(media="screen")
    page.get_by_role("link", name="Change what was chosen").click()
    expect(ride).to_be_checked()  # what was chosen is there again


@pytest.mark.parametrize("path", ["compare?sample", "help"])
def test_forms_and_help_are_accessible_by_day_and_by_night(blank, address, path):
    page = blank.page
    page.goto(f"{address}{path}")
    assert_good_in(page)
    assert page.get_by_role("navigation", name="Pages").get_by_role("link").count() == 6
    page.set_viewport_size({"width": 360, "height": HEIGHT})
    cut = "[...document.querySelectorAll('.scroll')].filter((each) => each.scrollWidth > each.clientWidth + 1)"
    assert page.evaluate(f"{cut}.length") == 0  # each field of a form is in view on a small phone
