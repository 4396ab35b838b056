"""Every number of the ride's page is one of `measure --json`, in the unit and to the digits that the page shows."""

import json
import re
from functools import cache

import pytest
from dash import html

from ridelog.figures.look import PAPER, Look
from ridelog.tell.times import duration
from ridelog.web.rides import shown_ride
from ridelog.web.views.answer import answer_page
from tests.report.reading import numbers_in
from tests.report.ride.test_page import FACTORS, STYLES, assert_told, expected, factor
from tests.scenarios import SLUGS, sample_answer
from tests.web.views.test_answer import texts

NUMBER = r"[−-]?\d[\d\u202f]*(?:[.,]\d+)?"
UNITS = sorted({unit for _, unit in FACTORS}, key=len, reverse=True)
WITH_UNIT = re.compile(rf"({NUMBER})[\u00a0 ](?:to ({NUMBER})[\u00a0 ])?({'|'.join(map(re.escape, UNITS))})(?![\w/²])")
LASTING = re.compile(r"\d+ h \d\d min|\d+ min \d\d s")
KINDS = FACTORS | {("km", "km"): 1, ("km", "mi"): 1 / 1.609344, ("year", "km"): 1, ("year", "mi"): 1 / 1.609344}
KINDS |= {("kmh", "km/h"): 1, ("kmh", "mph"): 1 / 1.609344}
# said of every ride, of no number of its own: what a hill is, which intervals these are
ALWAYS = {("95", "%"), ("5", "m"), ("2", "%"), ("16", "ft")}


@cache
def page_of(slug, style):
    look = Look(**{**vars(PAPER), "style": STYLES[style]})
    return answer_page(shown_ride(sample_answer(slug), title="T"), look, "token")


def components(part, kind):
    """Every component of a kind in a tree."""
    if isinstance(part, (list, tuple)):
        return [each for one in part for each in components(one, kind)]
    inner = components(getattr(part, "children", None) or [], kind)
    return [part, *inner] if isinstance(part, kind) else inner


def read(table):
    """Heads of a table, and its rows of cells as value and interval."""
    heads, rows = [], []
    for row in components(table, html.Tr):
        cells = [(_without(cell), _interval(cell)) for cell in row.children]
        if any(isinstance(cell, html.Th) and getattr(cell, "scope", "") == "col" for cell in row.children):
            heads = [value for value, _ in cells]
        else:
            rows.append(cells)
    return heads, rows


def _is_interval(part):
    return isinstance(part, html.Span) and getattr(part, "className", "") == "interval"


def _interval(cell):
    inside = [span for span in components(cell, html.Span) if _is_interval(span)]
    return "".join(texts(inside)).replace("95 % interval", "").strip()


def _without(cell):
    if isinstance(cell, (list, tuple)):
        return "".join(_without(each) for each in cell)
    if cell is None or _is_interval(cell):
        return ""
    return str(cell) if isinstance(cell, (str, int, float)) else _without(getattr(cell, "children", None))


def told_tables(slug, style):
    """Which table of the page has which rows of the JSON, and what the heads of its columns stand for."""
    answer, wanted = sample_answer(slug), expected(sample_answer(slug))
    found = {getattr(table, "className", ""): [] for table in components(page_of(slug, style), html.Table)}
    for table in components(page_of(slug, style), html.Table):
        found[getattr(table, "className", "")].append(read(table))
    yield from ((wanted["t-hills"], each) for each in found.get("ledger", []))
    yield from ((wanted["t-events"], each) for each in found.get("events", []))
    for heads, rows in found.get("columns", []):
        if heads[:2] == ["Kind", "Events"]:
            yield wanted["t-kinds"], (heads, rows)
        elif heads[0] == "Speed":
            yield wanted["t-bands"], (heads, rows)
    assert answer.hills or "ledger" not in found


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("slug", SLUGS)
def test_every_number_of_a_table_is_that_of_the_json(slug, style):
    """Row by row and column by column: hills, braking events, kinds of braking, speeds."""
    names = {"braked_for": "braked", "returned_of_available": "returned", "recovered_both_ways": "both_ways"}
    n_checked = 0
    for wanted, (heads, rows) in told_tables(slug, style):
        assert len(rows) == len(wanted)
        for head, column in zip(heads, zip(*rows, strict=True), strict=True):
            word, _, unit = head.partition(", ")
            key = word.lower().replace(" ", "_")
            key = names.get(key, key)
            if key not in wanted[0]:
                continue
            for (value, interval), row in zip(column, wanted, strict=True):
                name, quantity = row[key]
                shown = value.partition(" of ")[0]  # beside it stands what it is of
                assert_told((shown, interval), quantity, factor(name, unit), STYLES[style].point)
                n_checked += quantity is not None
    assert n_checked > 40


@pytest.mark.parametrize("style", STYLES)
def test_the_headline_and_the_key_figures_are_those_of_the_json(style):
    data, point = sample_answer("commute").to_dict(), STYLES[style].point
    (verdict,) = [each for each in components(page_of("commute", style), html.Section) if each.className == "verdict"]
    (sentence,) = components(verdict, html.H2)
    told = data["energy"]
    wanted = [told["drawn_wh"]["value"], told["returned_wh"]["value"], *told["recovered_pct"].values()]
    shown = numbers_in("".join(texts(sentence)).replace("95\u00a0%", "").replace("95 %", ""), point)
    assert len(shown) == len(wanted)
    for (value, half), right in zip(shown, wanted, strict=True):
        assert value == pytest.approx(right, abs=1.0001 * half)
    paths = {
        "Distance": ("ride", "distance_m"), "Net use": ("energy", "net_wh_per_km"),
        "Distance gained": ("energy", "distance_gained_m"), "Captured": ("braking", "captured_pct"),
        "Charge": ("charge", "drawn_ah"), "Climbed": ("ride", "ascent_m"),
    }  # fmt: skip
    for figure in components(verdict, html.Dl)[0].children:
        name, value = (texts(each) for each in figure.children)
        section, key = paths.pop(name[0])
        unit = re.split("[\u00a0 ]", value[0])[-1]
        ((number, half),) = numbers_in(value[0], point)
        assert number == pytest.approx(data[section][key]["value"] * factor(key, unit), abs=1.0001 * half)
    assert not paths


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("slug", SLUGS)
def test_every_number_with_a_unit_anywhere_on_the_page_is_in_the_json(slug, style):
    """In sentences, notes and labels too: a number of the same kind, or one that a finding's facts or words hold."""
    answer, told = sample_answer(slug), " ".join(texts(page_of(slug, style)))
    lasting = {duration(value) for kind, value in _numbers(answer) if kind == "s"}
    assert set(LASTING.findall(told)) <= lasting
    told = LASTING.sub("", told)
    strange = [each for each in WITH_UNIT.findall(told) if not _known(each, answer, STYLES[style].point)]
    assert strange == []
    assert len(WITH_UNIT.findall(told)) > 15


@pytest.mark.parametrize("planted", [("83.7", "", "Wh"), ("7.31", "", "Ah"), ("12.34", "", "km"), ("61", "77", "Wh")])
def test_a_number_of_no_answer_is_seen(planted):
    assert not _known(planted, sample_answer("commute"), ".")


def _known(found, answer, point):
    *written, unit = found
    return all((text, unit) in ALWAYS or _in_json(text, unit, answer, point) for text in written if text)


def _in_json(text, unit, answer, point):
    ((shown, half),) = numbers_in(text, point)
    kinds = {kind: times for (kind, symbol), times in KINDS.items() if symbol == unit}
    return any(
        abs(abs(value) * times - abs(shown)) <= 1.0001 * half
        for kind, value in _numbers(answer)
        for times in ([kinds[kind]] if kind in kinds else kinds.values() if kind == "fact" else [])
    )


@cache
def _all_numbers(text):
    found = []

    def walk(node, name):
        if isinstance(node, dict):
            for key, value in node.items():
                walk(value, name if key in ("value", "low95", "high95", "limit") else key)
        elif isinstance(node, list):
            for each in node:
                walk(each, name)
        elif isinstance(node, (int, float)) and not isinstance(node, bool):
            found.append((name.rpartition("_")[2], float(node)))
        elif isinstance(node, str) and name == "message":
            found.extend(("fact", value) for value, _ in numbers_in(node))

    walk(json.loads(text), "")
    return found


def _numbers(answer):
    facts = [
        ("fact", float(value))
        for finding in answer.findings
        for value in finding.facts.values()
        if isinstance(value, (int, float)) and not isinstance(value, bool)
    ]
    widths = [
        ("pct", u) for budget in answer.budget for u in (budget.u_c, *(row.u for row in budget.rows)) if u is not None
    ]
    return [*_all_numbers(json.dumps(answer.to_dict())), *facts, *widths]
