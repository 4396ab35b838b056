"""Docstrings: functions of three parameters or more say what each is and what comes back; names in them exist."""

import ast
import importlib
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


# --- names that a text refers to ------------------------------------------------------------------


def has(thing: object, names: list[str]) -> bool:
    """Whether a module or a class has these names, one within the other; fields of a record are among its own."""
    for name in names:
        own = {*dir(thing), *getattr(thing, "__dataclass_fields__", ()), *getattr(thing, "model_fields", ())}
        if name not in own and not hasattr(thing, name):
            return False
        thing = getattr(thing, name, None)
    return True


def loaded() -> dict[str, object]:
    names = (path.relative_to(ROOT).with_suffix("").parts for path in MODULES if path.name != "__main__.py")
    dotted = (".".join(parts[:-1] if parts[-1] == "__init__" else parts) for parts in names)
    return {name: importlib.import_module(name) for name in dotted}


def refers_to_something(name: str, modules: dict[str, object]) -> bool:
    """Whether `name` is a module, by the end of its path, or something in one, or something that a module holds."""
    parts = name.split(".")
    ends = {module: f".{module}" for module in modules}
    for cut in range(len(parts), 0, -1):
        end = "." + ".".join(parts[:cut])
        if any(has(modules[module], parts[cut:]) for module, path in ends.items() if path.endswith(end)):
            return True
    return any(has(module, parts) for module in modules.values())


def references(source: str) -> set[str]:
    """Names in single backticks, in docstrings and comments."""
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef)
    nodes = [node for node in ast.walk(ast.parse(source)) if isinstance(node, documented)]
    texts = [ast.get_docstring(node) or "" for node in nodes] + re.findall(r"#.*", source)
    return {name for text in texts for name in re.findall(r"(?<!`)`([A-Za-z_][\w.]*)`(?!`)", text)}


def test_what_a_docstring_or_a_comment_refers_to_exists():
    modules = loaded()
    lost = {
        f"{path.relative_to(ROOT)}: {name}"
        for path in MODULES
        for name in references(path.read_text(encoding="utf-8"))
        if not refers_to_something(name, modules)
    }
    assert lost == set()


def test_a_reference_to_what_is_gone_is_seen():
    modules = loaded()
    assert references('"""See `a.b`, ``c`` and `d`."""  # as `e`') == {"a.b", "d", "e"}
    for name in ("ridelog.arrays", "arrays.robust_scale", "Quantity.low95", "ridelog.load_ride", "importers.registry"):
        assert refers_to_something(name, modules), name
    for name in ("ridelog.array", "arrays.rough_scale", "Quantity.low99", "nobody", "ridelog.analysis.spin_down"):
        assert not refers_to_something(name, modules), name
