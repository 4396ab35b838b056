"""The braking events in the order that is asked for."""

from dataclasses import replace

import pytest

from ridelog.tell.numbers import PAGE
from ridelog.uncertain.quantity import Quantity
from ridelog.web import ids
from ridelog.web.parts.braking import MOST_EVENTS, ORDERS, braking_section, event_rows, ordered
from tests.tell.ledgers import ENTRY, LEDGER
from tests.web.parts.test_table import said


@pytest.fixture
def answer(make_answer):
    """Eight events, of which the ledger knows what was missed but for the fourth: 1.9, 1.7, 1.5 Wh … (by hand)."""
    answer = make_answer()
    entries = tuple(
        replace(ENTRY, kind="event", start_s=event.start_s, missed_wh=Quantity(1.9 - 0.2 * k) if k != 3 else None)
        for k, event in enumerate(answer.braking.events)
    )
    return replace(answer, ledger=replace(LEDGER, events=entries))


def test_events_are_ordered_with_the_unknown_last(answer):
    missed = ordered(answer, "missed")
    assert [event.start_s for event in missed[:2]] == [310.0, 365.0]
    assert missed[-1].available_wh is None
    assert ordered(answer, "captured")[-1].captured_pct is None
    assert ordered(answer, "returned")[0].returned_wh.value == pytest.approx(1.2)
    for value, _ in ORDERS:
        assert len(ordered(answer, value)) == len(answer.braking.events)


def test_what_is_ordered_by_is_shown(answer):
    told = said(braking_section(answer, PAGE))
    for words in ("Missed, Wh", "1.90", "Returned, Wh", "Captured, %"):
        assert words in told


def test_more_events_than_a_page_bears_are_counted(answer):
    many = answer.braking.events * 40
    rows = event_rows(replace(answer, braking=replace(answer.braking, events=many)), "time", PAGE)
    assert len(rows) == MOST_EVENTS + 1
    assert said(rows[-1]).startswith("20 more: ")


def test_a_ride_without_braking_says_so(answer):
    told = said(braking_section(replace(answer, braking=replace(answer.braking, events=())), PAGE))
    assert told.endswith("No braking was found on this ride.")


def test_what_no_event_knows_has_no_column_and_no_order(make_answer):
    """A log that cannot show a return: neither columns of dashes nor buttons that change nothing."""
    answer = make_answer()
    unknown = {"returned_wh": None, "returned_ah": None, "captured_pct": None}
    events = tuple(replace(event, **unknown) for event in answer.braking.events)
    kinds = tuple(replace(kind, returned_wh=None, captured_pct=None, missed_wh=None) for kind in answer.braking.kinds)
    section = braking_section(replace(answer, braking=replace(answer.braking, events=events, kinds=kinds)), PAGE)
    told = said(section)
    for words in ("Returned", "Missed", "Captured"):
        assert words not in told
    (control,) = [each for each in section.children if getattr(each, "id", None) == ids.EVENT_ORDER]
    assert [each["value"] for each in control.data] == ["time"]
    assert control.display == "none"
