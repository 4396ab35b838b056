"""Records to plain data and back: what is read equals what was written, and what is no answer is refused."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from types import MappingProxyType
from typing import Any, Literal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.answer.plain import SCHEMA, from_schema, plain, record, with_schema
from ridelog.answer.provenance import BikeValue
from ridelog.answer.ride import Answer
from ridelog.errors import AnswerError
from ridelog.uncertain.quantity import Quantity
from tests.scenarios import SEEDS, SLUGS, sample_answer, simulated_answer, through_json


@dataclass(frozen=True)
class Part:
    """A record within a record."""

    kind: Literal["a", "b"]
    size: float
    count: int = 0


@dataclass(frozen=True)
class Whole:
    """A record of everything that records may hold."""

    at: datetime
    parts: tuple[Part, ...]
    pair: tuple[int, str]
    by_name: Mapping[str, Part | None]
    said: bool | int | float | str | tuple[float, ...] | None
    best: Quantity | None = None
    anything: Mapping[str, Any] = field(default_factory=dict)
    frame: Any = field(default=None, compare=False)


NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
TEXTS = st.text(max_size=8)
TIMES = st.builds(
    lambda microseconds, hours: (
        datetime(2026, 5, 4, tzinfo=timezone(timedelta(hours=hours))) + timedelta(microseconds=microseconds)
    ),
    st.integers(-(10**15), 10**15),
    st.sampled_from([0.0, 5.5, -8.0]),
)
PARTS = st.builds(Part, st.sampled_from(["a", "b"]), NUMBERS, st.integers())
QUANTITIES = st.builds(Quantity, NUMBERS, st.none() | NUMBERS, st.none() | NUMBERS)
WHOLES = st.builds(
    Whole,
    at=TIMES,
    parts=st.lists(PARTS, max_size=3).map(tuple),
    pair=st.tuples(st.integers(), TEXTS),
    by_name=st.dictionaries(TEXTS, st.none() | PARTS, max_size=3),
    said=st.none() | st.booleans() | st.integers() | NUMBERS | TEXTS | st.lists(NUMBERS, max_size=3).map(tuple),
    best=st.none() | QUANTITIES,
    anything=st.dictionaries(TEXTS, st.none() | NUMBERS | TEXTS | st.tuples(TEXTS, NUMBERS), max_size=3),
    frame=st.just(np.arange(3)),
)


@given(WHOLES)
def test_a_record_comes_back_as_it_was_by_strict_json(whole):
    text = json.dumps(with_schema(whole), allow_nan=False)
    assert from_schema(Whole, json.loads(text)) == whole


@given(WHOLES)
def test_a_record_comes_back_as_it_was_without_a_text(whole):
    assert from_schema(Whole, with_schema(whole)) == whole


@pytest.mark.parametrize("slug", SLUGS)
def test_the_answer_of_a_sample_ride_comes_back(slug):
    comes_back(sample_answer(slug))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_answer_of_a_simulated_ride_comes_back(seed):
    comes_back(simulated_answer(seed))


def comes_back(answer):
    """From the plain data, from the text of strict JSON; and what is written anew is the same."""
    data = through_json(answer)
    again = Answer.from_dict(data)
    assert again == answer
    assert Answer.from_dict(answer.to_dict()) == answer
    assert again.to_dict() == answer.to_dict() == data
    assert again.series.empty  # a series is no part of it, and does not count


def test_the_rides_of_these_tests_are_of_many_kinds():
    """With and without energy, heights, hills, ledger, budget, worth; or the ways back would go untried."""
    answers = [simulated_answer(seed) for seed in SEEDS]
    tried = {
        "energy": [answer.energy.drawn_wh is not None for answer in answers],
        "hills": [bool(answer.hills) for answer in answers],
        "hill pairs or none": [not answer.hill_pairs for answer in answers],
        "events": [bool(answer.braking.events) for answer in answers],
        "unknown kinds": [any(event.kind is None for event in answer.braking.events) for answer in answers],
        "ledger": [answer.ledger is not None for answer in answers],
        "budget": [bool(answer.budget) for answer in answers],
        "worth": [answer.worth is not None for answer in answers],
        "start": [answer.ride.start is not None for answer in answers],
        "partial heights": [(answer.ride.height_covered_pct or 100) < 95 for answer in answers],
    }
    assert [name for name, seen in tried.items() if not any(seen)] == []
    assert [name for name in ("hills", "ledger", "start", "partial heights") if all(tried[name])] == []


def test_the_seconds_of_a_series_may_differ():
    answer = sample_answer("winter")
    assert Answer.from_dict(answer.to_dict()).series is not answer.series


def test_a_number_that_is_none_is_null_in_json():
    assert plain((math.nan, math.inf, np.float64(2.5), np.int64(3), np.bool_(True))) == [None, None, 2.5, 3, True]


def test_numbers_of_other_libraries_become_plain_ones():
    assert [type(each) for each in plain((np.float32(0.5), np.int8(3), np.bool_(False)))] == [float, int, bool]


def test_what_has_no_plain_form_is_refused():
    with pytest.raises(TypeError, match="ndarray has no plain form"):
        plain({"values": np.arange(3)})


def test_a_time_is_written_in_utc():
    there = datetime(2026, 5, 4, 9, 12, 0, 250_000, tzinfo=timezone(timedelta(hours=2)))
    assert plain(there) == "2026-05-04T07:12:00.250000Z"


def test_a_later_version_may_have_added_keys():
    assert record(Part, {"kind": "a", "size": 1.5, "colour": "red"}) == Part("a", 1.5)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ({"kind": "c", "size": 1.0}, "answer, kind: 'c' is not one of a, b"),
        ({"kind": "a", "size": "1.0"}, "answer, size: '1.0' is not a number"),
        ({"kind": "a", "size": True}, "answer, size: True is not a number"),
        ({"kind": "a", "size": None}, "answer, size: None is not a number"),
        ({"kind": "a", "size": math.nan}, "answer, size: nan is not a number"),
        ({"kind": "a", "size": 1.0, "count": 1.5}, "answer, count: 1.5 is not a whole number"),
        ({"kind": "a"}, "answer: size is missing"),
        ([], "answer: [] is not an object"),
    ],
)
def test_data_that_are_no_such_record_are_refused_with_their_place(data, says):
    with pytest.raises(AnswerError) as refusal:
        record(Part, data)
    assert refusal.value.message == says


def test_the_place_of_a_fault_is_told_from_the_whole():
    data = sample_answer("commute").to_dict()
    data["hills"][2]["height_m"]["low95"] = "12"
    with pytest.raises(AnswerError, match=r"^answer, hills\[2\]\.height_m\.low95: '12' is not a number$"):
        Answer.from_dict(data)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ({"schema": SCHEMA + 1}, f"answer: has schema {SCHEMA + 1}, and this ridelog reads {SCHEMA} at most"),
        ({"schema": 1}, "answer: has schema 1, which ridelog no longer reads"),
        ({"schema": "2"}, "answer: is no JSON of ridelog: schema is '2', not a number"),
        ({"schema": True}, "answer: is no JSON of ridelog: schema is True, not a number"),
        ({}, "answer: is no JSON of ridelog: it has no key schema"),
        ("text", "answer: is no JSON of ridelog: it has no key schema"),
    ],
)
def test_data_of_another_schema_are_refused_in_one_sentence(data, says):
    with pytest.raises(AnswerError) as refusal:
        Answer.from_dict(data)
    assert refusal.value.message == says


def test_a_mapping_that_is_read_cannot_be_changed():
    again = Answer.from_dict(sample_answer("commute").to_dict())
    assert isinstance(again.bike.pack, MappingProxyType)
    with pytest.raises(TypeError):
        again.bike.pack["capacity_ah"] = BikeValue()
