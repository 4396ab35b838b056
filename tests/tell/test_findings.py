"""Each code has one template, which makes clean text of the finding's facts; some of the texts, word by word."""

import json

import pytest

from ridelog.findings import CODES, Facts, Finding, gravest_first
from ridelog.tell.findings import FAMILIES, TEMPLATES, sentence
from ridelog.tell.numbers import METRIC

WITHOUT_FACTS = {"no-battery-current", "no-wall-time", "motor-drag-inside", "motor-unseen", "pedalling-unseen"}


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


@pytest.mark.parametrize("code", [code for code in TEMPLATES if code not in WITHOUT_FACTS])
def test_a_missing_fact_is_named(code):
    with pytest.raises(LookupError, match=f"a finding '{code}' needs the fact '"):
        said(code)


def test_a_fact_of_another_kind_is_named():
    with pytest.raises(TypeError, match="the fact 'file' of a finding 'no-voltage' is 3, not a text"):
        said("no-voltage", file=3)


def test_a_case_without_words_is_named():
    with pytest.raises(LookupError, match="no words for used_for = 'flying', only for braking, coasting"):
        said("no-speed", used_for="flying")


# ---- some of them, word by word ----

GOLDEN = [
    (
        "charge-path",
        {"charge_path": "unknown", "stated": False, "highest_charge_a": 5.8231},
        "Up to 5.8 A flowed into the battery through its discharge terminals. Your bike file does not say whether "
        "this pack allows that (`charge_path`). Not every BMS watches over charge that comes in there. Ask the pack's "
        "maker.",
    ),
    (
        "current-at-rest",
        {
            "file": "controller.csv",
            "reading_a": 0.0614,
            "rest_s": 125.0,
            "standing": True,
            "noise_a": 0.0213,
            "resolution_a": 0.01,
            "standby_draw_a": 0.06,
            "zero_error_a": 0.0014,
        },
        "At rest, controller.csv reads 0.06 A (2 min 05 s of standing still, noise 0.021 A, steps of 0.01 A). With the "
        "standby draw of 0.06 A from the bike file, its zero is right to 0.01 A.",
    ),
]


@pytest.mark.parametrize(("code", "facts", "text"), GOLDEN)
def test_the_sentence_of_some_findings(code, facts, text):
    assert said(code, **facts) == text
