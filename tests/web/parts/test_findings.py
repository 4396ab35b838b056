"""Findings as lists on the page."""

import pytest

from ridelog.findings import Finding
from ridelog.tell.findings import sentence
from ridelog.tell.numbers import PAGE
from ridelog.web.parts.findings import WORDS, finding_list, marked, notes
from tests.web.parts.test_table import said


def finding(severity, **span):
    return Finding("no-voltage", severity, {"file": "log.csv"}, **span)


@pytest.mark.parametrize("severity", ["danger", "warning", "note"])
def test_a_finding_says_how_grave_it_is_in_a_word_and_not_by_colour_alone(severity):
    words = said(finding_list([finding(severity)], "What we found", PAGE))
    assert f"{WORDS[severity]}: " in words
    assert "log.csv" in words


def test_a_span_stands_behind_the_sentence():
    words = said(finding_list([finding("note", start_s=600.0, end_s=660.0)], "What we found", PAGE))
    assert "0:10:00" in words
    assert "0:11:00" in words
    assert "0:10" not in said(finding_list([finding("note")], "What we found", PAGE))


def test_without_findings_there_is_no_section():
    assert finding_list([], "What we found", PAGE) is None


def test_the_section_has_a_name_for_those_who_hear_it():
    section = finding_list([finding("note")], "What we found", PAGE)
    assert getattr(section, "aria-label") == "What we found"
    assert len(notes([finding("note"), finding("note")], PAGE).children) == 2


def test_what_stands_between_backticks_is_code():
    """The key of a bike file, as one types it."""
    parts = marked("Enter `standby_draw_a` under `[sensor]`.")
    assert [part if isinstance(part, str) else part.children for part in parts] == [
        "Enter ",
        "standby_draw_a",
        " under ",
        "[sensor]",
        ".",
    ]
    assert [isinstance(part, str) for part in parts] == [True, False, True, False, True]


def test_the_page_says_what_the_sentence_says():
    one = Finding("charge-path", "warning", {"charge_path": "unknown", "stated": False, "highest_charge_a": 5.8})
    assert said(finding_list([one], "x", PAGE)).endswith(sentence(one, PAGE).replace("`", "").replace("\xa0", " "))


def test_no_line_is_broken_between_a_number_and_its_percent():
    assert marked("that does not mean 0 %. Of 5 % more") == ["that does not mean 0\xa0%. Of 5\xa0% more"]
