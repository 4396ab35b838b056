"""A document opened from the disk in Chromium: nothing is asked for, nothing is said on the console, axe is content."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial

import numpy as np
import pytest

from ridelog.compare.groups import Way
from ridelog.compare.plan import SoFar, plan_of
from ridelog.fleet.record import RidePoint
from ridelog.report.audits import audit_page
from ridelog.report.comparison.page import comparison_page
from ridelog.report.making import GivenFile, Making
from ridelog.report.plans import plan_page
from ridelog.report.ride.page import ride_page
from ridelog.uncertain.quantity import Quantity
from tests.browser.looks import ALL_LOOKS, assert_accessible, assert_no_sideways_scroll, seen_as
from tests.browser.visits import NARROW, WIDE, watched
from tests.compare.campaigns import told_comparison
from tests.compare.made_up import rides_at_hand
from tests.fleet.audits import made_up
from tests.places import ROOT
from tests.scenarios import sample_answer

pytestmark = pytest.mark.browser

START, DAY = datetime(2026, 3, 1, 7, tzinfo=UTC), timedelta(days=1)
SHARE = Quantity(6.0, 5.0, 7.0)


def ride(slug, n_drawings=4):
    making = Making(command="ridelog report a.csv --output a.html", given=(GivenFile("b.toml", "bike file", "0" * 64),))
    html = ride_page(sample_answer(slug), making)
    assert str(ROOT) in html
    long = f"/{'a_folder_of_a_long_name' * 4}"  # wherever the tests are
    return html.replace(str(ROOT), long), n_drawings


def comparison():
    rides = rides_at_hand(commute=sample_answer("commute"), winter=sample_answer("winter"))
    rides = tuple(replace(ride, way=Way(np.array([45.0, 45.01]), np.array([7.0, 7.02]))) for ride in rides)
    return comparison_page(told_comparison(), rides=rides), 2


def plan():
    making = Making(command="ridelog plan a.csv --difference 1 --output a.html")
    return plan_page(plan_of(SoFar.of_ride(sample_answer("commute")), 1.0), making), 0


def audit():
    told = made_up()
    avocet, points = told.bikes[0], (RidePoint(str(at), "n", START + at * DAY, SHARE, None) for at in range(9))
    return audit_page(replace(told, bikes=(replace(avocet, history=tuple(points)), *told.bikes[1:]))), 1


@pytest.mark.parametrize(
    ("made", "looks"),
    [
        (partial(ride, "winter"), ALL_LOOKS),
        (partial(ride, "commute"), [(NARROW, "dark")]),
        (partial(ride, "errand"), [(NARROW, "light")]),
        (partial(ride, "no-return", 3), [(WIDE, "dark")]),
        (comparison, ALL_LOOKS),
        (plan, ALL_LOOKS),
        (audit, ALL_LOOKS),
    ],
)
def test_a_document_is_whole_by_itself_and_accessible(context, tmp_path, made, looks):
    """On wide and narrow screens, by day and by night."""
    html, n_drawings = made()
    (tmp_path / "report.html").write_text(html, encoding="utf-8")
    address, asked = (tmp_path / "report.html").as_uri(), []
    with watched(context) as visit:
        page = visit.page
        page.on("request", lambda request: asked.append(request.url))
        page.goto(address)
        assert page.evaluate("document.scripts.length") == 0
        for width, scheme in looks:
            seen_as(page, width, scheme)
            shown = page.locator("svg:visible")
            assert shown.count() == n_drawings
            if n_drawings:
                assert shown.first.bounding_box()["width"] > 0.4 * min(width, 800)
            assert_accessible(page)
            assert_no_sideways_scroll(page)
        assert asked == [address]


def test_on_a_phone_an_audits_bike_stays_in_sight_where_its_row_is_wider(context):
    """And the table of hills, which has fewer columns, is there as a whole."""
    with watched(context, NARROW) as visit:
        visit.page.set_content(audit()[0])
        bikes, hills = (visit.page.get_by_role("group", name=name) for name in ("Bikes", "Hills"))
        assert bikes.evaluate("each => each.scrollWidth > each.clientWidth")
        bikes.evaluate("each => { each.scrollLeft = each.scrollWidth; }")
        name, box = bikes.get_by_role("rowheader").first.bounding_box(), bikes.bounding_box()
        assert name["x"] == pytest.approx(box["x"], abs=1)
        assert hills.evaluate("each => each.scrollWidth <= each.clientWidth")
