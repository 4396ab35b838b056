"""What README and CHANGELOG promise is there, and what is there is documented."""

import argparse
import re

import pytest

import ridelog
from ridelog.cli import _parser
from ridelog.findings import CODES, Finding
from ridelog.settings.bike import Bike
from tests.places import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")


def commands():
    actions = [action for action in _parser()._actions if isinstance(action, argparse._SubParsersAction)]
    return actions[0].choices.items()


@pytest.mark.parametrize(("name", "parser"), commands())
def test_every_command_and_option_is_documented(name, parser):
    assert f"`ridelog {name}" in README
    for action in parser._actions:
        for option in action.option_strings:
            assert option in ("-h", "--help") or option in README, option


def test_every_key_of_the_bike_file_is_documented():
    for section, field in Bike.model_fields.items():
        assert f"[{section}]" in README
        for key in field.annotation.model_fields:
            assert key in README, key


def test_every_finding_code_is_documented_with_its_meaning():
    table = README.split("### Findings")[1].split("\n## ")[0]
    assert dict(re.findall(r"^\| `([a-z-]+)` \| (.+) \|$", table, flags=re.MULTILINE)) == dict(CODES)


def test_every_finding_code_is_used_somewhere():
    source = "".join(
        path.read_text(encoding="utf-8")
        for path in (ROOT / "ridelog").rglob("*.py")
        if path != ROOT / "ridelog" / "findings.py"
    )
    assert [code for code in CODES if f'"{code}"' not in source] == []


def test_a_finding_with_an_unknown_code_cannot_be_made():
    with pytest.raises(ValueError, match="is no code of a finding"):
        Finding("something-else", "note", "Something else.")


def test_every_picture_and_file_that_the_documents_link_to_is_there():
    for document in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / document).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#]+)\)", text):
            assert (ROOT / target).exists(), target


def test_the_module_map_names_only_what_is_there():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    modules = {path.name for path in ROOT.rglob("*.py") if ".venv" not in path.parts}
    for name in re.findall(r"`(?:[a-z_]+/)*([a-z_]+\.py)`", text):
        assert name in modules, name


def test_the_changelog_knows_this_version():
    assert f"## {ridelog.__version__}" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


def test_the_readme_opens_with_one_paragraph_that_states_the_job():
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# ridelog"
    assert paragraph.startswith("**ridelog says")
