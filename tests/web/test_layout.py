"""The skeleton that every visitor gets: no ride in it, and nothing from elsewhere."""

import re

import pytest

from ridelog.web import create_app
from ridelog.web.door.access import Access, Protection, access_to
from ridelog.web.door.login import Door
from ridelog.web.door.password import hashed
from ridelog.web.pages.frame import framed
from tests.web.program import SECRET


def test_the_layout_that_everyone_gets_holds_no_ride(client):
    """No title, number or file of any ride is in the page before a callback fills it."""
    layout = client.get("/_dash-layout").data.decode()
    index = client.get("/").data.decode()
    for text in (layout, index):
        assert "Ride beta" not in text
        assert "log.csv" not in text


def test_the_index_page_names_no_other_site(client):
    """Every script and style is served from here."""
    text = client.get("/").data.decode()
    assert "//cdn" not in text
    assert "https://" not in text


def test_the_page_has_a_place_that_says_aloud_that_it_is_working(client):
    """It is empty, and a status, so that screen readers speak what callbacks write there."""
    layout = str(client.get("/_dash-layout").get_json())
    (line,) = re.findall(r"\{[^{}]*'id': 'working'[^{}]*\}", layout)
    assert "'role': 'status'" in line
    assert "'children': None" in line or "'children'" not in line


@pytest.mark.parametrize(
    ("access", "here"),
    [
        (Access(), True),
        (access_to("0.0.0.0", Protection(unprotected=True)), False),
        (Access(door=Door(hashed(SECRET))), False),  # on this computer alone, behind a program that others reach
    ],
)
def test_who_may_sit_elsewhere_is_not_told_that_all_stays_on_this_computer(access, here):
    """A page that others reach names the computer that runs it, not the one that shows it."""
    app = create_app(None, access=access)
    with app.server.app_context():
        written = framed("x", [], "/help")
    for foot in (str(app.layout.to_plotly_json()), written):
        assert ("on this computer" in foot) is here
        assert ("on the computer that runs this page" in foot) is not here
