"""A plan on terminals of several widths: one page, no line cut."""

import io
import re

import pytest

from ridelog.compare.plan import plan_of
from ridelog.console.plans import print_plan
from tests.compare.test_plan import so_far
from tests.console.terminal import Terminal

PLAN = plan_of(so_far(), 1.0)


@pytest.mark.parametrize("width", [40, 60, 80, 140])
def test_no_line_is_wider_than_the_terminal(width, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(width))
    screen = Terminal()
    print_plan(PLAN, screen)
    shown = re.sub(r"\x1b\[[0-9;]*m", "", screen.getvalue())
    assert max(map(len, shown.splitlines())) <= min(width, 80)


def test_on_paper_it_is_a_page_of_80_columns():
    out = io.StringIO()
    print_plan(PLAN, out)
    lines = out.getvalue().splitlines()
    assert max(map(len, lines)) <= 80
    assert len(lines) <= 74  # of A4 at 10 points
    assert any(line.startswith("[ ] A B B A") for line in lines)
