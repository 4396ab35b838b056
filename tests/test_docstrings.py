"""Public functions of three parameters or more say what each is, and what comes back."""

import ast
import re

import pytest

from tests.places import ROOT

MODULES = sorted((ROOT / "ridelog").rglob("*.py"))


def functions(body: list[ast.stmt], *, of_class: bool = False) -> list[tuple[ast.FunctionDef, int]]:
    """Public functions and methods of public classes, each with the number of its parameters."""
    found = []
    for node in body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            found += functions(node.body, of_class=True)
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            given = node.args.posonlyargs + node.args.args + node.args.kwonlyargs
            found.append((node, len(given) - of_class))
    return found


def untold(source: str) -> list[str]:
    """What the docstrings of a module leave out: a section, or a parameter."""
    left = []
    for node, n_parameters in functions(ast.parse(source).body):
        if n_parameters < 3:
            continue
        sections = dict(
            re.findall(r"^(\w+)\n-+\n((?:.|\n)*?)(?=\n\n\w+\n-+\n|\Z)", ast.get_docstring(node) or "", re.M)
        )
        gives = node.returns is None or ast.unparse(node.returns) != "None"
        left += [f"{node.name}: Returns"] if gives and "Returns" not in sections else []
        told = {
            name
            for line in re.findall(r"^([\w, ]+) :", sections.get("Parameters", ""), re.M)
            for name in line.split(", ")
        }
        given = {each.arg for each in node.args.posonlyargs + node.args.args + node.args.kwonlyargs} - {"self", "cls"}
        left += [f"{node.name}: {name}" for name in sorted(given - told)]
    return left


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_function_of_three_parameters_tells_each_and_what_it_gives(path):
    assert untold(path.read_text(encoding="utf-8")) == []


def test_what_is_left_out_is_seen():
    whole = '''
def f(a_m: float, b_m: float, *, least_m: float) -> float:
    """The sum.

    Parameters
    ----------
    a_m, b_m : lengths [m]
    least_m : see above [m]

    Returns
    -------
    Length [m].

    Raises
    ------
    ValueError : never
    """


class C:
    def g(self, a, b) -> int:
        """Two parameters need no sections."""
'''
    assert untold(whole) == []
    assert untold(whole.replace("least_m : see", "length : see")) == ["f: least_m"]
    assert untold(whole.replace("Returns\n    -------\n    Length [m].\n", "")) == ["f: Returns"]
    assert untold(whole.replace("self, a, b", "self, a, b, c")) == ["g: Returns", "g: a", "g: b", "g: c"]
