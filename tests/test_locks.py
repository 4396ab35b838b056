"""The locks are complete: what a locked distribution requires is locked too, in a version that it accepts.

They are installed without being resolved anew, so that nothing that is published later can change what is installed.
The requirements are read from the distributions that are installed here, and evaluated for each Python and system.
"""

import functools
import tomllib
from collections.abc import Iterable
from importlib import metadata
from pathlib import Path
from typing import NamedTuple

import pytest
from packaging.markers import default_environment
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

from tests.places import ROOT

PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
EXTRAS = {"run.txt": (), "all.txt": ("test", "lint")}
SYSTEMS = {"linux": ("Linux", "posix"), "darwin": ("Darwin", "posix"), "win32": ("Windows", "nt")}
ENVIRONMENTS = [
    {**default_environment(), "python_version": python, "python_full_version": f"{python}.4", "sys_platform": system}
    | {"platform_system": name, "os_name": os_name}
    for python in ("3.11", "3.12", "3.13")
    for system, (name, os_name) in SYSTEMS.items()
]


class Locked(NamedTuple):
    """One line of a lock: a distribution in one version, for the environments of its marker."""

    name: str
    version: Version
    requirement: Requirement


def read_lock(path: Path) -> list[Locked]:
    """The lines of a lock, their hashes apart."""
    lines = [line.strip(" \\") for line in path.read_text(encoding="utf-8").splitlines() if line[:1].strip(" #")]
    found = [Requirement(line) for line in lines]
    return [Locked(canonicalize_name(r.name), Version(str(r.specifier).removeprefix("==")), r) for r in found]


LOCKS = {name: read_lock(ROOT / "requirements" / name) for name in EXTRAS}


def roots(lock: str) -> list[Requirement]:
    """What the project itself asks for: to be built, to run, and, in the larger lock, to be tested."""
    project = PYPROJECT["project"]
    optional = [text for extra in EXTRAS[lock] for text in project["optional-dependencies"][extra]]
    return [Requirement(text) for text in (*PYPROJECT["build-system"]["requires"], *project["dependencies"], *optional)]


@functools.cache
def requirements_of(name: str, version: Version) -> tuple[Requirement, ...]:
    """What the distribution of that name requires, if it is installed here in that version."""
    try:
        installed = metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return ()
    if Version(installed.version) != version:
        return ()  # locked for another Python; the run of the tests with that Python reads it
    return tuple(Requirement(text) for text in installed.requires or ())


def applies(requirement: Requirement, extra: str, environment: dict[str, str]) -> bool:
    """Whether a requirement holds in an environment, for the distribution with that extra ("" for none)."""
    return requirement.marker is None or requirement.marker.evaluate({**environment, "extra": extra})


def missing(wanted: Iterable[Requirement], lock: Iterable[Locked], environment: dict[str, str]) -> set[str]:
    """What is required in an environment, and not locked or locked in a version that is not accepted."""
    versions = {one.name: one.version for one in lock if applies(one.requirement, "", environment)}
    broken: set[str] = set()
    seen: set[tuple[str, str]] = set()
    # extras are followed as pip does: a[b] asks for a, and for what a asks for under b, which may be extras again
    waiting = [("ridelog", requirement, "") for requirement in wanted]
    waiting += [(name, r, "") for name, version in versions.items() for r in requirements_of(name, version)]
    while waiting:
        asker, requirement, extra = waiting.pop()
        if not applies(requirement, extra, environment):
            continue
        name = canonicalize_name(requirement.name)
        version = versions.get(name)
        if version is None or not requirement.specifier.contains(version, prereleases=True):
            broken.add(f"{asker} requires {requirement}, locked is {version}")
            continue
        for inner in {(name, canonicalize_name(each)) for each in requirement.extras} - seen:
            seen.add(inner)
            waiting += [(f"{name}[{inner[1]}]", r, inner[1]) for r in requirements_of(name, version)]
    return broken


@pytest.mark.parametrize("lock", LOCKS)
@pytest.mark.parametrize("environment", ENVIRONMENTS, ids=lambda e: f"{e['python_version']}-{e['sys_platform']}")
def test_a_lock_holds_everything_that_is_required(lock, environment):
    assert missing(roots(lock), LOCKS[lock], environment) == set()


@pytest.mark.parametrize("lock", LOCKS)
def test_what_is_locked_for_this_python_is_installed(lock):
    """Else the requirements above would have been read from too few distributions."""
    here = [one for one in LOCKS[lock] if applies(one.requirement, "", default_environment())]
    installed = {canonicalize_name(each.name): Version(each.version) for each in metadata.distributions()}
    assert {one.name: one.version for one in here} == {one.name: installed.get(one.name) for one in here}


@pytest.mark.parametrize("lock", LOCKS)
def test_each_omission_is_seen(lock):
    """Nothing is locked that nothing asks for, and whatever is left out is missed."""
    for name in {one.name for one in LOCKS[lock]}:
        rest = [one for one in LOCKS[lock] if one.name != name]
        assert any(missing(roots(lock), rest, environment) for environment in ENVIRONMENTS), name


def test_a_version_that_is_not_accepted_is_seen():
    old = [one._replace(version=Version("0.1")) if one.name == "coverage" else one for one in LOCKS["all.txt"]]
    assert any("pytest-cov requires coverage" in line for line in missing(roots("all.txt"), old, ENVIRONMENTS[0]))


def test_an_extra_of_an_extra_is_followed(monkeypatch):
    """a[b] asks for a[c], and a under c for d."""
    held = {"a": ('a[c]; extra == "b"', 'd>=2; extra == "c"'), "d": ()}
    monkeypatch.setattr(
        "tests.test_locks.requirements_of", lambda name, _: tuple(Requirement(text) for text in held[name])
    )
    lock = [Locked("a", Version("1"), Requirement("a==1")), Locked("d", Version("1"), Requirement("d==1"))]
    assert missing([Requirement("a")], lock, ENVIRONMENTS[0]) == set()
    assert missing([Requirement("a[b]")], lock, ENVIRONMENTS[0]) == {'a[c] requires d>=2; extra == "c", locked is 1'}


def test_the_larger_lock_holds_the_smaller_one_line_for_line():
    """Else installing the one would change what the other installed."""
    assert {str(one.requirement) for one in LOCKS["run.txt"]} <= {str(one.requirement) for one in LOCKS["all.txt"]}


@pytest.mark.parametrize("lock", LOCKS)
def test_every_locked_version_has_hashes(lock):
    lines = (ROOT / "requirements" / lock).read_text(encoding="utf-8").split("\n")
    heads = [number for number, line in enumerate(lines) if "==" in line and not line.startswith((" ", "#"))]
    assert heads
    assert all(lines[number + 1].strip().startswith("--hash=sha256:") for number in heads)
