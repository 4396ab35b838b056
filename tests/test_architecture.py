"""Imports point one way: files -> recordings -> ride -> answer -> people; one door for each reader of others."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "ridelog"

# module prefix -> prefixes of ours that it must not import
FORBIDDEN = {
    "ridelog.errors": ("ridelog",),
    "ridelog.findings": ("ridelog",),
    "ridelog.toml_files": ("ridelog.importers", "ridelog.timeline", "ridelog.analysis", "ridelog.answer"),
    "ridelog.channels": ("ridelog.importers", "ridelog.timeline", "ridelog.analysis", "ridelog.answer"),
    "ridelog.recording": ("ridelog.importers", "ridelog.timeline", "ridelog.analysis", "ridelog.answer"),
    "ridelog.importers": ("ridelog.timeline", "ridelog.analysis", "ridelog.answer", "ridelog.words"),
    "ridelog.timeline": ("ridelog.analysis", "ridelog.answer", "ridelog.words"),
    "ridelog.analysis": ("ridelog.importers", "ridelog.timeline.load", "ridelog.words"),
    "ridelog.answer": ("ridelog.importers", "ridelog.timeline", "ridelog.analysis"),
    "ridelog.words": ("ridelog.importers", "ridelog.timeline", "ridelog.analysis"),
    "ridelog.console": ("ridelog.importers.", "ridelog.timeline", "ridelog.analysis"),
    "ridelog.cli": ("ridelog.importers.", "ridelog.timeline", "ridelog.analysis"),
    "ridelog.web": ("ridelog.importers.", "ridelog.timeline", "ridelog.analysis"),
}
# edges that nothing but these may import
PEOPLE = {
    "ridelog.cli": ("ridelog.__main__",),
    "ridelog.console": ("ridelog.cli",),
    "ridelog.web": ("ridelog.web", "ridelog.cli"),
}
# third-party package -> the only modules that may import it
DOORS = {
    "gpxpy": ("ridelog.importers.gpx",),
    "fitdecode": ("ridelog.importers.fit",),
    "dash": ("ridelog.web",),
    "dash_mantine_components": ("ridelog.web",),
    "plotly": ("ridelog.web",),
    "flask": ("ridelog.web",),
    "waitress": ("ridelog.web",),
    "rich": ("ridelog.console", "ridelog.cli"),
    "pyarrow": ("ridelog.importers",),
    "pydantic": ("ridelog.bike", "ridelog.importers"),
}


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_of(source: str) -> set[str]:
    """Every module that a source text imports, wherever in it; ``from a import b`` counts as a and a.b."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def within(name: str, prefix: str) -> bool:
    return name.startswith(prefix) if prefix.endswith(".") else name == prefix or name.startswith(prefix + ".")


def violations(module: str, source: str) -> list[str]:
    names = imports_of(source)
    broken = []
    for layer, banned in FORBIDDEN.items():
        if within(module, layer):
            inside = [n for n in names for b in banned if within(n, b) and not (layer == b[:-1] and within(n, layer))]
            broken += [f"{module} imports {name}" for name in inside if not _only_a_name(name, names)]
    for edge, allowed in PEOPLE.items():
        if any(within(name, edge) for name in names) and not any(within(module, a) for a in (*allowed, edge)):
            broken.append(f"{module} imports {edge}")
    for package, doors in DOORS.items():
        if any(within(name, package) for name in names) and not any(within(module, door) for door in doors):
            broken.append(f"{module} imports {package}, which has its own door")
    return broken


def _only_a_name(name: str, names: set[str]) -> bool:
    """``ridelog.importers.read`` out of ``from ridelog.importers import read``: a name, not a module."""
    parent, _, last = name.rpartition(".")
    return parent in names and not any(
        (PACKAGE.parent / parent.replace(".", "/") / f"{last}{end}").exists() for end in ("", ".py")
    )


MODULES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("path", MODULES, ids=module_name)
def test_imports_point_one_way(path):
    assert violations(module_name(path), path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("ridelog.importers.gpx", "from ridelog.analysis.measure import measure"),
        ("ridelog.analysis.charge", "def f():\n    from ridelog.importers import gpx"),
        ("ridelog.timeline.join", "import ridelog.analysis.charge"),
        ("ridelog.analysis.charge", "import dash"),
        ("ridelog.importers.fit", "import gpxpy.gpx"),
        ("ridelog.errors", "from ridelog.findings import Finding"),
        ("ridelog.analysis.charge", "from ridelog.cli import main"),
        ("ridelog.web.callbacks", "from ridelog.importers.gpx import read"),
        ("ridelog.bike", "from ridelog.web import create_app"),
    ],
)
def test_a_planted_violation_is_seen(module, source):
    assert violations(module, source)


def test_the_door_of_the_importers_is_open():
    assert violations("ridelog.web.callbacks", "from ridelog.importers import explain") == []


def test_no_module_outgrows_its_question():
    """About 400 lines read well; 450 is where a module must be split."""
    too_long = {module_name(p): n for p in MODULES if (n := len(p.read_text(encoding="utf-8").splitlines())) > 450}
    assert too_long == {}
