"""The report of a ride: its look by options, the command that makes it again, and why there is none."""

import json

import pytest

from ridelog.web.jobs.measuring import Task
from ridelog.web.orders.reports import DocumentLook, Kept, kept_files, report_made
from ridelog.web.rides import Columns


@pytest.mark.parametrize(
    ("look", "options"),
    [
        (DocumentLook(), []),
        (DocumentLook("imperial", "comma", "letter", with_places=False),
         ["--no-place", "--paper", "letter", "--units", "imperial", "--numbers", "comma"]),
    ],
)  # fmt: skip
def test_a_look_is_what_the_command_line_calls_it(look, options):
    assert list(look.options()) == options


def test_names_with_blanks_stay_whole_in_the_command():
    kept = Kept(("my log.csv",), {"bike": ("bike.toml", b"x")})
    assert kept.command(DocumentLook(), ".pdf") == ("ridelog report 'my log.csv' --bike bike.toml --output report.pdf")
    (given,) = kept.given()
    # SHA-256 of "x": NIST's hash of one byte, by hashlib
    assert given.sha256 == "2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881"


def test_why_there_is_none_is_told_in_lines(tmp_path):
    (tmp_path / "0").write_text("")
    (message,) = report_made(Task((("a.csv", tmp_path / "0"),)), DocumentLook(), _made(tmp_path), lambda _said: None)
    told = json.loads(message)
    assert told["lines"][0].startswith("a.csv: ")
    assert told["files"] == []


def _made(folder):
    made = folder / "made"
    made.mkdir()
    return made


def test_a_correction_is_given_to_the_command_as_a_column_map(tmp_path):
    log = tmp_path / "a.csv"
    log.write_text("x")
    columns = Columns("a.csv", ())
    task = Task((("a.csv", log),), {columns.header: "[log]\n", "another": "[log]\n"})
    assert kept_files(task, [columns]).command(DocumentLook(), ".html") == (
        "ridelog report a.csv --columns columns.toml --output report.html"
    )
    assert kept_files(Task((("a.csv", log), ("a.csv", log))), [columns]) is None  # no folder holds both
