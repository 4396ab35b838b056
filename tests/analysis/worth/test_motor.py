"""Whether a bike can regenerate at all, what contradicts that, and what was available to it."""

import numpy as np
import pytest

from ridelog.analysis.road.drag import TURNS_WITH_THE_WHEEL, can_regenerate
from ridelog.analysis.worth.motor import (
    CAPTURED_SHARES,
    available_by_kind,
    captured_overall,
    contradiction,
    plausibility,
    would_return,
)
from ridelog.answer.worth import BrakingToCapture
from ridelog.findings import doubts_share
from ridelog.settings.bike import MotorSection
from ridelog.tell.findings import sentence
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import UNKNOWN, evenly_between, exact

BACK = Quantity(5.9, 5.8, 6.0)


@pytest.mark.parametrize(
    ("kind", "can"),
    [("direct-drive", True), ("geared-locked", True), ("geared-freewheel", False), ("mid-drive", False), (None, None)],
)
def test_only_a_motor_that_turns_with_the_wheel_can_regenerate(kind, can):
    assert can_regenerate(kind) is can


def test_every_kind_of_the_bike_file_is_known():
    """A kind that the bike file takes and this table lacks would end in a fault."""
    for kind in TURNS_WITH_THE_WHEEL:
        assert MotorSection(kind=kind).kind == kind
    schema = MotorSection.model_json_schema()["properties"]["kind"]["anyOf"][0]["enum"]
    assert set(schema) == set(TURNS_WITH_THE_WHEEL)


@pytest.mark.parametrize("kind", ["geared-freewheel", "mid-drive"])
def test_a_return_through_a_freewheel_is_a_contradiction_with_what_may_explain_it(kind):
    (found,) = contradiction(kind, BACK, "Wh", regen_seen=True)
    assert (found.code, found.severity) == ("return-without-regen", "warning")
    assert found.facts == {"returned_wh": BACK.value, "motor_kind": kind}
    for word in (kind, "sign", "charger", "battery's current", "motor.kind"):
        assert word in sentence(found)


@pytest.mark.parametrize(
    ("kind", "returned", "regen_seen"),
    [
        ("direct-drive", BACK, True),
        ("geared-locked", BACK, True),
        (None, BACK, True),
        ("mid-drive", None, False),
        ("mid-drive", Quantity(0.0, 0.0, 0.0), False),
        ("mid-drive", Quantity(0.02, 0.0, 0.05), True),  # no more than the sensor's own error
        ("mid-drive", Quantity(0.02, 0.01, 0.03), False),  # no stretch beyond zero error and noise
    ],
)
def test_nothing_contradicts_itself_without_a_sure_return_of_a_motor_that_cannot(kind, returned, regen_seen):
    assert contradiction(kind, returned, "Wh", regen_seen=regen_seen) == []


@pytest.mark.parametrize("share", [None, Quantity(8.0, 7.9, 8.1), Quantity(21.0, 19.0, 23.0), Quantity(30.0)])
def test_a_usual_or_an_unsure_share_needs_no_note(share):
    assert plausibility(share, 0.0) == []


def test_a_share_far_above_the_usual_is_noted_with_what_may_be_wrong():
    (found,) = plausibility(Quantity(35.0, 33.0, 37.0), 2.0)
    assert (found.code, found.severity) == ("recovered-unusually-high", "note")
    assert found.facts == {
        "recovered_pct": 35.0,
        "usual_pct": 5.0,
        "lower_m": None,
        "beyond_drawn": False,
        "sign_by_map": False,
    }
    for word in ("5 %", "common practice", "sign", "charger"):
        assert word in sentence(found)


def test_a_ride_that_ends_lower_explains_its_share_itself():
    (found,) = plausibility(Quantity(35.0, 33.0, 37.0), 83.2)
    assert found.facts["lower_m"] == 83.2
    assert "charger" not in sentence(found)


def test_what_braking_offered_is_summed_by_its_kind():
    """Two stops of 1 and 2 Wh, one descent of 4 Wh; an event of unknown energy or kind is left out (by hand)."""
    events = [
        ("stop", exact(1.0)),
        ("holding", exact(4.0)),
        ("stop", exact(2.0)),
        ("slowing", UNKNOWN),
        (None, exact(9.0)),
    ]
    captured = {"stop": (0.2, 0.3), "slowing": (0.1, 0.2), "holding": (0.4, 0.6)}
    kinds = available_by_kind(events, captured)
    assert [(o.kind, o.n_events, o.available_wh) for o in kinds] == [("stop", 2, 3.0), ("holding", 1, 4.0)]
    # (3 * 0.2 + 4 * 0.4) / 7 and (3 * 0.3 + 4 * 0.6) / 7
    assert captured_overall(kinds) == pytest.approx((2.2 / 7, 3.3 / 7))


def test_of_nothing_offered_there_is_no_share():
    assert captured_overall(()) is None
    assert captured_overall((BrakingToCapture("stop", 1, 0.0, 20, 30),)) is None


def test_what_would_return_is_the_offer_times_the_share():
    """10 Wh exactly, shares from 0.2 to 0.4: 3 Wh, the bounds 2.5 % of 2 Wh inside; 0.25 % of it is chance, times 3."""
    found = would_return(exact(10.0), (0.2, 0.4)).quantity()
    assert found.value == pytest.approx(3.0)
    assert (found.low95, found.high95) == pytest.approx((2.05, 3.95), abs=0.015)


def test_an_unsure_offer_widens_what_would_return():
    """A rectangle of 8 to 12 Wh between its 95 % bounds, at a share of exactly one half: 4 to 6 Wh."""
    available = evenly_between(10 - 2 / 0.95, 10 + 2 / 0.95, np.random.default_rng(1))
    found = would_return(available, (0.5, 0.5)).quantity()
    assert (found.low95, found.high95) == pytest.approx((4.0, 6.0), abs=0.02)


def test_never_less_than_nothing_would_return():
    """What was available may be nothing at all."""
    available = evenly_between(-2.0, 3.0, np.random.default_rng(1))
    assert would_return(available, (0.2, 0.4)).quantity().low95 == 0.0


@pytest.mark.parametrize("shares", [(0.4, 0.2), (-0.1, 0.2), (0.5, 1.2)])
def test_a_captured_share_that_is_none_is_refused(shares):
    with pytest.raises(ValueError, match="captured share lies between 0 and 1"):
        would_return(exact(10.0), shares)


def test_the_default_shares_hold_what_the_sample_rides_captured():
    """Stops 21.8, 23.5, 26.3 %, slowing 29.4, 30.2 %, holding 61.0, 25.5 %, as `ridelog measure` tells them."""
    measured = {"stop": (21.8, 26.3), "slowing": (29.4, 30.2), "holding": (25.5, 61.0)}
    for kind, (low, high) in measured.items():
        assert 100 * CAPTURED_SHARES[kind][0] <= low <= high <= 100 * CAPTURED_SHARES[kind][1]
    assert np.isfinite(list(CAPTURED_SHARES.values())).all()


@pytest.mark.parametrize("share", [Quantity(1190.0, 1150.0, 1230.0), Quantity(101.0), Quantity(140.0, 3.0, 400.0)])
@pytest.mark.parametrize("drop_m", [None, 0.0, 312.0])
def test_more_than_was_drawn_is_always_a_warning(share, drop_m):
    """However sure the share, and even where a long descent explains it."""
    (found,) = plausibility(share, drop_m)
    assert (found.code, found.severity) == ("recovered-unusually-high", "warning")
    assert doubts_share(found)
    assert "more than was drawn" in sentence(found)


def test_where_the_column_map_states_the_sign_it_is_named_first():
    (found,) = plausibility(Quantity(1190.0, 1150.0, 1230.0), 0.0, sign_by_map=True)
    assert "the sign in the column map is the first thing to check" in sentence(found)
