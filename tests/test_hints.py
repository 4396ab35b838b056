"""What a message tells a rider to type can be typed: commands, options and choices named in words exist."""

import ast
import re

import pytest

from ridelog.cli.parser import parser
from ridelog.errors import UsageError
from tests.places import ROOT

QUOTED = re.compile(r"`(ridelog [^`]+)`")
HELD = {"{command}": "ridelog measure"}  # what a message is formed with


def told() -> list[tuple[str, str]]:
    """Every command in backquotes in a text of the package, with the module that holds it."""
    found = []
    for path in sorted((ROOT / "ridelog").rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(text)) if "`ridelog " in text else ():
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and "``" not in node.value:
                found += [(path.name, command) for command in QUOTED.findall(node.value)]
    return sorted(set(found))


def can_be_typed(command: str) -> bool:
    """Whether the parser of arguments takes it; a command that stands for itself may lack its files."""
    words = command.split()[1:]
    try:
        parser().parse_args(words)
    except UsageError as error:
        return "arguments are required: FILE" in error.message
    except SystemExit:
        return True
    return True


def test_commands_are_told_at_all():
    assert len(told()) >= 5


@pytest.mark.parametrize(("module", "command"), told())
def test_a_command_that_a_message_names_can_be_typed(module, command):
    assert can_be_typed(command), module


@pytest.mark.parametrize(
    "command", ["ridelog bicycle", "ridelog measure --tables events", "ridelog columns FILE --json"]
)
def test_one_that_does_not_exist_would_be_seen(command):
    assert not can_be_typed(command)


def test_the_help_that_a_wrong_call_points_to_exists():
    for wrong in (["measur"], ["measure"], ["measure", "a", "--x"], ["columns"], ["serve", "--port", "x"], []):
        with pytest.raises(UsageError) as caught:
            parser().parse_args(wrong)
        assert can_be_typed(caught.value.hint.split("`")[1])
