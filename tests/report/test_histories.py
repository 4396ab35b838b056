"""A bike's rides over time as a drawing: every ride is there, at its place, and says what it is."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from ridelog.fleet.record import RidePoint
from ridelog.report.histories import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WITHIN, history
from ridelog.tell.numbers import METRIC
from ridelog.uncertain.quantity import Quantity
from tests.fleet.audits import made_up

FIRST = datetime(2026, 1, 1, 8, tzinfo=UTC)


def bike(shares, which=0):
    known = [None if share is None else Quantity(share, max(share - 1, 0), share + 1) for share in shares]
    rides = (
        RidePoint(f"{k}", f"ride <{k}>", FIRST + timedelta(days=10 * k), share, None) for k, share in enumerate(known)
    )
    return replace(made_up().bikes[which], history=tuple(rides))


def dots(drawn):
    """Places from left to right [%] and from the top down."""
    return [(float(x), float(y)) for x, y in re.findall(r'<circle class="dot" cx="([\d.]+)%" cy="([\d.]+)"', drawn)]


def test_every_ride_that_is_known_has_its_dot_higher_for_more_and_later_to_the_right():
    places = dots(history(bike([4.0, 8.0, None, 12.0]), METRIC))
    assert len(places) == 3
    assert [x for x, _ in places] == sorted(x for x, _ in places)
    assert [y for _, y in places] == sorted((y for _, y in places), reverse=True)
    assert [x for x, _ in places] == pytest.approx([0, 100 / 3, 100], abs=0.01)  # of 30 days
    assert all(TOP <= y <= HEIGHT - BOTTOM for _, y in places)
    (_, four), (_, eight), (_, twelve) = places
    assert four - eight == pytest.approx(eight - twelve, abs=0.2)  # evenly apart, as the shares are


def test_a_ride_says_what_it_is_and_no_name_is_markup():
    drawn = history(bike([4.0, 8.0, 12.0]), METRIC)
    assert "<title>ride &lt;1&gt;, 11 January 2026: 8.0 % (7.0 to 9.0)</title>" in drawn
    assert "ride <1>" not in drawn


def test_what_stands_out_has_its_line_at_its_ride():
    drawn = history(bike([30.0] * 7 + [0.5] * 4, which=1), METRIC)  # since 14 March
    (x,) = (float(x) for x in re.findall(r'class="since" x1="([\d.]+)%"', drawn))
    xs = [x for x, _ in dots(drawn)]
    assert xs[7] <= x < xs[8]
    assert "since" not in history(bike([4.0, 8.0, 12.0]), METRIC)


def test_rides_after_the_regen_died_are_drawn_though_nothing_is_known_of_them():
    drawn = history(bike([4.0, 8.0, 12.0, None, None]), METRIC)
    xs = [
        float(x) for x in re.findall(r'<svg x="([\d.]+)%" y="[\d.]+" width="1" height="1"><path class="unknown"', drawn)
    ]
    assert xs == [75, 100]
    assert dots(drawn)[-1][0] == 50
    assert "<title>ride &lt;4&gt;, 10 February 2026: not known</title>" in drawn
    assert "of 5 rides, not known of 2 of them, 1 January 2026 to 10 February 2026" in drawn
    assert "10 February 2026</text>" in drawn


def test_the_first_and_the_last_ride_stand_within_the_scale_however_wide_the_drawing_is():
    drawn = history(bike([4.0, 8.0, 12.0]), METRIC)
    moved = [float(each) for each in re.findall(r"<g transform=.translate\((-?[\d.]+)\)", drawn)]
    for width in (280, 736):
        first, middle, last = (x / 100 * width + by for (x, _), by in zip(dots(drawn), moved, strict=True))
        assert (first, last) == (LEFT + WITHIN, width - RIGHT - WITHIN)
        assert middle == pytest.approx((first + last) / 2)


def test_two_rides_are_no_history():
    assert history(bike([4.0, 8.0]), METRIC) == ""
    assert history(bike([None, None, None, 4.0]), METRIC) == ""


def test_rides_of_nothing_are_drawn_at_the_bottom():
    assert {y for _, y in dots(history(bike([0.0, 0.0, 0.0, 0.0]), METRIC))} <= {float(HEIGHT - BOTTOM)}
