"""One quantity has one value and one interval wherever it stands in an answer."""

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

import pytest

from ridelog.answer.ride import Answer
from ridelog.uncertain.quantity import Quantity
from tests.scenarios import SLUGS, sample_answer, simulated_answer

SOME_SEEDS = range(7_300, 7_312)


def same_things(answer: Answer) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """Records that speak of one and the same thing: equal names in them are equal numbers."""
    ledger = answer.ledger
    if ledger is None:
        return
    yield "ride", (answer.energy, ledger.ride)
    assert len(ledger.hills) == len(answer.hills)
    assert len(ledger.events) == len(answer.braking.events)
    for hill, entry in zip(answer.hills, ledger.hills, strict=True):
        yield hill.name, (hill, entry)
    for event, entry in zip(answer.braking.events, ledger.events, strict=True):
        yield f"braking event at {event.start_s:.1f} s", (event, entry)


def equal_names(answer: Answer) -> Iterator[tuple[str, Quantity | None, Quantity | None]]:
    """Every pair of numbers of one answer that is one number: where, and what is said there and elsewhere."""
    for thing, records in same_things(answer):
        first, *others = records
        for other in others:
            for name in sorted({field.name for field in fields(first)} & {field.name for field in fields(other)}):
                values = getattr(first, name), getattr(other, name)
                if any(isinstance(value, Quantity) for value in values):
                    yield f"{thing}: {name}", *values
    if answer.ledger is not None:
        yield "braking: available_wh", answer.braking.available_wh, answer.ledger.ride.available_wh
    recovered = answer.energy.recovered_pct or answer.charge.recovered_pct
    for budget in answer.budget:
        yield f"budget of {budget.quantity}", recovered, Quantity(budget.value, budget.low95, budget.high95)


def unequal(answer: Answer) -> list[str]:
    """Each number that stands in two places and differs, with what is said in both."""
    return [f"{where}: {one} and {other}" for where, one, other in equal_names(answer) if not alike(one, other)]


def alike(one: Quantity | None, other: Quantity | None) -> bool:
    """Equal in value and both bounds, to what adding up in another order may change."""
    if one is None or other is None:
        return one is other
    numbers = zip((one.value, one.low95, one.high95), (other.value, other.low95, other.high95), strict=True)
    return all(a is b if a is None or b is None else a == pytest.approx(b, rel=1e-9, abs=1e-9) for a, b in numbers)


@pytest.mark.parametrize("slug", SLUGS)
def test_a_number_of_a_sample_ride_is_the_same_wherever_it_stands(slug):
    assert unequal(sample_answer(slug)) == []


@pytest.mark.parametrize("seed", SOME_SEEDS)
def test_a_number_of_a_simulated_ride_is_the_same_wherever_it_stands(seed):
    assert unequal(simulated_answer(seed)) == []


def test_the_walk_meets_the_numbers_that_stand_twice():
    """On the commute: hills and events in two places, and the ride's totals."""
    places = [where for where, one, _ in equal_names(sample_answer("commute")) if one is not None]
    assert {"ride: drawn_wh", "ride: returned_wh", "braking: available_wh", "budget of recovered"} <= set(places)
    assert {"Hill 1, up: drawn_wh", "Hill 1, up: returned_wh", "Hill 1, up: available_wh"} <= set(places)
    assert sum(place.endswith("s: returned_wh") for place in places) == len(sample_answer("commute").braking.events)


def rows_of_kinds(answer: Answer) -> None:
    """Every event is in exactly one row, and the rows add up to the whole."""
    braking = answer.braking
    assert sum(row.events for row in braking.kinds) == len(braking.events)
    for row in braking.kinds:
        of_kind = [event for event in braking.events if (event.kind or "unknown") == row.kind]
        assert row.events == len(of_kind)
    totals = {"available_wh": braking.available_wh, "returned_wh": braking.returned_wh}
    if answer.ledger is not None:
        totals["missed_wh"] = answer.ledger.ride.missed_wh
    for name, total in totals.items():
        known = [getattr(row, name).value for row in braking.kinds if getattr(row, name) is not None]
        if total is None:
            assert not [value for value in known if value]
        else:
            assert sum(known) == pytest.approx(total.value, rel=1e-9, abs=1e-9), name


@pytest.mark.parametrize("slug", SLUGS)
def test_the_rows_of_the_kinds_add_up_on_the_sample_rides(slug):
    assert sample_answer(slug).braking.kinds or not sample_answer(slug).braking.events
    rows_of_kinds(sample_answer(slug))


@pytest.mark.parametrize("seed", SOME_SEEDS)
def test_the_rows_of_the_kinds_add_up_on_simulated_rides(seed):
    rows_of_kinds(simulated_answer(seed))


@pytest.mark.parametrize("slug", SLUGS)
def test_no_share_is_beyond_what_there_was_to_share(slug):
    answer = sample_answer(slug)
    shares = [answer.braking, *answer.braking.events, *answer.braking.kinds, *answer.hills, *answer.speed_bands]
    for share in (each.captured_pct for each in shares if each.captured_pct is not None):
        assert 0 <= share.low95 <= share.value <= share.high95 <= 100


@pytest.mark.parametrize("slug", SLUGS)
def test_the_share_of_a_hill_is_what_it_returned_of_all_that_came_back(slug):
    """By definition; the interval comes from what the two share, and lies within what they would give apart."""
    answer = sample_answer(slug)
    whole = answer.energy.returned_wh
    if whole is None or whole.value <= 0:
        assert all(hill.share_of_returned_pct is None for hill in answer.hills)
        return
    for hill in answer.hills:
        share = hill.share_of_returned_pct
        assert share.value == pytest.approx(100 * hill.returned_wh.value / whole.value, rel=1e-9)
        assert share.low95 >= 100 * hill.returned_wh.low95 / whole.high95 - 1e-9
        assert share.high95 <= 100 * hill.returned_wh.high95 / whole.low95 + 1e-9
    downs = [hill.returned_wh.value for hill in answer.hills if hill.direction == "down"]
    descents = answer.energy.descents_share_of_returned_pct
    assert descents.value == pytest.approx(100 * sum(downs) / whole.value, rel=1e-9) if downs else descents is None
