"""Each module has a test file of its name in the folder of the same name, where a stranger looks.

A module without any function holds records or tables alone; what these mean is tested where they are made.
"""

import ast
from pathlib import Path

import pytest

from tests.places import ROOT

PACKAGE, TESTS = ROOT / "ridelog", ROOT / "tests"
# module, or room ending in "/" -> why its tests have another name
ELSEWHERE: dict[str, str] = {
    "ridelog/answer/ride.py": "a record; tests/answer/test_plain.py takes whole answers to JSON and back",
    "ridelog/tell/findings/": "one template a finding; tests/tell/test_findings.py holds all of them together",
    "ridelog/tell/reasons/": "one phrase a function; tests/tell/test_reasons.py holds all of them together",
}


def holds_functions(source: str) -> bool:
    """Whether anything in a module can be called that does something of its own."""
    return any(isinstance(node, ast.FunctionDef) for node in ast.walk(ast.parse(source)))


def missing(package: Path, tests: Path) -> set[str]:
    """Modules that hold functions, and have no test file of their name at the same place."""
    found = set()
    for path in package.rglob("*.py"):
        if path.name == "__init__.py":
            continue  # the front of a room is tested with what it leads to
        place = path.relative_to(package)
        wanted = tests / place.with_name(f"test_{place.name}")
        if holds_functions(path.read_text(encoding="utf-8")) and not wanted.is_file():
            found.add(f"{package.name}/{place.as_posix()}")
    return found


def test_each_module_has_a_test_file_of_its_name():
    found = missing(PACKAGE, TESTS)
    assert {name for name in found if not name.startswith(tuple(ELSEWHERE))} == set()
    for place in ELSEWHERE:
        assert any(name.startswith(place) for name in found), f"{place} needs no exception any more"


def test_a_missing_file_is_seen(tmp_path):
    for name, text in (
        ("lib/room/one.py", "def f(): ..."),
        ("lib/room/two.py", "class C:\n    def f(self): ..."),
        ("lib/room/table.py", "ROWS = (1, 2)\nclass R:\n    value: int"),
        ("lib/room/__init__.py", "def f(): ..."),
        ("tests/room/test_one.py", ""),
    ):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    assert missing(tmp_path / "lib", tmp_path / "tests") == {"lib/room/two.py"}


@pytest.mark.parametrize("path", sorted(TESTS.rglob("test_*.py")), ids=lambda path: str(path.relative_to(TESTS)))
def test_no_test_file_is_empty(path):
    """A name alone tests nothing."""
    names = [node.name for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.FunctionDef)]
    assert any(name.startswith("test_") for name in names)
