"""What may be chosen about units, numbers and times, and that each side of the page knows each choice."""

import re
from pathlib import Path

import pytest

import ridelog.web
from ridelog.tell.numbers import PAGE, POINTS, STYLES
from ridelog.tell.pages.clocks import CLOCK_NAMES
from ridelog.web import ids
from ridelog.web.parts.choices import CHOICES, COOKIE, Written, choices, choices_html
from tests.web.parts.charts.test_power import found

KNOWN = {ids.UNITS: set(STYLES), ids.NUMBERS: set(POINTS), ids.CLOCK: set(CLOCK_NAMES)}


def test_each_choice_is_one_that_the_page_knows_on_whichever_page():
    offered = {each.id: each for each in found(choices(), "data")}
    assert {name: {each["value"] for each in one.data} for name, one in offered.items()} == KNOWN
    lists = re.findall(r'<select name="(\w+)">(.*?)</select>', choices_html("/x", {}, Written()))
    assert {name: set(re.findall('value="([^"]+)"', options)) for name, options in lists} == KNOWN


def test_the_script_keeps_the_same_choices_in_the_same_order_under_the_same_name():
    script = (Path(ridelog.web.__file__).parent / "assets" / "view.js").read_text()
    said = re.search(r"CHOICES = \{(.*?)\}", script, re.DOTALL)[1]
    told = {name: re.findall(r'"(\w+)"', values) for name, values in re.findall(r"(\w+): \[(.*?)\]", said)}
    assert told == {name: [value for value, _ in options] for name, (_, options) in CHOICES.items()}
    assert list(told) == list(vars(Written()))
    assert f'COOKIE = "{COOKIE}"' in script


@pytest.mark.parametrize(
    "kept", ["", "imperial", "x.y.z", "imperial.comma.utc.more", "<b>.comma", "imperial.comma.utc"]
)
def test_what_is_no_choice_is_the_first_of_them(kept):
    chosen = Written.of_cookie(kept)
    assert {name: value in KNOWN[name] for name, value in vars(chosen).items()} == dict.fromkeys(KNOWN, True)
    assert Written.of_cookie(chosen.cookie()) == chosen
    assert Written.of({"units": ["imperial"], "numbers": 3}) == Written()
    assert Written().style == PAGE


def test_the_form_keeps_what_else_the_address_says_as_text():
    html = choices_html("/rides", {"bike": '"><b>', "units": "imperial"}, Written(units="imperial"))
    assert 'name="bike" value="&quot;&gt;&lt;b&gt;"' in html
    assert html.count('name="units"') == 1
    assert '<option value="imperial" selected>' in html
