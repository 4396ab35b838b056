"""The ledger's record."""

from dataclasses import replace

from tests.tell.ledgers import ENTRY, LEDGER


def test_the_entries_are_those_of_the_ride_its_hills_and_its_events_in_this_order():
    hill, event = replace(ENTRY, kind="hill", name="Hill 1, up"), replace(ENTRY, kind="event", name="4")
    ledger = replace(LEDGER, hills=(hill,), events=(event,))
    assert ledger.entries == (ENTRY, hill, event)
