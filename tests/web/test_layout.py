"""The skeleton that every visitor gets: no ride in it, and nothing from elsewhere."""

import re


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
