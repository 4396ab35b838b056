"""What rides had, gave and took by group: means over the answers' own numbers, worked by hand."""

from dataclasses import replace
from types import SimpleNamespace

import pandas as pd
import pytest

from ridelog.answer.braking import BrakingKind
from ridelog.compare.flows import OF_LEDGER, flows_of
from ridelog.compare.record import Over
from ridelog.uncertain.quantity import Quantity
from tests.scenarios import sample_answer


def ride(group, *, stops, available_wh, returned_wh, drawn_wh, charge_a):
    answer = sample_answer("commute")
    share = Quantity(100 * returned_wh / available_wh) if stops else None
    kinds = (BrakingKind("stop", stops, Quantity(available_wh), Quantity(returned_wh), share),) if stops else ()
    return SimpleNamespace(
        group=group,
        answer=replace(
            answer,
            braking=replace(answer.braking, kinds=kinds),
            ledger=replace(answer.ledger, ride=replace(answer.ledger.ride, drawn_wh=Quantity(drawn_wh), rider_wh=None)),
            pack=replace(answer.pack, highest_charge_a=charge_a and Quantity(charge_a)),
        ),
    )  # fmt: skip


RIDES = (
    ride("weak", stops=4, available_wh=8.0, returned_wh=2.0, drawn_wh=60.0, charge_a=3.0),
    ride("weak", stops=6, available_wh=12.0, returned_wh=3.0, drawn_wh=64.0, charge_a=5.0),
    ride("strong", stops=0, available_wh=0.0, returned_wh=0.0, drawn_wh=58.0, charge_a=None),
)


def flows():
    compared = SimpleNamespace(groups=("weak", "strong"), rides=RIDES, table=pd.DataFrame())
    return {(flow.about, flow.quantity): flow.groups for flow in flows_of(compared)}


def test_they_are_means_over_the_rides_of_a_group_with_what_lies_around_them():
    told = flows()
    assert told["ledger", "drawn_wh"] == {
        "weak": Over(2, 62.0, pytest.approx(8**0.5), 60.0, 64.0), "strong": Over(1, 58.0, None, 58.0, 58.0),
    }  # fmt: skip
    assert told["braking", "stop_returned_wh"]["weak"] == Over(2, 2.5, pytest.approx(0.5**0.5), 2.0, 3.0)
    assert told["braking", "stop_captured_pct"]["weak"] == Over(2, 25.0, 0.0, 25.0, 25.0)


def test_a_ride_without_a_kind_of_braking_had_none_of_it_and_captured_no_share():
    told = flows()
    assert told["braking", "stop_events"]["strong"] == Over(1, 0.0, None, 0.0, 0.0)
    assert told["braking", "stop_available_wh"]["strong"].mean == 0.0
    assert set(told["braking", "stop_captured_pct"]) == {"weak"}


def test_what_no_ride_tells_is_left_out():
    told = flows()
    assert ("ledger", "rider_wh") not in told
    assert not [key for key in told if key[1].startswith(("slowing", "holding", "unknown"))]
    assert set(told["pack", "highest_charge_a"]) == {"weak"}
    assert {name for about, name in told if about == "ledger"} <= set(OF_LEDGER)
