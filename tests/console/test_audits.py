"""An audit on a terminal, and as files."""

import io
import json
import re

import pytest

from ridelog.console.audits import print_audit, write_audit
from tests.console.terminal import Terminal
from tests.fleet.audits import made_up


@pytest.mark.parametrize("width", [40, 60, 80, 140])
def test_no_line_is_wider_than_the_terminal_and_no_number_is_cut(width, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(width))
    screen = Terminal()
    print_audit(made_up(), screen)
    shown = re.sub(r"\x1b\[[0-9;]*m", "", screen.getvalue())
    assert max(map(len, shown.splitlines())) <= width
    assert "…" not in shown
    assert all(number in shown for number in ("6.7", "±0.7", "36", "251 km"))


def test_a_pipe_gets_what_stands_out_first_and_then_the_tables():
    out = io.StringIO()
    print_audit(made_up(), out)
    lines = out.getvalue().splitlines()
    assert lines[0].startswith("62 rides of 3 bikes")
    assert lines[1] == "danger: Dunlin <b>: regen lost since 14 March 2026 [regen-lost]"
    assert lines[2].startswith("  The latest 9 rides got")
    assert lines[2].endswith("before changing anything at the pack.")
    assert lines[-1] == "Measured now: 2; measured before and unchanged: 60."
    assert not any(line.endswith(" ") for line in lines)


@pytest.mark.parametrize("ending", ["json", "csv", "parquet", "html"])
def test_a_file_takes_the_form_of_its_ending_and_replaces_what_was_there(tmp_path, ending):
    target = tmp_path / f"audit.{ending}"
    target.write_text("old")
    write_audit(made_up(), str(target))
    begins = {"json": b'{\n  "schema": 1', "csv": b"bike,rides,", "parquet": b"PAR1", "html": b"<!doctype html>"}
    assert target.read_bytes().startswith(begins[ending])
    if ending == "json":
        assert json.loads(target.read_text()) == made_up().to_dict()
