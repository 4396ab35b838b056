"""What tables show where the answer does not hold it: the answer's own numbers come first."""

from dataclasses import replace

import pytest

from ridelog.tell import derived
from ridelog.uncertain.quantity import Quantity


def test_shares_of_hills_are_worked_out_where_the_answer_does_not_hold_them(make_answer):
    """Hill 1 ridden down returned 4.6 of 14.1 Wh (32.6 %); all descents 4.1 + 2.9 + 4.6 (82.3 %), by hand."""
    shares = derived.hill_shares(make_answer())
    assert shares.best.id == "1-down"
    assert shares.best_pct.value == pytest.approx(32.62, abs=0.01)
    assert (shares.descents_pct.value, shares.n_descents) == (pytest.approx(82.27, abs=0.01), 3)


def test_the_answers_own_shares_come_first(make_answer):
    answer = make_answer()
    own = Quantity(33.0, 31.0, 35.0)
    hills = tuple(replace(hill, share_of_returned_pct=own) for hill in answer.hills)
    energy = replace(answer.energy, descents_share_of_returned_pct=Quantity(80.0))
    shares = derived.hill_shares(replace(answer, hills=hills, energy=energy))
    assert (shares.best_pct, shares.descents_pct.value) == (own, 80.0)


def test_without_a_return_there_is_no_best_hill(make_answer):
    answer = make_answer()
    dry = tuple(replace(hill, returned_wh=Quantity(0.0)) for hill in answer.hills)
    assert derived.hill_shares(replace(answer, hills=dry)) is None


def test_events_of_unknown_kind_are_in_a_row_of_their_own(make_answer):
    """The rows hold every event once."""
    braking = make_answer().braking
    some = tuple(replace(event, kind=None) if k < 2 else event for k, event in enumerate(braking.events))
    kinds = derived.braking_kinds(replace(braking, events=some))
    assert [kind.kind for kind in kinds] == ["stop", "holding", "unknown"]
    assert sum(kind.events for kind in kinds) == len(some)
    returned_wh = sum(kind.returned_wh.value for kind in kinds)
    assert returned_wh == pytest.approx(sum(event.returned_wh.value for event in some))


def test_missed_is_what_was_available_and_did_not_come_back(make_answer):
    """2.4 - 0.5 Wh, by hand; not known where nothing is known of what was available."""
    events = make_answer().braking.events
    assert derived.missed_wh(events[0]) == pytest.approx(1.9)
    assert derived.missed_wh(events[3]) is None
