"""Who reads files words nothing for people: a reason, a question or an error is formed in `ridelog.tell` alone."""

import ast
import re

import pytest

from ridelog.vocabulary.headers import quantity_named
from tests.places import ROOT

PACKAGE = ROOT / "ridelog"
ROOMS = ("importers", "vocabulary")
# Tables of words, units and spellings that are looked for in files, not said to anybody.
TABLES = ("vocabulary/words.py", "vocabulary/units.py")
# Names with a blank that programs compare: quantities on their way, and a kind of evidence.
CODES = {"charge counter", "energy counter", "cell voltage", "as read"}
WORDS = re.compile(r"[A-Za-z]{2,}[,;:]? +[A-Za-z“'{]|[A-Za-z'”}][,;:]? +[A-Za-z]{2,}")
PATTERN = re.compile(r"\\[dswb]|\(\?|\[")  # of a regular expression
ARGUMENTS = ("why", "what", "hint", "reason", "text", "place")


def is_code(text: str) -> bool:
    return text.strip() in CODES or quantity_named(text.strip()) is not None


def texts_in(node: ast.AST) -> list[ast.Constant]:
    return [each for each in ast.walk(node) if isinstance(each, ast.Constant) and isinstance(each.value, str)]


def no_speech(tree: ast.Module) -> set[int]:
    """Strings that are docstrings, or types in quotes."""
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef)
    aside: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, documented) and node.body and isinstance(node.body[0], ast.Expr):
            aside.add(id(node.body[0].value))
        if isinstance(node, ast.FunctionDef):
            kinds = [node.returns, *(each.annotation for each in ast.walk(node.args) if isinstance(each, ast.arg))]
            aside |= {id(each) for kind in kinds if kind is not None for each in texts_in(kind)}
        if isinstance(node, ast.AnnAssign):
            aside |= {id(each) for each in texts_in(node.annotation)}
    return aside


def phrases(source: str) -> list[str]:
    """Words one after the other in a source text, other than in docstrings, names of quantities and patterns."""
    tree = ast.parse(source)
    aside = no_speech(tree)
    texts = [each.value for each in texts_in(tree) if id(each) not in aside]
    return [text for text in texts if WORDS.search(text) and not is_code(text) and not PATTERN.search(text)]


def spoken(source: str) -> list[str]:
    """Phrases passed as a reason or to an error, whatever else a module holds."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        given = [each.value for each in node.keywords if each.arg in ARGUMENTS]
        if name.endswith("Error") or name in ("leave_out", "_leave_out", "Question"):
            given = [*node.args, *(each.value for each in node.keywords)]
        found += [text.value for each in given for text in texts_in(each) if " " in text.value.strip()]
    return [text for text in found if not is_code(text)]


PATHS = [path for room in ROOMS for path in sorted((PACKAGE / room).rglob("*.py"))]


@pytest.mark.parametrize("path", PATHS, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_reader_words_nothing_for_people(path):
    source = path.read_text(encoding="utf-8")
    assert spoken(source) == []
    if not str(path.relative_to(PACKAGE)).startswith(TABLES):
        assert phrases(source) == []


@pytest.mark.parametrize(
    "planted",
    [
        'column.leave_out("it holds no number")',
        'meaning = HeaderMeaning(None, why="the header is empty")',
        'raise InputError(name, "is not text")',
        'raise InputError(name, what, hint="a column needs one unit")',
        "Question(f\"'{header}' may be power of the rider\", table)",
        'reading = replace(reading, why=f"the map says {quantity}")',
    ],
)
def test_a_planted_phrase_is_seen(planted):
    assert spoken(planted)
    assert phrases(planted)


@pytest.mark.parametrize(
    "planted",
    [
        'column.reasons.append(f"the map says {entry.quantity}")',
        'what = f"{header}: the rows say {unit}"',
        'def why(unit):\n    return f"elapsed time in {unit}"',
        'HINT = "name the column of time"',
    ],
)
def test_a_phrase_on_its_way_is_seen(planted):
    assert phrases(planted)


def test_what_is_no_phrase_is_left_alone():
    assert phrases('"""The reason for it."""\nvolts = todo.first("battery voltage")') == []
    assert phrases('def f(power: "Column | None") -> "pa.Table | None": ...') == []
    assert phrases('pattern = re.compile(r"in cell (\\d+) of")') == []
