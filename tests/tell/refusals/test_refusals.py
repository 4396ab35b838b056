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


# what is raised for programmers, or to another library, and never reaches a person as it is
OF_PYTHON = {
    "ArgumentTypeError", "AttributeError", "KeyError", "LookupError", "TypeError", "ValueError", "LinAlgError",
}  # fmt: skip


def worded(source: str) -> list[int]:
    """Lines in which an error of ours is made on the spot, by its name or by one that stands for it."""
    tree = ast.parse(source)
    given = {name.arg for each in ast.walk(tree) if isinstance(each, ast.FunctionDef) for name in _arguments(each)}
    made = ERRORS | given
    raised = [node.exc for node in ast.walk(tree) if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call)]
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call) and _name(node) in ERRORS]
    return sorted({call.lineno for call in [*calls, *(call for call in raised if _name(call) in made)]})


def _name(call: ast.Call) -> str:
    """The name that is called, without its module."""
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")


def _arguments(function: ast.FunctionDef) -> list[ast.arg]:
    return [*function.args.args, *function.args.kwonlyargs]


def literal(source: str) -> list[int]:
    """Lines that raise an error of Python with a text of their own."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Raise)
        and isinstance(node.exc, ast.Call)
        and _name(node.exc) in OF_PYTHON
        and any(isinstance(each, ast.Constant | ast.JoinedStr | ast.BinOp) for each in node.exc.args)
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
    assert worded("raise errors.InputError('no')") == [1]
    assert worded("def f(kind):\n    raise kind('no')") == [2]
    assert worded("raise refusals.empty(name)") == []


def test_what_a_validator_says_reaches_people_and_is_worded_there_too():
    """The reader of settings and the parser of arguments pass the words of such an error on."""
    for path in [*(PACKAGE / "settings").glob("*.py"), *(PACKAGE / "cli").glob("*.py"), PACKAGE / "web" / "serve.py"]:
        assert literal(path.read_text(encoding="utf-8")) == [], path
    assert literal("raise ValueError('no')") == [1]
    assert literal("raise argparse.ArgumentTypeError(f'{x} is no port')") == [1]
    assert literal("raise ValueError(refusals.zones())") == []


def test_every_refusal_is_used():
    text = "\n".join(path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.py"))
    for path in REFUSALS.glob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef):
                assert text.count(node.name) > text.count(f"def {node.name}("), f"{path.name}: {node.name}"
