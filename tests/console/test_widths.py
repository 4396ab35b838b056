"""On a terminal of any width no number and no heading is cut, and no line is wider than the terminal."""

import re

import pytest

from ridelog.cli import main
from tests.console.terminal import Terminal
from tests.places import SAMPLES
from tests.scenarios import once

COMMUTE = [str(SAMPLES / "commute" / name) for name in ("controller.csv", "track.gpx", "bike.toml")]
CALLS = {
    "summary": ["measure", *COMMUTE],
    "budget": ["measure", *COMMUTE, "--budget"],
    **{name: ["measure", *COMMUTE, "--table", name] for name in ("events", "hills", "ledger", "bands")},
    "columns": ["columns", COMMUTE[0]],
    "coastdown": ["coastdown", *COMMUTE],
}
NUMBER = re.compile(r"(?<![\w.])[-±]?\d[\d.:]*(?![\w.])")


@pytest.fixture(autouse=True)
def measured_once(monkeypatch):
    once(monkeypatch)


def shown(call, width, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(width))
    screen = Terminal()
    main(call, screen, Terminal())
    return re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", screen.getvalue())


@pytest.mark.parametrize("name", CALLS)
def test_nothing_is_cut_however_narrow_the_terminal(name, monkeypatch):
    wide = shown(CALLS[name], 300, monkeypatch)
    known = {number.strip(".") for number in NUMBER.findall(wide)}
    for width in (40, 60, 80):
        narrow = shown(CALLS[name], width, monkeypatch)
        assert max(map(len, narrow.splitlines())) <= width
        assert narrow.count("…") <= wide.count("…")  # a sentence may end in one; no cell does
        torn = {number.strip(".") for number in NUMBER.findall(narrow)} - known
        assert torn == set(), f"at {width} columns"


def test_a_torn_number_is_seen():
    known = {"2.29", "±0.3"}
    assert {number.strip(".") for number in NUMBER.findall("2.29 ±0.")} - known == {"±0"}
    assert {number.strip(".") for number in NUMBER.findall("2.29 ±0.3")} - known == set()
