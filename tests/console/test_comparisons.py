"""A comparison on terminals of several widths: the rider's sentence first, no number cut."""

import io
import re

import pytest

from ridelog.console.comparisons import print_comparison
from ridelog.tell.compare.sentences import sentences
from ridelog.tell.numbers import IMPERIAL
from tests.compare.campaigns import told_comparison
from tests.console.terminal import Terminal


@pytest.mark.parametrize("width", [40, 60, 80, 140])
def test_no_line_is_wider_than_the_terminal_and_no_number_is_cut(width, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(width))
    screen = Terminal()
    print_comparison(told_comparison(), screen)
    shown = re.sub(r"\x1b\[[0-9;]*m", "", screen.getvalue())
    assert max(map(len, shown.splitlines())) <= width
    assert "…" not in shown
    first = next(sentences(told_comparison())).words
    assert " ".join(shown.split()).startswith(first)


def test_a_pipe_gets_sentences_then_findings_then_tables():
    out = io.StringIO()
    print_comparison(told_comparison(), out, IMPERIAL)
    lines = out.getvalue().splitlines()
    assert lines[0].startswith("Strong recovered 2")
    assert any(line.startswith("warning: The group “off” has one ride") for line in lines)
    assert any("Wh/mi" in line for line in lines)
    assert not any(line.endswith(" ") for line in lines)
