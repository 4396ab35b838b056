"""The table in which rides are put into groups: a button with a name for each ride and group."""

import re
from datetime import UTC, datetime

from ridelog.tell.pages.clocks import dials_by
from ridelog.uncertain.quantity import Quantity
from ridelog.web.orders.choosing import Chosen, Offer
from ridelog.web.parts.choices import Written
from ridelog.web.parts.chooser import names_of_groups, table_of_rides

START = datetime(2026, 5, 1, 16, 30, tzinfo=UTC)
OFFERED = [
    Offer("k1", "<b>Ride</b>", "yours", recovered_pct=Quantity(8.1, 7.9, 8.3), clocks=dials_by(START, "Asia/Tokyo")),
    Offer("k2", "Ride 2", "sample campaign", "Kittiwake"),
]


def test_each_ride_has_one_button_chosen_and_each_button_a_name():
    html = table_of_rides(OFFERED, Chosen({}, {"k2": "B"}), Written(clock="place"))
    assert re.findall(r'name="ride-(\w+)" value="([A-D]?)" checked', html) == [("k1", ""), ("k2", "B")]
    labels = re.findall(r'type="radio"[^>]*aria-label="([^"]*)"', html)
    assert len(set(labels)) == len(labels) == 10
    assert "&lt;b&gt;Ride&lt;/b&gt;: A" in labels
    assert "<b>" not in html
    assert "8.1" in html
    assert "2 May 2026, 01:30 (Asia/Tokyo)" in html  # nine hours ahead all year (IANA time zone database)
    assert '<span class="beside">Kittiwake · sample campaign</span>' in html  # on a narrow screen


def test_groups_keep_their_names():
    html = names_of_groups(Chosen({"A": 'we"ak'}, {}))
    assert 'name="name-A" value="we&quot;ak"' in html
    assert html.count("<input") == 4
    assert "choose its letter beside each of its rides" in html
