"""The skeleton that every visitor gets: no ride in it, and nothing from elsewhere."""


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
