"""Imports point one way, from floor to floor; one door for each reader of others; planted violations are seen."""

import ast
import sys
from pathlib import Path

import pytest

from tests.places import ROOT

PACKAGE = ROOT / "ridelog"

# Rooms from the ground up: a room imports from floors beneath its own, and from nothing else of ours but itself.
FLOORS = (
    ("lazy",),
    ("errors", "arrays", "constants", "there"),
    ("findings", "uncertain"),
    ("tell.kinds",),
    ("tell.numbers",),
    ("tell.times",),
    ("tell.findings", "tell.reasons"),
    ("tell.refusals", "tell.fleet.standing_out"),
    ("vocabulary", "destination", "budget", "processes"),
    ("channels", "settings", "signs"),
    ("recording",),
    ("importers",),
    ("timeline",),
    ("answer",),
    ("analysis.electrical", "analysis.road"),
    ("analysis.braking.force",),  # when it was braked, which the scene needs
    ("analysis.braking.habit",),
    ("analysis.scene",),
    ("analysis.quality", "analysis.braking", "analysis.pack", "analysis.coastdown"),
    ("analysis.ledger", "analysis.worth"),
    ("analysis",),
    ("fleet.store", "fleet.history"),
    ("fleet",),
    ("compare",),
    ("tell",),
    ("figures",),
    ("report",),
    ("web", "console"),
    ("cli",),
)
# lower room -> the only modules of it that rooms above may import
FRONT_DOORS = {"importers": ("ridelog.importers.registry",)}
# room -> rooms on lower floors that it must not know all the same
STRANGERS = {
    "analysis": ("importers", "timeline"),
    "answer": ("importers", "timeline", "settings"),
    "fleet": ("timeline", "analysis"),
    "fleet.store": ("importers", "settings"),
    "fleet.history": ("importers", "settings", "recording", "answer"),  # frames alone
    "compare": ("importers", "timeline", "analysis"),
    "tell": ("importers", "timeline", "analysis", "settings"),
    "figures": ("importers", "timeline", "analysis", "settings"),
    "report": ("importers", "timeline", "analysis", "settings"),
    "console": ("timeline", "analysis"),
    "web": ("timeline", "analysis"),
    "cli": ("timeline", "analysis"),
}
# third-party package -> the only modules that may import it
DOORS = {
    "gpxpy": ("ridelog.importers.points.times",),
    "fastcrc": ("ridelog.importers.fit_columns",),
    "fitdecode": ("ridelog.importers.fit",),
    "defusedxml": ("ridelog.importers.xml_text",),
    "pyarrow": ("ridelog.importers.delimited", "ridelog.fleet.store"),
    "fsspec": ("ridelog.fleet.store.places",),
    "sqlite3": ("ridelog.fleet.store.catalogue",),
    "pydantic": ("ridelog.settings",),
    "tomllib": ("ridelog.settings",),
    "tomlkit": ("ridelog.settings",),
    "pyproj": ("ridelog.timeline.motion.fixes", "ridelog.analysis.road.plane"),
    "scipy": (
        "ridelog.uncertain",
        "ridelog.timeline.clock",
        "ridelog.analysis",
        "ridelog.fleet.history",
        "ridelog.compare",
    ),
    "statsmodels": ("ridelog.fleet.history", "ridelog.compare"),
    "distributed": ("ridelog.fleet.workers",),
    "shapely": ("ridelog.fleet.history.places", "ridelog.fleet.history.ways"),
    "dash": ("ridelog.web",),
    "dash_mantine_components": ("ridelog.web",),
    "flask": ("ridelog.web",),
    "flask_compress": ("ridelog.web.scripts.smaller",),
    "werkzeug": ("ridelog.web.upload", "ridelog.web.door.password"),
    "itsdangerous": ("ridelog.web.door.sessions",),
    "waitress": ("ridelog.web.serve", "ridelog.web.connections"),
    "weasyprint": ("ridelog.report.pdf",),
    "resvg_py": ("ridelog.report.pictures",),
    "rich": ("ridelog.console", "ridelog.cli"),
}
EVERYWHERE = {"numpy", "pandas"}  # what numbers and series are made of
ROOMS = [room for floor in FLOORS for room in floor]


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def exists(module: str) -> bool:
    path = PACKAGE.parent / module.replace(".", "/")
    return path.with_suffix(".py").exists() or (path / "__init__.py").exists()


def imports_of(source: str) -> set[str]:
    """Every module that a source text imports, wherever in it; ``from a import b`` is a.b where that is a module."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            inner = {f"{node.module}.{alias.name}" for alias in node.names}
            modules = {name for name in inner if exists(name)}
            found |= modules | ({node.module} if modules != inner else set())
    return found


def within(name: str, prefix: str) -> bool:
    return name == prefix or name.startswith(prefix + ".")


def room_of(module: str) -> str | None:
    """The room that a module lies in; the most particular one, ``None`` for the package's own front."""
    inside = [room for room in ROOMS if within(module, f"ridelog.{room}")]
    return max(inside, key=len, default=None)


def floor_of(room: str) -> int:
    return next(level for level, floor in enumerate(FLOORS) if room in floor)


def violations(module: str, source: str) -> list[str]:
    names, own = imports_of(source), room_of(module)
    broken = []
    for name in names:
        other = room_of(name) if within(name, "ridelog") else None
        if own is None or other is None or other == own:
            continue
        if floor_of(other) >= floor_of(own):
            broken.append(f"{module} imports {name}, which is not on a floor beneath")
        strangers = [stranger for room, unknown in STRANGERS.items() if within(own, room) for stranger in unknown]
        if any(within(other, stranger) for stranger in strangers):
            broken.append(f"{module} imports {name}: {own} does not know {other}")
        if other in FRONT_DOORS and name not in FRONT_DOORS[other]:
            broken.append(f"{module} imports {name}, not the front door of {other}")
    for package, doors in DOORS.items():
        if any(within(name, package) for name in names) and not any(within(module, door) for door in doors):
            broken.append(f"{module} imports {package}, which has its own door")
    return broken


MODULES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("path", MODULES, ids=module_name)
def test_imports_point_one_way(path):
    assert violations(module_name(path), path.read_text(encoding="utf-8")) == []


def test_every_module_lies_in_a_room():
    outside = {module_name(path) for path in MODULES if room_of(module_name(path)) is None}
    assert outside == {"ridelog", "ridelog.__main__"}


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("ridelog.importers.gpx", "from ridelog.analysis.measure import measure"),
        ("ridelog.importers.delimited.read", "import ridelog.timeline.ride"),
        ("ridelog.analysis.electrical.charge", "def f():\n    from ridelog.importers import gpx"),
        ("ridelog.analysis.electrical.charge", "from ridelog.analysis.quality.findings import quality_findings"),
        ("ridelog.analysis.road.load", "from ridelog.analysis.braking.force import braking_force"),
        ("ridelog.analysis.braking.force", "from ridelog.analysis.scene import Scene"),
        ("ridelog.analysis.scene", "from ridelog.analysis.braking.events import Event"),
        ("ridelog.analysis.braking.events", "from ridelog.timeline.joined import JoinedRecording"),
        ("ridelog.analysis.pack.record", "from ridelog.analysis.measure import measure"),
        ("ridelog.timeline.clock.join", "import ridelog.analysis.electrical.charge"),
        ("ridelog.timeline.ride", "from ridelog.importers.gpx import read"),
        ("ridelog.uncertain.budget", "from ridelog.answer.ride import Answer"),
        ("ridelog.settings.bike", "from ridelog.recording import Ride"),
        ("ridelog.vocabulary.words", "from ridelog.importers.delimited import columns"),
        ("ridelog.answer.ride", "from ridelog.settings.bike import Bike"),
        ("ridelog.tell.ride", "from ridelog.analysis.road.drag import Drag"),
        ("ridelog.tell.findings.log", "from ridelog.answer.ride import Answer"),
        ("ridelog.tell.numbers", "from ridelog.tell.findings import sentence"),
        ("ridelog.tell.reasons.headers", "from ridelog.vocabulary.headers import understand"),
        ("ridelog.tell.refusals.logs", "from ridelog.importers.columns.column import Question"),
        ("ridelog.analysis.pack.record", "from ridelog.tell.ride import headline"),
        ("ridelog.figures.ride", "from ridelog.web.text import number"),
        ("ridelog.console", "from ridelog.cli import main"),
        ("ridelog.web.callbacks", "from ridelog.importers.gpx import read"),
        ("ridelog.web.callbacks", "from ridelog.analysis.measure import measure"),
        ("ridelog.fleet.history.figure", "from ridelog.fleet.audit import audit"),
        ("ridelog.fleet.history.figure", "from ridelog.analysis.measure import measure"),
        ("ridelog.compare.groups", "from ridelog.importers.registry import read"),
        ("ridelog.fleet.audit", "from ridelog.compare.observations import Observations"),
        ("ridelog.errors", "from ridelog.findings import Finding"),
        ("ridelog.analysis.electrical.charge", "from ridelog.cli import main"),
        ("ridelog.analysis.electrical.charge", "import dash"),
        ("ridelog.importers.fit", "import gpxpy.gpx"),
        ("ridelog.figures.ride", "import dash"),
        ("ridelog.importers.delimited.read", "import tomllib"),
        ("ridelog.cli", "import tomlkit"),
    ],
)
def test_a_planted_violation_is_seen(module, source):
    assert violations(module, source)


@pytest.mark.parametrize("level", range(len(FLOORS)))
def test_no_room_may_look_up_or_across(level):
    """Planted in each room of a floor: an import of each other room there and of each on the floors above."""
    for lower in FLOORS[level]:
        for upper in {room for floor in FLOORS[level:] for room in floor} - {lower}:
            assert violations(f"ridelog.{lower}", f"import ridelog.{upper}"), f"{lower} may import {upper}"


@pytest.mark.parametrize(
    ("own", "stranger"), [(own, stranger) for own, strangers in STRANGERS.items() for stranger in strangers]
)
def test_a_stranger_is_not_known_from_a_floor_above(own, stranger):
    assert violations(f"ridelog.{own}", f"import ridelog.{stranger}")


@pytest.mark.parametrize("package", DOORS)
def test_a_reader_of_others_has_no_second_door(package):
    assert violations("ridelog.answer.ride", f"def later():\n    import {package}.some.part")
    assert not any(violations(door, f"import {package}") for door in DOORS[package])


def test_every_third_party_package_has_its_door():
    names = set().union(*(imports_of(path.read_text(encoding="utf-8")) for path in MODULES))
    foreign = {name.partition(".")[0] for name in names} - sys.stdlib_module_names - {"ridelog"}
    assert foreign == (set(DOORS) | EVERYWHERE) - sys.stdlib_module_names


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("ridelog.web.callbacks", "from ridelog.importers.registry import explain"),
        ("ridelog.analysis.worth.record", "from ridelog.analysis.road.drag import Drag"),
        ("ridelog.vocabulary.words", "from ridelog.tell.reasons import headers"),
    ],
)
def test_what_is_allowed_is_not_refused(module, source):
    assert violations(module, source) == []


def test_no_room_is_a_warehouse():
    """A folder of more than 14 modules has more than one question."""
    full = {}
    for folder in [PACKAGE, *(path for path in PACKAGE.rglob("*") if path.is_dir())]:
        modules = [path for path in folder.glob("*.py") if path.name != "__init__.py"]
        if len(modules) > 14:
            full[str(folder.relative_to(PACKAGE))] = len(modules)
    assert not full
