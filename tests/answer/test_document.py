"""The document of the answer's JSON has a line for every key, in its order, with its unit, and no line for another."""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

import pytest

import ridelog
from ridelog.answer.coastdown import CoastDown, CoastStretch, Measured
from ridelog.answer.frames import unit_of
from ridelog.answer.provenance import SECTIONS, BikeValue
from ridelog.answer.ride import Answer
from ridelog.findings import Finding
from ridelog.uncertain.quantity import Quantity
from tests.places import ROOT
from tests.scenarios import sample_answer

TEXT = (ROOT / "docs" / "answer.md").read_text(encoding="utf-8")


def records_in(hint: Any) -> Iterator[type]:
    """The records that a type holds, numbers and values of the bike apart."""
    for each in (hint, *get_args(hint)):
        if isinstance(each, type) and is_dataclass(each) and each not in (Quantity, Measured, BikeValue):
            yield each
        elif get_args(each) and each is not hint:
            yield from records_in(each)


def paths(kind: Any, at: str = "") -> Iterator[tuple[type, str]]:
    """Every record of an answer with its place, as ``sources[].columns[]``."""
    yield kind, at
    hints = get_type_hints(kind)
    for field in fields(kind):
        for inner in records_in(hints[field.name]) if field.compare else ():
            many = "[]" if "tuple[" in str(hints[field.name]) else ""
            yield from paths(inner, f"{at}{'.' if at else ''}{field.name}{many}")


def keys_of(kind: Any) -> list[str]:
    """The keys of a record, in the order in which they are written."""
    keys = [field.name for field in fields(kind) if field.compare]
    if kind is Finding:
        keys.insert(2, "message")
    return ["schema", *keys] if kind in (Answer, CoastDown) else keys


def tables(text: str) -> dict[str, list[tuple[str, str, str]]]:
    """Heading -> the rows (key, type, unit) of the tables under it."""
    found: dict[str, list[tuple[str, str, str]]] = {}
    heading = ""
    for line in text.splitlines():
        if line.startswith(("#", "Each ")):
            heading = line.lstrip("# ")
        elif row := re.match(r"\| `(\w+)` \| (.+?) \| (.*?) ?\| ", line):
            found.setdefault(heading, []).append((row[1], row[2], row[3].strip()))
    return found


def documented(kind: type, places: list[str]) -> str:
    """The heading that a record should stand under."""
    return "The whole" if kind is Answer else ", ".join(f"`{place}`" for place in places)


def gaps(text: str) -> list[str]:
    """What the document lacks, has too much, in another order, of another type or in another unit."""
    there, missing = tables(text), []
    places: dict[type, list[str]] = {}
    for kind, place in paths(Answer):
        if place not in places.setdefault(kind, []):
            places[kind].append(place)
    for kind, at in places.items():
        rows = there.get(documented(kind, at), [])
        if kind.__name__ == "BikeUsed":
            rows = [row for row in rows if row[1] == "text or null" or "value" in row[1]]
        if [key for key, _, _ in rows] != keys_of(kind):
            missing.append(f"{documented(kind, at)}: {[key for key, _, _ in rows]} are not {keys_of(kind)}")
            continue
        missing += [f"{documented(kind, at)}: {wrong}" for wrong in wrongly_said(kind, rows)]
    return missing


def wrongly_said(kind: Any, rows: list[tuple[str, str, str]]) -> list[str]:
    """Keys whose type or unit is another than their record says."""
    hints, wrong = get_type_hints(kind), []
    for key, said, unit in rows:
        of_name = unit_of(key)
        if of_name is not None and unit != of_name and not unit.startswith("that of"):
            wrong.append(f"{key} is in {of_name}, not {unit}")
        if key not in hints:
            continue
        hint = str(hints[key])
        number = "Quantity" in hint or "Measured" in hint
        if number != said.startswith("Q") or (NoneType in get_args(hints[key])) != ("null" in said):
            wrong.append(f"{key} is {hint}, not {said}")
    return wrong


def test_every_key_of_the_answer_is_documented():
    assert gaps(TEXT) == []


@pytest.mark.parametrize(
    ("there", "instead"),
    [
        ("| `moving_s` | number or null | s | time", "| `moving` | number or null | s | time"),
        ("| `drop_m` | Q or null | m |", "| `drop_m` | Q or null | km |"),
        ("| `length_m` | number | m | its length |\n| `height_m`", "| `height_m`"),
        ("| `height_m` | Q | m |", "| `height_m` | Q or null | m |"),
        ('| `direction` | text | | `"up"`', '| `slope` | text | | a\n| `direction` | text | | `"up"`'),
        ("## `hills[].start`, `hills[].end`", "## `hills[].start`"),
    ],
)
def test_a_gap_in_the_document_is_seen(there, instead):
    assert there in TEXT
    assert gaps(TEXT.replace(there, instead))


def test_every_value_of_the_bike_and_every_threshold_is_named():
    answer = sample_answer("commute")
    rows = {row[0]: line for line in TEXT.splitlines() if (row := re.findall(r"^\| `(\w+)`", line))}
    for section in SECTIONS:
        line = next(line for line in TEXT.splitlines() if line.startswith(f"| `{section}` | object of values"))
        assert re.findall(r"`(\w+)`", line) == [section, *getattr(answer.bike, section)]
    assert rows
    for question, thresholds in answer.settings.items():
        line = next(
            line for line in TEXT.splitlines() if line.startswith(f"| `{question}` | ") and line.count("|") == 3
        )
        assert re.findall(r"`(\w+)`", line) == [question, *thresholds]


def test_every_key_of_a_coast_down_is_documented():
    there = tables(TEXT)
    assert [key for key, _, _ in there["`ridelog coastdown … --json`"]] == keys_of(CoastDown)
    assert [key for key, _, _ in there["Each of its `stretches`:"]] == keys_of(CoastStretch)
    assert wrongly_said(CoastStretch, there["Each of its `stretches`:"]) == []
    assert get_origin(get_type_hints(CoastDown)["stretches"]) is tuple


def test_the_document_speaks_of_the_keys_that_come_out():
    """The keys of the first table are those of a real answer, in their order."""
    assert [key for key, _, _ in tables(TEXT)["The whole"]] == list(sample_answer("winter").to_dict())


def test_an_answer_is_read_back_as_the_document_says():
    answer = sample_answer("winter")
    assert ridelog.Answer.from_dict(answer.to_dict()) == answer
