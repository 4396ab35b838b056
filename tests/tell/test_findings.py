"""Each code has one template, which makes clean text of the finding's facts; some of the texts, word by word."""

import json

import pytest

from ridelog.findings import CODES, Facts, Finding, gravest_first
from ridelog.tell.findings import FAMILIES, TEMPLATES, sentence
from ridelog.tell.numbers import IMPERIAL, METRIC
from tests.tell.cases import CASES
from tests.tell.clean import faults, faults_of


def said(code, style=METRIC, **facts):
    return sentence(Finding(code, "note", facts), style)


# ---- facts ----


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_a_fact_that_is_no_finite_number_is_refused(value):
    with pytest.raises(ValueError, match="what is not known is None"):
        Facts({"current_a": value})


@pytest.mark.parametrize("value", [{"a": 1}, object(), [[1.0]], b"x", 1j])
def test_a_fact_that_json_does_not_have_is_refused(value):
    with pytest.raises(TypeError, match="the fact x is"):
        Facts({"x": value})


def test_facts_are_read_only_and_lists_become_tuples():
    facts = Facts({"files": ["a.csv", "b.csv"]})
    assert facts["files"] == ("a.csv", "b.csv")
    with pytest.raises(TypeError):
        facts["files"] = ()


def test_findings_with_equal_facts_are_one():
    one, same, other = (Finding("no-voltage", "note", {"file": name}) for name in ("a.csv", "a.csv", "b.csv"))
    assert gravest_first([one, same, other]) == (one, other)
    assert len({one, same}) == 1


def test_facts_survive_json_with_numbers_unrounded():
    facts = Facts({"current_a": 1 / 3, "n": 3, "given": True, "none": None, "names": ("a", "b")})
    assert Facts(json.loads(json.dumps(dict(facts)))) == facts


# ---- templates ----


def test_each_code_has_exactly_one_template():
    assert sorted(code for family in FAMILIES for code in family) == sorted(CODES)
    assert list(TEMPLATES) == [code for family in FAMILIES for code in family]


def test_every_code_has_cases():
    assert sorted(CASES) == sorted(CODES)


@pytest.mark.parametrize(("code", "facts"), [(code, facts) for code in CASES for facts in CASES[code]])
def test_every_case_forms_clean_text_in_either_system(code, facts):
    assert faults_of(Finding(code, "note", facts)) == []


@pytest.mark.parametrize("code", [code for code in CASES if CASES[code] != ({},)])
def test_a_missing_fact_is_named(code):
    with pytest.raises(LookupError, match=f"a finding '{code}' needs the fact '"):
        said(code)


@pytest.mark.parametrize("code", ["charge-path", "charge-cut-out", "cell-overcharged", "charged-cold"])
def test_texts_of_danger_defer_to_the_pack_s_maker_and_call_nothing_harmless(code):
    for facts in CASES[code]:
        text = said(code, **facts)
        assert "maker" in text or facts.get("verdict") == "within-error"
        words = set(text.lower().replace(".", " ").replace(",", " ").split())
        assert not {"safe", "safely", "harmless", "bypass", "raise"} & words


def test_the_rider_is_told_in_the_units_of_the_style():
    """30 kg are 66 lb, 15 °C are 59 °F, 3 m/s are 6.7 mph (by hand)."""
    assert "total mass 110 ± 30 kg" in said("bike-defaults", **CASES["bike-defaults"][0])
    imperial = said("bike-defaults", IMPERIAL, **CASES["bike-defaults"][0])
    assert "total mass 243 ± 66 lb" in imperial
    assert "air temperature 59 ± 36 °F" in imperial
    assert "head wind 0 ± 6.7 mph" in imperial


def test_a_fact_of_another_kind_is_named():
    with pytest.raises(TypeError, match="the fact 'file' of a finding 'no-voltage' is 3, not a text"):
        said("no-voltage", file=3)


def test_a_case_without_words_is_named():
    with pytest.raises(LookupError, match="no words for used_for = 'flying', only for braking, nothing, coasting"):
        said("no-speed", used_for="flying")


# ---- some of them, word by word ----

GOLDEN = [
    (
        "charge-path",
        0,
        "Up to 5.8 A flowed into the battery through its discharge terminals. Your bike file does not say whether "
        "this pack allows that (`charge_path`). Not every BMS watches over charge that comes in there. Ask the pack's "
        "maker.",
    ),
    (
        "current-at-rest",
        0,
        "At rest, controller.csv reads 0.06 A (2 min 05 s of standing still, noise 0.021 A, steps of 0.01 A). With the "
        "standby draw of 0.06 A from the bike file, its zero is right to 0.01 A.",
    ),
    (
        "clock-joined",
        0,
        "The clock of track.gpx runs 3.42 s ahead of that of controller.csv (agreement 0.94 over 30 min 32 s).",
    ),
    (
        "rows-skipped",
        1,
        "In a.csv, 1 of 20 rows does not have 3 fields (the first is line 22; the last line is cut off). We left them "
        "out.",
    ),
]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("the log lies.", "begins without a capital letter"),
        ("The log lies", "ends without a full stop"),
        ("The log  lies.", "holds '  '"),
        ("It read None.", "holds 'None'"),
        ("It read 0.123456 A.", "shows 0.123456"),
        ("It read (0.5 A.", None),
        ("It read 1013 hPa.", None),
    ],
)
def test_a_text_that_is_not_clean_is_seen(text, fault):
    assert faults(text) == ([fault] if fault else [])


@pytest.mark.parametrize(("code", "case", "text"), GOLDEN)
def test_the_sentence_of_some_findings(code, case, text):
    assert said(code, **CASES[code][case]) == text


def test_a_mean_of_cells_says_over_how_many():
    """13 cells, divided by 10, look like a ruined pack."""
    facts = CASES["cell-overcharged"][0]
    assert "over 13 cells in series (`cells_in_series`" in sentence(Finding("cell-overcharged", "danger", facts))
    logged = {**facts, "cells_logged": True, "cells_in_series": None}
    assert "in series" not in sentence(Finding("cell-overcharged", "danger", logged))


@pytest.mark.parametrize(("given", "ending"), [(True, ", or correct `current_zero_limit_a`."), (False, ".")])
def test_what_to_do_about_a_zero_ends_with_or(given, ending):
    facts = {**CASES["zero-beyond-limit"][0], "standby_given": True, "zero_limit_given": given}
    told = sentence(Finding("zero-beyond-limit", "warning", facts))
    assert told.endswith(f"{', ' if given else ', or '}correct `standby_draw_a`{ending}")
