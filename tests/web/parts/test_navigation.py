"""The way between pages: the same links on all of them, and none that leads nowhere."""

import json
import re

from flask import Flask

from ridelog.web import create_app, ids
from ridelog.web.parts.navigation import LINKS, links_of, navigation, navigation_html


def test_only_pages_that_there_are_are_led_to():
    server = Flask("t")
    server.add_url_rule("/help", "help", lambda: "")
    assert links_of(server) == (("/", "Measure"), ("/help", "Help"))


def test_both_forms_say_the_same_and_which_page_is_here():
    part = navigation(LINKS, ids.PLAN_PATH).to_plotly_json()["props"]
    html = navigation_html(LINKS, ids.PLAN_PATH)
    assert [(each.href, each.children) for each in part["children"]] == re.findall(
        r'href="([^"]*)"[^>]*>([^<]*)<', html
    )
    assert [each.href for each in part["children"] if hasattr(each, "aria-current")] == [ids.PLAN_PATH]
    assert re.findall(r'href="([^"]*)" aria-current="page"', html) == [ids.PLAN_PATH]


def test_the_page_of_a_ride_leads_to_the_others():
    app = create_app()
    with app.server.test_client() as client:
        layout = json.loads(client.get("/_dash-layout").data)
    (nav,) = [each for each in parts_of(layout) if each["type"] == "Nav"]
    assert [(each["props"]["href"], each["props"]["children"]) for each in nav["props"]["children"]] == list(
        links_of(app.server)
    )


def parts_of(part):
    """A component as data, and all within it."""
    if isinstance(part, list):
        for each in part:
            yield from parts_of(each)
    elif isinstance(part, dict):
        yield part
        yield from parts_of(part["props"].get("children"))
