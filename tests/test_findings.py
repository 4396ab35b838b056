"""Findings: their codes, their order, and which are said before any number."""

import pytest

from ridelog.findings import Finding, gravest_first, said_first

PATH = {"charge_path": "unknown", "stated": True, "highest_charge_a": 5.8}


def test_findings_come_gravest_first_and_once():
    note, danger = Finding("motor-unseen", "note"), Finding("no-voltage", "danger", {"file": "a.csv"})
    assert gravest_first([note, danger, note]) == (danger, note)


def test_a_code_that_nobody_documented_is_no_finding():
    with pytest.raises(ValueError, match="made-up"):
        Finding("made-up", "note")


@pytest.mark.parametrize(
    ("finding", "first"),
    [
        (Finding("motor-unseen", "warning"), False),
        (Finding("no-voltage", "danger", {"file": "a.csv"}), True),
        (Finding("charge-path", "warning", PATH), True),
        (Finding("charge-path", "note", PATH), False),
    ],
)
def test_a_danger_and_an_unknown_charge_path_are_said_before_any_number(finding, first):
    assert said_first(finding) is first
