"""Refusals as a whole: worded here and nowhere else, and every one of them used."""

import ast

from tests.places import ROOT

PACKAGE = ROOT / "ridelog"
REFUSALS = PACKAGE / "tell" / "refusals"
ERRORS = {
    node.name
    for node in ast.parse((PACKAGE / "errors.py").read_text(encoding="utf-8")).body
    if isinstance(node, ast.ClassDef) and node.name.endswith("Error")
}


def worded(source: str) -> list[int]:
    """Lines in which an error of ours is made on the spot."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ERRORS
    ]


def test_errors_are_worded_in_one_room_only():
    found = {
        str(path.relative_to(PACKAGE))
        for path in PACKAGE.rglob("*.py")
        if REFUSALS not in path.parents and worded(path.read_text(encoding="utf-8"))
    }
    assert found == set()


def test_an_error_worded_elsewhere_would_be_seen():
    assert worded('raise InputError(name, "is empty")') == [1]
    assert worded("def f():\n    return UsageError('no')") == [2]
    assert worded("raise refusals.empty(name)") == []


def test_every_refusal_is_used():
    text = "\n".join(path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.py"))
    for path in REFUSALS.glob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef):
                assert text.count(node.name) > text.count(f"def {node.name}("), f"{path.name}: {node.name}"
