"""How columns were understood, as a terminal of any width shows it."""

import re

import pytest

from ridelog.console.columns import print_columns
from ridelog.importers.registry import explain
from tests.console.terminal import Terminal
from tests.places import SAMPLES


@pytest.mark.parametrize("width", [30, 40, 60])
def test_how_columns_were_understood_is_told_on_a_narrow_terminal(width, monkeypatch):
    """No word is broken that the terminal has room for."""
    monkeypatch.setenv("COLUMNS", str(width))
    stream = Terminal()
    for report in explain(str(SAMPLES / "winter" / "battery.csv")):
        print_columns(report, stream)
    text = re.sub(r"\x1b\[[0-9;]*m", "", stream.getvalue())
    assert max(len(line) for line in text.splitlines()) <= width
    for word in ("elapsed", "understood", "conversion", "0.277778", "temperature"):
        assert word in text
