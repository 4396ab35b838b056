"""Commands called in a way that they do not offer, in words; tests/cli/test_main.py calls them."""

from ridelog.errors import Exit
from ridelog.tell.refusals import commands


def test_two_tables_of_one_kind_are_a_usage_error_on_the_command_line_and_an_input_error_on_the_page():
    typed, dropped = (each("b.toml", "a.toml", is_map=False) for each in
                      (commands.second_table_argument, commands.second_table))  # fmt: skip
    assert (
        typed.lines() == dropped.lines() == ["b.toml: is a second bike file, beside a.toml", "hint: give one of them"]
    )
    assert (typed.exit_status, dropped.exit_status) == (Exit.USAGE, Exit.UNREADABLE)


def test_the_limit_of_an_upload_is_in_megabytes():
    assert "256 MB and 20 files" in commands.too_much_at_once(256 * 1024**2, 20)
