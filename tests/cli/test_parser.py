"""What the arguments say, before any command begins."""

import pytest

from ridelog.cli.parser import MOST_WORKERS, parser
from ridelog.errors import UsageError


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        (["serve", "--port", "80x"], "--port"),
        (["serve", "--port", "65536"], "--port"),
        (["audit", "bikes", "--workers", "0"], "--workers"),
        (["audit", "bikes", "--workers", str(MOST_WORKERS + 1)], "--workers"),
    ],
)
def test_a_number_out_of_range_is_refused_with_the_option(arguments, option):
    with pytest.raises(UsageError, match=option):
        parser().parse_args(arguments)


def test_a_command_says_itself_what_it_does_not_know():
    with pytest.raises(UsageError, match="--wobble") as refused:
        parser().parse_args(["measure", "log.csv", "--wobble"])
    assert "ridelog measure --help" in refused.value.hint
