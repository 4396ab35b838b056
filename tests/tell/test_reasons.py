"""Why a column is read as it is: every phrase is used, reads well with any value, and says what it is made of."""

import ast
import importlib
import inspect
import re
from datetime import UTC, datetime

import pytest

from ridelog.tell.reasons import clocks, columns, headers, logs
from tests.places import ROOT

FOLDER = ROOT / "ridelog" / "tell" / "reasons"
FAMILIES = [
    importlib.import_module(f"ridelog.tell.reasons.{path.stem}")
    for path in sorted(FOLDER.glob("*.py"))
    if path.stem != "__init__"
]
PHRASES = [
    (family, name)
    for family in FAMILIES
    for name, thing in vars(family).items()
    if not name.startswith("_")
    and (isinstance(thing, str) or (inspect.isfunction(thing) and thing.__module__ == family.__name__))
]
SENTENCES = {"map_head"}  # all others are parts of one
WHEN = datetime(2026, 5, 1, 8, 0, 1, tzinfo=UTC)
# What a parameter of a kind may hold: a large, a small, a whole and a negative number, and words.
VALUES = {
    float: (1234567.891, 0.000123, 48.0, -3.0),
    int: (1, 3600),
    str: ("km/h", "battery current"),
    bool: (True, False),
    bool | None: (True, False, None),
    "strings": (["voltage", "current"],),
    "time": (WHEN, None),
}


def values_for(annotation: object) -> tuple:
    if annotation in VALUES:
        return VALUES[annotation]
    told = str(annotation)
    if told.startswith("typing.Literal"):
        return annotation.__args__
    return VALUES["time" if "datetime" in told else "strings"]


def phrases_of(thing: object) -> list[str]:
    """A phrase as it stands, or with each of several values for its parameters."""
    if isinstance(thing, str):
        return [thing]
    parameters = inspect.signature(thing).parameters.values()
    choices = [(each, values_for(each.annotation)) for each in parameters]
    told = []
    for k in range(max(len(values) for _, values in choices)):
        given = [(each, values[k % len(values)]) for each, values in choices]
        named = {each.name: value for each, value in given if each.kind is each.KEYWORD_ONLY}
        told.append(thing(*(value for each, value in given if each.kind is not each.KEYWORD_ONLY), **named))
    return told


def names_read(source: str) -> set[str]:
    """Names that a source text imports or reads, of modules and of what they hold."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute):
            found.add(node.attr)
        elif isinstance(node, ast.ImportFrom):
            found |= {alias.name for alias in node.names}
    return found


def test_every_phrase_is_used():
    read = set()
    for path in (ROOT / "ridelog").rglob("*.py"):
        if FOLDER not in path.parents:
            read |= names_read(path.read_text(encoding="utf-8"))
    unused = {name for _, name in PHRASES if name not in read}
    assert unused == set()


@pytest.mark.parametrize(("family", "name"), PHRASES, ids=[name for _, name in PHRASES])
def test_a_phrase_reads_well(family, name):
    for text in phrases_of(getattr(family, name)):
        assert text == text.strip()
        assert text
        assert "  " not in text
        assert text.endswith(".") == (name in SENTENCES)
        assert not re.search(r"\bnan\b|\binf\b|\bNone\b|\d[eE][+-]?\d|\(\)", text), text


def test_a_phrase_is_tried_with_each_of_its_values():
    def count(n_samples: int, *, known: bool) -> str:
        return f"{n_samples} {known}"

    assert phrases_of(count) == ["1 True", "3600 False"]
    assert len(phrases_of(columns.unit_by_median)) == len(VALUES[float])


@pytest.mark.parametrize(
    ("told", "phrase"),
    [
        (columns.unit_by_median("mV", 48000.0), "no unit is stated; mV, since the median is 48000"),
        (
            columns.unit_by_resistance("A", 0.1098),
            "no unit is stated; A, since the voltage then moves by 0.11 V per ampere",
        ),
        (
            columns.unit_by_rate("km/h", "distance", 0.27812, 1 / 3.6),
            "no unit is stated; km/h, since it agrees with the distance (0.278 against 0.278)",
        ),
        (columns.counter_grows(0.0407, 0.04071, "Ah"), "it grows by 0.04070 Ah, the current gives 0.04071"),
        (columns.in_one(["the words say speed", "a", "the words say speed"]), "the words say speed; a"),
        (columns.sign_usual(""), "positive is taken as out of the battery, as is usual"),
        (columns.sign_by_part("I in", positive=False), "'I in' is its negative side, which tells the sign"),
        (headers.words_say("battery current", into=True), "the words say battery current, positive into the battery"),
        (headers.words_say("speed"), "the words say speed"),
        (headers.map_says_sign(-1), "the map says sign -1"),
        (headers.map_says_sign(1), "the map says sign +1"),
        (headers.strange_words(["form", "xyz"]), "the name also says “form xyz”, which is not understood"),
        (
            clocks.seconds_by_steps(0.2),
            "elapsed time; no unit is stated, steps of 0.2 are seconds (as ms the log would hold 5000 samples a "
            "second)",
        ),
        (clocks.number_reaches("first", 31.0), "the first number reaches 31"),
        (
            logs.clock(WHEN, zoned=True, n_samples=3600, span_s=3599.0),
            "2026-05-01 08:00:01 (UTC), 3600 samples over 3599.0 s",
        ),
        (
            logs.clock(None, zoned=False, n_samples=1, span_s=0.0),
            "elapsed time, 1 sample over 0.0 s",
        ),
        (logs.header_in(3, 2, units_below=True), "header in line 3, 2 lines above it, units in the row below"),
        (logs.header_in(2, 1, units_below=False), "header in line 2, 1 line above it"),
    ],
)
def test_a_phrase_says_what_it_is_made_of(told, phrase):
    assert told == phrase
